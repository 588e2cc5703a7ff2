"""A file of own cookers, as it is written out for another house, read back."""

from __future__ import annotations

from pydantic import ValidationError

from events.errors import WHOLE_FILE, FaultyEvent, Place
from events.model import COOKERS_MOST, Cooker
from events.reading.event_file import read_toml
from events.reading.limits import Faults, TooManyFaults
from events.reading.model_faults import faults_of


def own_from(text: str) -> list[Cooker]:
    """Return the cookers of a file's [[cooker]] tables; raises FaultyEvent with every fault."""
    rows = read_toml(text, source="the file").get("cooker")
    faults, cookers = Faults(), list[Cooker]()
    if not isinstance(rows, list) or not rows:
        faults.append(WHOLE_FILE.fault("cooker", "", "no-own-cookers"))
    elif len(rows) > COOKERS_MOST:
        faults.append(Place("cooker").fault("", len(rows), "too-many-own", most=COOKERS_MOST))
    else:
        cookers = _cookers(rows, faults)
    if faults:
        raise FaultyEvent("the file", faults)
    return cookers


def _cookers(rows: list[object], faults: Faults) -> list[Cooker]:
    cookers = []
    for n, row in enumerate(rows, 1):
        place = Place("cooker", n, str(row.get("id", "")) if isinstance(row, dict) else "")
        try:
            cookers.append(Cooker.model_validate(row))
        except ValidationError as error:
            try:
                faults += faults_of(error, place, known=Cooker.model_fields)
            except TooManyFaults:
                break
    return cookers
