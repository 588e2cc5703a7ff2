"""What visitors see: what cooks where, how hot, ready when, and the sun now."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from events.diary import StoredEntry
from events.model import Event
from service.text import formatting
from solver.plan import Placement, Plan

ROWS = 6
FRESH = timedelta(minutes=20)  # a reading this young is shown instead of the estimate


def board_rows(
    event: Event, plan: Plan, at: datetime, entries: list[StoredEntry]
) -> list[dict[str, object]]:
    """Return up to six batches, the next to be eaten first."""
    out = []
    for p in sorted(plan.placements, key=lambda p: (p.served_at, p.loaded_at)):
        if p.served_at + timedelta(minutes=30) < at:
            continue
        dish = event.dish(p.dish_id)
        cooker = event.cooker(p.cooker_id)
        degrees, read = _degrees(p, at, entries)
        out.append(
            {
                "food": dish.name + formatting.part(p),
                "kind": cooker.kind,
                "state": _state(event, p, at, cooker.name),
                "degrees": formatting.temp(event, degrees) if degrees is not None else "",
                "read": read,
                "allergens": ", ".join(dish.allergens),
            }
        )
    return out[:ROWS]


def _degrees(p: Placement, at: datetime, entries: list[StoredEntry]) -> tuple[float | None, bool]:
    readings = [
        k
        for k in entries
        if k.entry.placement_id == p.id
        and k.entry.core_c is not None
        and timedelta() <= at - k.happened_at < FRESH
    ]
    if readings:
        return readings[-1].entry.core_c, True
    if not p.loaded_at <= at <= p.lifted_at:
        return None, False
    seconds = [(pt.at - p.loaded_at).total_seconds() for pt in p.curve]
    middle = [pt.core_c for pt in p.curve]
    return float(np.interp((at - p.loaded_at).total_seconds(), seconds, middle)), False


def _state(event: Event, p: Placement, at: datetime, cooker: str) -> str:
    served = formatting.clock(event, p.served_at)
    if at < p.loaded_at:
        return f"goes into {cooker} at {formatting.clock(event, p.loaded_at)}"
    if at < p.hot_at:
        return f"warming in {cooker}, served {served}"
    if at < p.done_at:
        return f"cooking in {cooker}, served {served}"
    return f"ready, served {served}" if at < p.served_at else "being served"


def sun_now(plan: Plan, at: datetime) -> int:
    """Return the sun's beam now, as forecast, in W/m²."""
    step = min(plan.sun, key=lambda s: abs(s.at - at), default=None)
    return 0 if step is None or step.blocked else round(step.beam_w_m2 / 10) * 10
