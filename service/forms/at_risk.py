"""Dishes made fit for guests at risk: the safe way out where the tick for them is refused."""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass

from events.errors import Fault
from events.fault_kinds import FaultKind
from events.model import Event
from service.forms.references import Table, let_go, rows_in
from service.text.formatting import temp

# Which of a dish's figures is put right by a fault's own limit: hotter, or held for less long.
_LIMITS: dict[FaultKind, tuple[str, str]] = {
    "eggs-firm": ("core_c", "least_c"),
    "raw-middle": ("core_c", "least_c"),
    "raw-middle-by-name": ("core_c", "least_c"),
    "held-for-the-vulnerable": ("holding_max_min", "most_min"),
}
LEFT_OUT: FaultKind = "beans-for-the-vulnerable"  # whether tins are at hand, nobody here knows


@dataclass(frozen=True)
class Mend:
    """What makes one dish safe: a figure of it, or without a key that it is left out."""

    dish_id: str
    key: str = ""
    figure: float = 0.0


def mends_of(faults: Sequence[Fault]) -> list[Mend]:
    """Return what would make an event's dishes safe; nothing where more than that is wrong."""
    out = [f.id for f in faults if f.table == "dish" and f.kind == LEFT_OUT]
    kept = [f for f in faults if f.table != "dish" or f.id not in out]
    if any(f.table != "dish" or f.kind not in _LIMITS for f in kept):
        return []
    mends = [(f, *_LIMITS[f.kind]) for f in kept]
    figures = [Mend(f.id, key, float(str(f.figures[limit]))) for f, key, limit in mends]
    return [*figures, *(Mend(dish_id) for dish_id in dict.fromkeys(out))]


def mended(table: Table, mends: Sequence[Mend]) -> Table:
    """Return an event's tables with its dishes made safe."""
    out = deepcopy(table)
    gone = {m.dish_id for m in mends if not m.key}
    for row in rows_in(out, "dish"):
        row.update({m.key: m.figure for m in mends if m.key and m.dish_id == row.get("id")})
    out["dish"] = [row for row in rows_in(out, "dish") if row.get("id") not in gone]
    let_go(out, "dish", gone)
    return out


def mend_words(event: Event, mend: Mend) -> str:
    """Return what is changed in a dish."""
    name = event.dish(mend.dish_id).name
    if mend.key == "core_c":
        return f"{name}: {temp(event, mend.figure)} in the middle, at least"
    if mend.key == "holding_max_min":
        return f"{name}: held hot for {mend.figure:g} min at most"
    return f"{name}: left out. Raw kidney beans are not cooked for them; tins would do"
