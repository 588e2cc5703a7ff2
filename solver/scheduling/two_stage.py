"""Routes in two stages: a pot leaves the sun before it is done, and is finished elsewhere.

In an insulated box it goes on cooking by its own heat (a quarter of an hour at the boil in a
mirror, and the mirror is free); on a gas ring it is finished when the sun was not enough. Both
stages are walked with the same heat balance; moving takes five minutes in the open, lid on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from events.model import Cooker
from solver.policy import SLOT_MIN
from solver.scheduling.batches import ceil_to_slot
from solver.simulation.durations import LATE_HANDS_MIN, LATER_MIN, Day, body_start_c, join
from solver.simulation.query import DurationEstimate, DurationQuery
from solver.simulation.transfer import (
    MOVE_MIN,
    STEP_S,
    Finish,
    finish,
    transfer,
)
from solver.thermal import energy_balance as heat
from solver.thermal import food
from solver.thermal.energy_balance import Array, Ensemble, Ints

ROUND_MIN = 15  # pots are moved on this grain
ROUNDS = 16
STARTS_MIN = 30  # starts are thinned to this grain
BOILS_WITHIN_C = 4.0  # a pot goes into the insulated box only when it is this near the boil
POOR = 0.6  # where the sun alone is never sure: a poor day's strength (judgement)


@dataclass(frozen=True)
class TwoStageLoad:
    """A load that is moved on: told as from its loading, by start; when it leaves which cooker."""

    told: DurationEstimate
    then: Cooker
    lift: Ints
    off: Ints


def two_stage_loads(
    day: Day, tolds: Sequence[DurationEstimate], *, unsure: frozenset[str]
) -> list[tuple[TwoStageLoad, DurationEstimate]]:
    """Return what moving on would give, for lone pots that start on the sun, beside what they are.

    `unsure` are the dishes that the sun alone does not surely get done: only these go to gas.
    """
    thens = [c for c in day.event.cookers if not c.on_sun]
    tolds = [t for t in tolds if _may_move(t) and len(t.ask.starts)]
    out: list[tuple[TwoStageLoad, DurationEstimate]] = []
    for then in thens:
        fit = [t for t in tolds if _fits(t, then, unsure)]
        if fit:
            out += _through(day, fit, then)
    return out


def _may_move(told: DurationEstimate) -> bool:
    dish = told.ask.load.dishes[0]
    return (
        told.ask.cooker.on_sun
        and len(told.ask.load.pots) == 1
        and dish.needs_body_c is None
        and not dish.done_mode.burns_if_left
    )


def _fits(told: DurationEstimate, then: Cooker, unsure: frozenset[str]) -> bool:
    dish, pot = told.ask.load.dishes[0], told.ask.load.pots[0]
    litres = told.ask.load.masses_kg[0] * dish.litres_per_kg
    if then.kind not in pot.fits or litres > then.litres + 1e-9:
        return False
    return then.keeps_heat_only or (dish.id in unsure and then.kind in dish.kinds)


def _thin(told: DurationEstimate) -> Ints:
    """Return which of the starts are tried, by index."""
    serve = told.ask.until - LATER_MIN
    fit = (told.ask.starts % STARTS_MIN == 0) & (told.ask.starts + ROUND_MIN < serve)
    return np.flatnonzero(fit)


def _gain(told: DurationEstimate, index: Ints) -> Array:
    """Return, by start, the strength at which the sun takes the cautious time."""
    usual, slow = told.expected_min[0, index], told.cautious_min[0, index]
    sure = np.isfinite(usual) & np.isfinite(slow)
    return np.where(sure, np.maximum(usual / np.where(sure, slow, 1.0), POOR), POOR)


def _through(
    day: Day, tolds: list[DurationEstimate], then: Cooker
) -> list[tuple[TwoStageLoad, DurationEstimate]]:
    """Walk every told start on the sun, and from every fifteen minutes on in the second cooker."""
    index = [_thin(t) for t in tolds]
    parts = []
    for told, which in zip(tolds, index, strict=True):
        starts, row = told.ask.starts[which], day.rows[told.ask.cooker.id]
        body = body_start_c(day, told.ask.cooker, told.ask.load, starts)
        for gain in (np.ones(which.size), _gain(told, which)):
            parts.append(
                heat.ensemble(
                    told.ask.cooker,
                    told.ask.load,
                    minutes=starts.astype(np.float64),
                    row=np.full(which.size, row, dtype=np.int64),
                    body_c=body,
                    strength=gain,
                    boil_c=day.boil_c,
                )
            )
    sun = join(parts)
    owner = np.concatenate([np.full(2 * w.size, k) for k, w in enumerate(index)])
    serve = np.asarray([t.ask.until - LATER_MIN for t in tolds], dtype=np.float64)[owner]
    made: list[Ensemble] = []
    ensemble: list[Ints] = []
    for n in range(1, ROUNDS + 1):
        for _ in range(int(ROUND_MIN * 60 / STEP_S)):
            heat.step(sun, day.forcing, dt_s=STEP_S, boil_c=day.boil_c)
        ready = sun.minute + MOVE_MIN < serve
        if then.keeps_heat_only:
            ready &= sun.pot_c[0] >= day.boil_c - BOILS_WITHIN_C
        elif n % 2:
            continue
        which = np.flatnonzero(ready)
        for k in np.unique(owner[which]):
            mine = which[owner[which] == k]
            load = tolds[k].ask.load
            made.append(transfer(day, sun, load, then, which=mine, lifted=sun.minute[mine]))
            ensemble.append(mine)
    if not made:
        return []
    state, lane = join(made), np.concatenate(ensemble)
    lift = state.minute - MOVE_MIN
    end = finish(state, day.forcing, until=serve[lane], boil_c=day.boil_c)
    out = []
    for k, told in enumerate(tolds):
        first = int(np.flatnonzero(owner == k)[0]) if (owner == k).any() else 0
        moved = _pick(day, told, index[k], then, first, lane, lift, end)
        if moved is not None:
            out.append((moved, told))
    return out


def _pick(
    day: Day,
    told: DurationEstimate,
    which: Ints,
    then: Cooker,
    first: int,
    lane: Ints,
    lift: Array,
    end: Finish,
) -> TwoStageLoad | None:
    """Choose for each start when to move: the soonest into the box, the latest onto the ring."""
    dish = told.ask.load.dishes[0]
    serve = told.ask.until - LATER_MIN
    hot = food.HOT_HOLDING_C[day.event.site.food_rules] if dish.serve_hot else 0.0
    rows: list[tuple[int, float, float, float, int, int]] = []
    for n, k in enumerate(which):
        usual = {lift[j]: j for j in np.flatnonzero(lane == first + n)}
        poor = {lift[j]: j for j in np.flatnonzero(lane == first + which.size + n)}
        good = [
            at
            for at, j in usual.items()
            if ceil_to_slot(float(min(end.done[j], 1e6))) + dish.rest_min <= serve
            and (end.done[j] > at + MOVE_MIN if then.on_gas else end.end_c[j] >= hot)
        ]
        held = [
            at
            for at in good
            if at in poor
            and ceil_to_slot(float(min(end.done[poor[at]], 1e6))) + dish.rest_min <= serve
        ]
        best = held or good
        if not best:
            continue
        at = max(best) if then.on_gas else min(best)
        start, j = float(told.ask.starts[k]), usual[at]
        slow = end.done[poor[at]] - start + LATE_HANDS_MIN if at in poor else np.inf
        usual_min = float(end.done[j] - start)
        ready = ceil_to_slot(float(end.done[j]))
        off = serve if then.keeps_heat_only else max(ready, int(at) + 2 * SLOT_MIN)
        rows.append((int(k), usual_min, max(usual_min, slow), end.clock_min[j], int(at), off))
    if not rows:
        return None
    index, expected, cautious, clock, lifts, offs = (
        np.asarray(column) for column in zip(*rows, strict=True)
    )
    ask = DurationQuery(told.ask.cooker, told.ask.load, told.ask.starts[index], told.ask.until)
    fresh = DurationEstimate(
        ask,
        expected_min=expected[None, :],
        fast_min=np.minimum(expected, told.fast_min[:, index]),
        cautious_min=cautious[None, :],
        hot_min=np.minimum(told.hot_min[:, index], expected[None, :]),
        clock_min=clock[None, :],
        peak_c=told.peak_c[:, index],
        body_peak_c=told.body_peak_c[index],
    )
    return TwoStageLoad(fresh, then, lifts.astype(np.int64), offs.astype(np.int64))
