"""The house's own cookers as a file: out, and back equal."""

from __future__ import annotations

import tomllib

import tomlkit
from pydantic import ValidationError

from events.errors import Fault, FaultyEvent
from events.model import Cooker
from service.forms.event_form import own_row, rows_of


def own_text(cookers: list[Cooker]) -> str:
    """Return cookers as the [[cooker]] tables of a file."""
    return tomlkit.dumps({"cooker": [own_row(c) for c in cookers]})


def own_from(text: str) -> list[Cooker]:
    """Return the cookers of a file's [[cooker]] tables; raises FaultyEvent with every fault."""
    try:
        rows = rows_of(tomllib.loads(text), "cooker")
    except tomllib.TOMLDecodeError as error:
        fault = Fault("", "", "", f"is not TOML: {error}", "Take the file as it was written.")
        raise FaultyEvent("the file", [fault]) from None
    out, faults = [], []
    for n, row in enumerate(rows, 1):
        try:
            out.append(Cooker.model_validate(row))
        except ValidationError as error:
            where = f"[[cooker]] {n} ({row.get('id', '')})"
            faults += [
                Fault(where, ".".join(map(str, e["loc"])), repr(e["input"])[:60], e["msg"], "")
                for e in error.errors()
            ]
    if not rows:
        faults.append(Fault("", "cooker", "", "none is in it", "Take the file as it was written."))
    if faults:
        raise FaultyEvent("the file", faults)
    return out
