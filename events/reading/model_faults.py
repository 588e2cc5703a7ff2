"""What pydantic finds wrong with a table, as faults with their place."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable

from pydantic import ValidationError

from events.errors import Fault, Place
from events.reading.schema import HOURS

# What pydantic's kinds of mistakes ask for, as people say it.
PLAIN = {
    "int_parsing": "must be a whole number",
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "float_parsing": "must be a number",
    "float_type": "must be a number",
    "string_too_short": "must not be empty",
    "time_parsing": "must be a time, as 12:30",
    "date_from_datetime_parsing": "must be a date, as 2026-11-28",
    "string_pattern_mismatch": "must be small letters, digits and hyphens",
}
LONGEST = 60  # characters shown of a value
_IN_FILES = {field: key for key, field in HOURS.items()}


def faults_of(error: ValidationError, place: Place, *, known: Iterable[str] = ()) -> list[Fault]:
    """Return each mistake; `known` are the keys there are, for one that is not a key."""
    faults = []
    for e in error.errors(include_url=False):
        key = ".".join(str(part) for part in e["loc"])
        shown = _IN_FILES.get(key, key)
        if e["type"] == "extra_forbidden":
            faults.append(unknown_key(place, key, known))
        elif e["type"] == "missing":
            faults.append(place.fault(shown, "", "is missing", f"Add {shown} = …"))
        elif isinstance(e["input"], float) and not math.isfinite(e["input"]):
            faults.append(place.not_a_number(shown, e["input"]))
        else:
            said = e["msg"].replace("Input should be", "must be").replace("Value error, ", "")
            limit = PLAIN.get(e["type"], said)
            faults.append(place.fault(shown, short(e["input"]), limit))
    return faults


def unknown_key(place: Place, key: str, known: Iterable[str]) -> Fault:
    """Return that a key is none, with the nearest that is."""
    near = nearest(key, known)
    hint = f'Did you mean "{near[0]}"?' if near else "Remove it, or see noonfare schema."
    return place.fault(key, "", "is not a key here", hint)


def nearest(word: str, known: Iterable[str]) -> list[str]:
    """Return the known word that a misspelt one is nearest to, in a list, or none."""
    # Comparing takes longer with each letter, and none of our words is so long.
    return difflib.get_close_matches(word, known, 1) if len(word) <= LONGEST else []


def short(value: object) -> str:
    """Return a value as it is shown."""
    text = repr(value)
    return text if len(text) < LONGEST else text[: LONGEST - 3] + "…"
