"""Fields in an event's own units: what is typed in pounds and inches where it shows US units."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple, cast

from events.errors import Fault, Figure
from events.kinds import COOKER_KINDS, Kind
from service.forms.fields import Field

Table = dict[str, object]
Inwards = Callable[[float], int]


class UsUnit(NamedTuple):
    """How a figure is typed in US units: the file's key, its label, its size and zero in ours."""

    key: str
    label: str
    size: float
    zero: float = 0.0
    hint: str = ""  # where ours names a figure


US = {
    "altitude_m": UsUnit("altitude_ft", "Altitude, ft", 0.3048),
    "start_c": UsUnit("start_f", "Put in at, °F", 5 / 9, -160 / 9, "41 or less from a cold box"),
    "portion_kg": UsUnit("portion_lb", "Portion size (raw), lb", 0.45359237),
    "thickness_mm": UsUnit("thickness_in", "Thickness of the largest piece, in", 25.4),
    "wind_limit_m_s": UsUnit("wind_limit_mph", "Wind limit, mph", 0.44704),
    "walk_m_min": UsUnit(
        "walk_ft_min", "Walk, ft a minute", 0.3048, hint="the young no faster than 130 ft"
    ),
    "x_m": UsUnit("x_ft", "East, ft", 0.3048),
    "y_m": UsUnit("y_ft", "North, ft", 0.3048),
    "diameter_m": UsUnit("diameter_in", "Across, in", 0.0254),
    "aperture_m2": UsUnit("aperture_ft2", "Opening, sq ft", 0.09290304),
    "litres": UsUnit("volume_qt", "Holds, qt", 0.946352946),
    "mass_kg": UsUnit("mass_lb", "Empty, it weighs, lb", 0.45359237),
}
# Behind the point, on the screen alone: what stands as it was shown keeps all its own.
_DIGITS = {"altitude_m": 0, "diameter_m": 1, "aperture_m2": 2, "litres": 1, "mass_kg": 2}
_DIGITS |= {"walk_m_min": 0, "start_c": 0}
# The figures of a fault that are of the field's own unit; a limit is rounded to what is allowed.
_LIMITS = ("least", "most", "bound")
_INWARDS: dict[str, Inwards] = {"least": math.ceil, "most": math.floor}
METRIC_OF = {unit.key: key for key, unit in US.items()}
_OPENING = {"diameter_m", "diameter_in", "aperture_m2", "aperture_ft2"}
# What goes when a key is typed: the same figure in the other units, an opening's other measure.
SPELLINGS = {
    **{other: (key,) for other, key in METRIC_OF.items()},
    **{key: tuple(_OPENING - {key}) for key in _OPENING},
}
_SIZE_KEY = {"diameter": "diameter_m", "opening": "aperture_m2", "litres": "litres"}


def fields_of(fields: tuple[Field, ...], units: str) -> tuple[Field, ...]:
    """Return fields as they are typed in an event's units."""
    if units != "us":
        return fields
    return tuple(
        replace(f, key=US[f.key].key, label=US[f.key].label, hint=US[f.key].hint or f.hint)
        if f.key in US
        else replace(f, label="Made of, oz for one", kind="parts-oz", hint="as potato 7, onion 2")
        if f.kind == "parts-g"
        else f
        for f in fields
    )


def as_typed(fault: Fault, units: str) -> Fault:
    """Return a fault by the field that is typed in an event's units, its figures in them."""
    if units != "us" or fault.key not in US:
        return fault
    unit = US[fault.key]
    figures = {
        name: _in(unit, figure, fault.key, _INWARDS.get(name)) if name in _LIMITS else figure
        for name, figure in fault.figures.items()
    }
    value = _in(unit, fault.value, fault.key)
    return replace(fault, key=unit.key, value=value, figures=figures)


def _in(unit: UsUnit, figure: Figure, key: str, inwards: Inwards | None = None) -> Figure:
    """Return a number in other units, with the digits that it is shown with; none as it is."""
    try:
        there = (float(str(figure)) - unit.zero) / unit.size
    except ValueError:
        return figure
    step = 10.0 ** -_DIGITS.get(key, 3)
    return round((inwards or round)(round(there / step, 6)) * step, 6)


def size_key(cooker: Table) -> str:
    """Return the key in which people say how big a cooker is, by how its kind is sized."""
    return _SIZE_KEY[COOKER_KINDS[cast("Kind", cooker["kind"])].sized_by]


def in_units(row: Table, units: str) -> Table:
    """Return a file's row with its figures as they are typed in an event's units."""
    out = dict(row)
    area_m2 = row.get("aperture_m2")
    if "kind" in row and size_key(row) not in row and isinstance(area_m2, (int, float)):
        out["diameter_m"] = round(math.sqrt(4 * area_m2 / math.pi), 3)
    if units != "us":
        return out
    for key, unit in US.items():
        value = out.get(key)
        if isinstance(value, (int, float)):
            out[unit.key] = _in(unit, value, key)
    return out
