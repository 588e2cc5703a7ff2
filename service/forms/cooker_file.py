"""The house's own cookers as a file: out, and back equal."""

from __future__ import annotations

import tomlkit
from pydantic import ValidationError

from events.errors import WHOLE_FILE, FaultyEvent, Place
from events.model import COOKERS_MOST, Cooker
from events.reading.event_file import read_toml
from events.reading.model_faults import faults_of
from service.forms.event_form import own_row, rows_of

REMEDY = "Take the file as it was written."


def own_text(cookers: list[Cooker]) -> str:
    """Return cookers as the [[cooker]] tables of a file."""
    return tomlkit.dumps({"cooker": [own_row(c) for c in cookers]})


def own_from(text: str) -> list[Cooker]:
    """Return the cookers of a file's [[cooker]] tables; raises FaultyEvent with every fault."""
    rows = rows_of(read_toml(text, source="the file"), "cooker")
    out, faults = [], []
    for n, row in enumerate(rows[:COOKERS_MOST], 1):
        try:
            out.append(Cooker.model_validate(row))
        except ValidationError as error:
            place = Place("cooker", n, str(row.get("id", "")))
            faults += faults_of(error, place, known=Cooker.model_fields)
    if len(rows) > COOKERS_MOST:
        faults = [Place("cooker").fault("", f"{len(rows)} of them", f"{COOKERS_MOST} is the most")]
    if not rows:
        faults.append(WHOLE_FILE.fault("cooker", "", "none is in it", REMEDY))
    if faults:
        raise FaultyEvent("the file", faults)
    return out
