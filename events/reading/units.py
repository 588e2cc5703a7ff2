"""Other units people measure in, turned into ours when a file is read."""

from __future__ import annotations

from collections.abc import Callable

from events.errors import Fault, Place
from events.table import RawTable


def _times(factor: float) -> Callable[[float], float]:
    return lambda value: round(value * factor, 6)


# (ending, our ending, conversion). The longer endings come first.
UNITS: list[tuple[str, str, Callable[[float], float]]] = [
    ("_mph", "_m_s", _times(0.44704)),
    ("_km_h", "_m_s", _times(1 / 3.6)),
    ("_qt", "litres", _times(0.946352946)),
    ("_lb", "_kg", _times(0.45359237)),
    ("_ft_min", "_m_min", lambda ft: round(ft * 0.3048)),  # a walk, in whole metres
    ("_ft2", "_m2", _times(0.09290304)),
    ("_ft", "_m", _times(0.3048)),
    ("_f", "_c", lambda f: round((f - 32) * 5 / 9, 6)),
]
# Facts as people see them, and the figure they stand for.
FACTS: dict[str, tuple[str, Callable[[float], float]]] = {
    "volume_qt": ("litres", _times(0.946352946)),
    "thickness_in": ("thickness_mm", _times(25.4)),
    "diameter_in": ("diameter_m", _times(0.0254)),
    # The sun moves a degree in four minutes at the equinoxes.
    "spot_leaves_min": ("acceptance_deg", _times(0.25)),
}


ENDINGS = tuple(ending for ending, _, _ in UNITS)


def to_metric(table: RawTable, place: Place, faults: list[Fault]) -> RawTable:
    """Return the table with every foreign unit converted; both forms at once is a fault."""
    metric: RawTable = {}
    for key, value in table.items():
        name, convert = _match(key)
        if convert is None or isinstance(value, bool) or not isinstance(value, (int, float)):
            metric[key] = value
            continue
        if name in table:
            faults.append(place.fault(key, repr(value), "given-too", other=name))
            continue
        metric[name] = convert(float(value))
    return metric


def _match(key: str) -> tuple[str, Callable[[float], float] | None]:
    if key in FACTS:
        return FACTS[key]
    for ending, into, convert in UNITS:
        if key.endswith(ending) and key != ending:
            stem = key[: -len(ending)]
            return (stem + into if into.startswith("_") else into), convert
    return key, None
