"""What is typed into a field, and how a value stands in one."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time

from events.model import Ingredient
from events.reading.foods import food_called
from service.text.formatting import plain_hour

# Kinds of fields that hold ids, or other words without a space.
WORDS = (
    *("words", "cookers", "no-cookers", "abilities", "speakers", "ties"),
    *("teams", "stops", "these-cookers", "moments"),
)
# Of an ingredient, by the unit that is typed; a field of ingredients has one that need not be.
UNIT_KG = {"g": 0.001, "kg": 1.0, "oz": 0.028349523125, "lb": 0.45359237}
PARTS_KG = {"parts-g": UNIT_KG["g"], "parts-oz": UNIT_KG["oz"]}
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
    if field.kind in PARTS_KG:
        return [_part(p.strip(), PARTS_KG[field.kind]) for p in text.split(",") if p.strip()]
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


def _part(text: str, unit_kg: float) -> dict[str, object]:
    """Return what “red onion 50” means: a food of the table, and how much is in one portion."""
    match = re.fullmatch(r"(.*\S)\s+(\d+(?:\.\d+)?)\s*(g|kg|oz|lb)?", text)
    if match is None:
        return {"food": _food(text), "portion_kg": 0}
    amount_kg = float(match[2]) * UNIT_KG.get(match[3], unit_kg)
    return {"food": _food(match[1]), "portion_kg": round(amount_kg, 5)}


def _food(words: str) -> str:
    """Return the food of the table that is called so; of another, words as an id may be written."""
    return food_called(words) or "-".join(re.findall(r"[a-z0-9]+", words.casefold())) or words


def parts_shown(ingredients: Iterable[Ingredient], kind: str) -> str:
    """Return a dish's ingredients as they are typed in a field of that kind."""
    return ", ".join(
        f"{i.food.replace('-', ' ')} {i.portion_kg / PARTS_KG[kind]:.3g}" for i in ingredients
    )


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


def days_between(today: date, text: str) -> int:
    """Return how many days ahead a typed date is; 0 for one that is past, or no date."""
    day = typed_date(text)
    return max((day - today).days, 0) if day else 0
