"""Fields in an event's own units: what is typed in pounds and inches where it shows US units."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import cast

from events.errors import Fault, Figure
from events.kinds import COOKER_KINDS, Kind
from service.forms.fields import Field

Table = dict[str, object]
# In an event that shows US units: the file's own US key, how it is called, and its size in ours.
US = {
    "altitude_m": ("altitude_ft", "Altitude, ft", 0.3048),
    "portion_kg": ("portion_lb", "Portion size (raw), lb", 0.45359237),
    "thickness_mm": ("thickness_in", "Thickness of the largest piece, in", 25.4),
    "wind_limit_m_s": ("wind_limit_mph", "Wind limit, mph", 0.44704),
    "walk_m_min": ("walk_ft_min", "Walk, ft a minute", 0.3048),
    "x_m": ("x_ft", "East, ft", 0.3048),
    "y_m": ("y_ft", "North, ft", 0.3048),
    "diameter_m": ("diameter_in", "Across, in", 0.0254),
    "aperture_m2": ("aperture_ft2", "Opening, sq ft", 0.09290304),
    "litres": ("volume_qt", "Holds, qt", 0.946352946),
    "mass_kg": ("mass_lb", "Empty, it weighs, lb", 0.45359237),
}
# Behind the point, on the screen alone: what stands as it was shown keeps all its own.
_DIGITS = {"altitude_m": 0, "diameter_m": 1, "aperture_m2": 2, "litres": 1, "mass_kg": 2}
_DIGITS |= {"walk_m_min": 0}
METRIC_OF = {other: key for key, (other, _, _) in US.items()}
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
        replace(f, key=US[f.key][0], label=US[f.key][1]) if f.key in US else f for f in fields
    )


def as_typed(fault: Fault, units: str) -> Fault:
    """Return a fault by the field that is typed in an event's units, its figures in them."""
    if units != "us" or fault.key not in US:
        return fault
    key, _, factor = US[fault.key]
    figures = {name: _by(factor, figure) for name, figure in fault.figures.items()}
    return replace(fault, key=key, value=_by(factor, fault.value), figures=figures)


def _by(factor: float, figure: Figure) -> Figure:
    """Return a number in other units; what is none as it is."""
    try:
        return float(str(figure)) / factor
    except ValueError:
        return figure


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
    for key, (other, _, factor) in US.items():
        value = out.get(key)
        if isinstance(value, (int, float)):
            out[other] = round(value / factor, _DIGITS.get(key, 3))
    return out
