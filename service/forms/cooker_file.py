"""The house's own cookers as a file: out, and back equal."""

from __future__ import annotations

import tomllib

import tomlkit
from pydantic import ValidationError

from events.errors import WHOLE_FILE, FaultyEvent, Place
from events.model import Cooker
from events.reading.model_faults import faults_of
from service.forms.event_form import own_row, rows_of

REMEDY = "Take the file as it was written."


def own_text(cookers: list[Cooker]) -> str:
    """Return cookers as the [[cooker]] tables of a file."""
    return tomlkit.dumps({"cooker": [own_row(c) for c in cookers]})


def own_from(text: str) -> list[Cooker]:
    """Return the cookers of a file's [[cooker]] tables; raises FaultyEvent with every fault."""
    try:
        rows = rows_of(tomllib.loads(text), "cooker")
    except tomllib.TOMLDecodeError as error:
        fault = WHOLE_FILE.fault("", "", f"is not TOML: {error}", REMEDY)
        raise FaultyEvent("the file", [fault]) from None
    out, faults = [], []
    for n, row in enumerate(rows, 1):
        try:
            out.append(Cooker.model_validate(row))
        except ValidationError as error:
            place = Place("cooker", n, str(row.get("id", "")))
            faults += faults_of(error, place, known=Cooker.model_fields)
    if not rows:
        faults.append(WHOLE_FILE.fault("cooker", "", "none is in it", REMEDY))
    if faults:
        raise FaultyEvent("the file", faults)
    return out
