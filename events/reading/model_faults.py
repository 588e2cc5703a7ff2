"""What pydantic finds wrong with a table, as faults with their place."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable, Mapping
from datetime import date, time

from pydantic import ValidationError

from events.errors import Fault, Figure, Place
from events.fault_kinds import FaultKind
from events.reading.schema import HOURS

# What pydantic's kinds of mistakes ask for.
KINDS: dict[str, FaultKind] = {
    **dict.fromkeys(("int_parsing", "int_parsing_size", "int_type"), "whole-number"),
    "int_from_float": "whole-number",
    **dict.fromkeys(("float_parsing", "float_type", "decimal_parsing"), "number"),
    "finite_number": "not-a-number",
    **dict.fromkeys(("bool_parsing", "bool_type"), "true-or-false"),
    "string_type": "text",
    "string_too_short": "not-empty",
    "string_too_long": "text-too-long",
    "string_pattern_mismatch": "small-letters",
    **dict.fromkeys(("time_parsing", "time_type"), "time"),
    **dict.fromkeys(("date_parsing", "date_type", "date_from_datetime_parsing"), "date"),
    "date_from_datetime_inexact": "date",
    **dict.fromkeys(("datetime_parsing", "datetime_type", "datetime_from_date_parsing"), "instant"),
    **dict.fromkeys(("list_type", "tuple_type", "set_type", "frozen_set_type"), "list"),
    **dict.fromkeys(("dict_type", "mapping_type", "model_type", "model_attributes_type"), "table"),
    "instant-form": "instant-form",  # these are our own: service/dependencies.py
    "instant-offset": "instant-offset",
    "instant-year": "instant-year",
    "literal_error": "one-of",
    "too_long": "list-too-long",
    "too_short": "list-too-short",
    "greater_than_equal": "at-least",
    "less_than_equal": "at-most",
    "greater_than": "over",
    "less_than": "under",
    "multiple_of": "step",
    "json_invalid": "not-json-object",
}
OTHER: FaultKind = "not-understood"
# The figures that pydantic gives with them, by our names.
FIGURES = {"ge": "least", "le": "most", "gt": "bound", "lt": "bound", "expected": "choices"}
FIGURES |= {"max_length": "most", "min_length": "least", "multiple_of": "step"}
LONGEST = 60  # characters shown of a value
_IN_FILES = {field: key for key, field in HOURS.items()}


def faults_of(error: ValidationError, place: Place, *, known: Iterable[str] = ()) -> list[Fault]:
    """Return each mistake; `known` are the keys there are, for one that is not a key."""
    return [
        fault_of(e["type"], place, ".".join(map(str, e["loc"])), e["input"], known, e.get("ctx"))
        for e in error.errors(include_url=False)
    ]


def fault_of(
    type_: str,
    place: Place,
    key: str,
    value: object,
    known: Iterable[str] = (),
    context: Mapping[str, object] | None = None,
) -> Fault:
    """Return a mistake of one of pydantic's kinds, with the figures of its context."""
    shown = _IN_FILES.get(key, key)
    if type_ == "extra_forbidden":
        return unknown_key(place, key, known)
    if type_ == "missing":
        return place.fault(shown, "", "missing")
    if isinstance(value, float) and not math.isfinite(value):
        return place.not_a_number(shown, value)
    kind = KINDS.get(type_, OTHER)
    figures = {FIGURES[k]: _figure(v) for k, v in (context or {}).items() if k in FIGURES}
    return place.fault(shown, short(value), kind, **figures)


def _figure(value: object) -> Figure:
    """Return a figure as a fault has it; pydantic lists choices in one text."""
    return (
        float(value) if isinstance(value, (int, float)) else tuple(re.split(", | or ", str(value)))
    )


def unknown_key(place: Place, key: str, known: Iterable[str]) -> Fault:
    """Return that a key is none, with the nearest that is."""
    return place.fault(key, "", "unknown-key", near=nearest(key, known))


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the known word that a misspelt one is nearest to; empty where none is near."""
    # Comparing takes longer with each letter, and none of our words is so long.
    near = difflib.get_close_matches(word, known, 1) if len(word) <= LONGEST else []
    return near[0] if near else ""


def short(value: object) -> str:
    """Return a value as it is shown."""
    text = str(value) if isinstance(value, (time, date)) else repr(value)
    return text if len(text) < LONGEST else text[: LONGEST - 3] + "…"
