"""What is typed into a field, and how a value stands in one."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, time

from service.text.formatting import plain_hour

# Kinds of fields that hold ids, or other words without a space.
WORDS = (
    *("words", "cookers", "abilities", "speakers", "ties"),
    *("teams", "stops", "these-cookers", "moments"),
)
FIRST_HOUR = 7  # from which an hour that is typed alone is meant by day


@dataclass(frozen=True)
class Field:
    """One thing to type: its key in the file, what it is called, how it is typed, a hint."""

    key: str
    label: str
    kind: str = (
        "text"  # text, number, time, date, tick, words, phrases, or the name of a list of choices
    )
    hint: str = ""


def shown(value: object, clock_h: int = 24) -> str:
    """Return a value as it stands in a field, a time by a clock of 24 or of 12 hours."""
    if value is None or value is False:
        return ""
    if isinstance(value, time):
        return plain_hour(value, clock_h)
    if isinstance(value, list):
        return ", ".join(shown(v, clock_h) for v in value)
    if isinstance(value, dict):  # a break: its time and its minutes
        return " ".join(shown(v, clock_h) for v in value.values())
    if isinstance(value, float):
        return f"{value:g}"
    return str(value)


def typed(field: Field, text: str) -> object:
    """Return what a field's text means; what can't be read stays text, to be named as a fault."""
    text = text.strip()
    if field.kind == "tick":
        return text == "on"
    if field.kind == "raw":
        return "" if text == "" else text == "True"
    if field.kind in WORDS:
        return [w for w in re.split(r"[,\s]+", text) if w]
    if field.kind in ("phrases", "allergens", "avoided"):
        return [p.strip() for p in text.split(",") if p.strip()]
    if field.kind == "breaks":
        return [_break(p.strip()) for p in text.split(",") if p.strip()]
    if field.kind == "time":
        return clock_24(text)
    if field.kind == "number":
        try:
            number = float(text.replace(",", "."))
        except ValueError:
            return text
        return int(number) if number.is_integer() else number
    return text


def _break(text: str) -> dict[str, object]:
    """Return what “14:00 15” means: when a break begins, and its minutes."""
    at, _, minutes = text.rpartition(" ")
    if not at:
        at, minutes = text, ""
    return {"at": clock_24(at), "minutes": int(minutes) if minutes.isdecimal() else minutes}


def clock_24(text: str) -> str:
    """Return a clock time as files say it: 9, 9 am, 9.30, 17h30, 1:30 pm, noon.

    What is none stays as it is. So does an hour alone from 1 to 6: is it by day or by night?
    """
    bare = text.strip().lower()
    if bare in ("noon", "midday"):
        return "12:00"
    match = re.fullmatch(r"(\d{1,2})(?:[:.h]?([0-5]\d))?\s*h?\s*(?:([ap])\.?m\.?)?", bare)
    if match is None:
        return text
    hour, minute, half = int(match[1]), match[2] or "00", match[3]
    if half and 1 <= hour <= 12:
        return f"{hour % 12 + (12 if half == 'p' else 0):02d}:{minute}"
    if half or hour > 23 or (match[2] is None and hour < FIRST_HOUR):
        return text
    return f"{hour:02d}:{minute}"


def typed_date(text: str) -> date | None:
    """Return the date that a field holds, or None where it holds none."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        return None
