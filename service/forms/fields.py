"""What is typed into a field, and how a value stands in one."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import time


@dataclass(frozen=True)
class Field:
    """One thing to type: its key in the file, what it is called, how it is typed, a hint."""

    key: str
    label: str
    kind: str = (
        "text"  # text, number, time, date, tick, words, phrases, or the name of a list of choices
    )
    hint: str = ""


def shown(value: object) -> str:
    """Return a value as it stands in a field."""
    if value is None or value is False:
        return ""
    if isinstance(value, time):
        return f"{value:%H:%M}"
    if isinstance(value, list):
        return ", ".join(str(v) for v in value)
    if isinstance(value, float):
        return f"{value:g}"
    return str(value)


def typed(field: Field, text: str) -> object:
    """Return what a field's text means; what can't be read stays text, to be named as a fault."""
    text = text.strip()
    if field.kind == "tick":
        return text == "on"
    if field.kind in ("words", "cookers"):
        return [w for w in re.split(r"[,\s]+", text) if w]
    if field.kind == "phrases":
        return [p.strip() for p in text.split(",") if p.strip()]
    if field.kind == "time":
        return clock_24(text)
    if field.kind == "number":
        try:
            number = float(text.replace(",", "."))
        except ValueError:
            return text
        return int(number) if number.is_integer() else number
    return text


def clock_24(text: str) -> str:
    """Return a clock time as files say it: 1:30 pm is 13:30; what is none stays as it is."""
    match = re.fullmatch(r"(\d{1,2})(?::?([0-5]\d))?\s*([ap])\.?m\.?", text.strip().lower())
    if match is None or not 1 <= int(match[1]) <= 12:
        return text
    hour = int(match[1]) % 12 + (12 if match[3] == "p" else 0)
    return f"{hour:02d}:{match[2] or '00'}"
