"""What visitors see: what cooks where, how hot, ready when, and the sun now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from events.diary import StoredEntry
from events.model import Event
from service.text import formatting
from service.text.allergens import diet, sentence
from solver.plan import Placement, Plan

ROWS = 6
SHOWN_AFTER_SERVING = timedelta(minutes=30)
FRESH = timedelta(minutes=20)  # a reading this young is shown instead of the estimate


@dataclass(frozen=True)
class _Warmth:
    """How hot a batch is in the middle, and whether a probe said so."""

    core_c: float | None
    measured: bool


def board_rows(
    event: Event, plan: Plan, at: datetime, entries: Sequence[StoredEntry]
) -> list[dict[str, object]]:
    """Return up to six batches, the next to be eaten first."""
    batches = sorted(plan.placements, key=lambda p: (p.served_at, p.loaded_at))
    shown = [p for p in batches if p.served_at + SHOWN_AFTER_SERVING >= at]
    return [_row(event, p, at, entries) for p in shown[:ROWS]]


def _row(
    event: Event, batch: Placement, at: datetime, entries: Sequence[StoredEntry]
) -> dict[str, object]:
    dish, cooker = event.dish(batch.dish_id), event.cooker(batch.cooker_id)
    warmth = _warmth(batch, at, entries)
    return {
        "food": dish.name + formatting.part(batch),
        "kind": cooker.kind,
        "state": _state(event, batch, at, cooker.name),
        "degrees": "" if warmth.core_c is None else formatting.temp(event, warmth.core_c),
        "read": warmth.measured,
        "allergens": sentence(event, dish),
        "diet": diet(event, dish),
    }


def _warmth(batch: Placement, at: datetime, entries: Sequence[StoredEntry]) -> _Warmth:
    """Return what a probe read lately, else what is expected of the batch in its cooker."""
    readings = [
        e.entry.core_c
        for e in entries
        if e.entry.placement_id == batch.id
        and e.entry.core_c is not None
        and timedelta() <= at - e.happened_at < FRESH
    ]
    if readings:
        return _Warmth(readings[-1], measured=True)
    if not batch.loaded_at <= at <= batch.lifted_at:
        return _Warmth(None, measured=False)
    seconds = [(point.at - batch.loaded_at).total_seconds() for point in batch.curve]
    cores_c = [point.core_c for point in batch.curve]
    now_s = (at - batch.loaded_at).total_seconds()
    return _Warmth(float(np.interp(now_s, seconds, cores_c)), measured=False)


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
