"""Where each load stands that was loaded: in its cooker, on a ring or lifted, and how warm."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from events.model import Cooker
from events.table import changed
from solver.live.diary_index import DiaryIndex
from solver.live.load_run import (
    EXPECTED,
    MEMBERS,
    STRONG,
    WEAK,
    LoadRun,
    corrected,
    moved_to_ring,
    run_until,
    start_run,
)
from solver.live.loadings import Loading, load_of
from solver.plan import Placement, Plan
from solver.simulation.cooker_draws import BAND_TO_SIGMA
from solver.simulation.day import DRAWS, Day, loaded
from solver.simulation.day_state import LoadInProgress, Stage
from solver.simulation.durations import DRAW_STEP_S, LATE_HANDS_MIN, LATER_MIN
from solver.simulation.query import DurationEstimate, DurationQuery
from solver.simulation.run import run as simulate
from solver.simulation.run import select
from solver.solar.ensemble import cloud_error
from solver.solar.irradiance import at_minute, minute_of
from solver.thermal.energy_balance import Array

QUANTILE = 0.84  # standard deviations from the middle to 20 and 80 of 100


@dataclass(frozen=True)
class LoadStatus:
    """A load as it stands: what it is, and whether its loading is only assumed."""

    placements: tuple[Placement, ...]
    stage: Stage
    assumed: bool  # nobody pressed "loaded": we assume the plan was followed
    in_progress: LoadInProgress


@dataclass(frozen=True)
class Whereabouts:
    """At which stage a load is, and the minute at which it left its cooker, if it did."""

    stage: Stage
    left: int | None


def load_statuses(
    day: Day, plan: Plan, diary: DiaryIndex, loadings: Mapping[str, Loading], now: int
) -> tuple[LoadStatus, ...]:
    """Return every load that stands in a cooker or waits to be served.

    Pots that left it for a ring are loads of their own; those of a broken cooker are in hand.
    """
    return tuple(
        _status(day, diary, fill, loadings[fill[0].id], now)
        for fill in fills_of(plan, diary, loadings)
        if off_heat(day, diary, fill[0], now) is None
    )


def fills_of(
    plan: Plan, diary: DiaryIndex, loadings: Mapping[str, Loading]
) -> list[list[Placement]]:
    """Return what was loaded together and is not eaten; what went to a ring is by itself."""
    fills: dict[tuple[str, bool], list[Placement]] = defaultdict(list)
    for p in plan.placements:
        if p.id in loadings and p.id not in diary.finished_ids:
            fills[(p.fill, p.id in diary.to_ring)].append(p)
    return list(fills.values())


def off_heat(day: Day, diary: DiaryIndex, p: Placement, now: int) -> int | None:
    """Return the minute at which a pot's cooker broke with the pot in it, if that is so."""
    broke = diary.out_of_action.get(p.cooker_id)
    if broke is None or broke > now or p.id in diary.to_ring:
        return None
    left = diary.lifted.get(p.id, minute_of(day.sky, p.lifted_at))
    return broke if broke < left else None


def _status(
    day: Day, diary: DiaryIndex, fill: list[Placement], loading: Loading, now: int
) -> LoadStatus:
    whereabouts = _whereabouts(day, diary, fill[0], now)
    run = _run_until_now(day, diary, fill, loading, whereabouts, now)
    until = minute_of(day.sky, fill[0].promised_at) + 2 * LATER_MIN
    end = run_until(day, run, until)
    spent_min = np.asarray([[p.spent_min] for p in fill], dtype=np.float64)
    placements = tuple(_as_it_was(day, p, loading, whereabouts) for p in fill)
    in_progress = LoadInProgress(
        placements=placements,
        stage=whereabouts.stage,
        durations=_durations(day, run, end, loading.minute, spent_min),
        state=run.state,
        clock_min=tuple(float(c) for c in (run.state.clock_min + spent_min)[:, EXPECTED]),
        curves=end.curves,
    )
    return LoadStatus(placements, whereabouts.stage, loading.assumed, in_progress)


def _run_until_now(
    day: Day,
    diary: DiaryIndex,
    fill: list[Placement],
    loading: Loading,
    whereabouts: Whereabouts,
    now: int,
) -> LoadRun:
    """Return the load run from its loading, with each probe reading taken as true."""
    left = now if whereabouts.left is None else min(now, whereabouts.left)
    run = run_until_left(day, diary, fill, loading, left)
    if whereabouts.stage != "on-ring":
        return run
    return run_until(day, moved_to_ring(day, run, _ring(day, fill[0]), left), now)


def run_until_left(
    day: Day, diary: DiaryIndex, fill: list[Placement], loading: Loading, left: int
) -> LoadRun:
    """Return the load run from its loading to when it leaves its cooker."""
    first = fill[0]
    cooker, load = day.event.cooker(first.cooker_id), load_of(day, fill)
    strength_band = float(np.hypot(_band(day, cooker.id), cloud_error(day.event.weather) / 2))
    spread = strength_band * QUANTILE * BAND_TO_SIGMA
    strength = np.asarray([max(1 - spread, 0.2), 1.0, 1 + spread])
    minutes = np.full(MEMBERS, min(loading.minute, left), dtype=np.int64)
    state = loaded(day, cooker, load, minutes, strength=strength)
    run = start_run(cooker, load, state)
    for reading in sorted(diary.readings, key=lambda r: r.minute):
        if reading.placement in fill and loading.minute < reading.minute <= left:
            run = run_until(day, run, reading.minute)
            run = corrected(day, run, fill.index(reading.placement), reading.core_c)
    return run_until(day, run, left)


def _ring(day: Day, p: Placement) -> Cooker:
    """Return the ring that a batch is on: the planned one; where none was planned, the first."""
    second = _second_cooker(day, p)
    if second is not None and second.on_gas:
        return second
    return next(c for c in day.event.cookers if c.on_gas)


def _second_cooker(day: Day, p: Placement) -> Cooker | None:
    return day.event.cooker(p.then_cooker_id) if p.then_cooker_id else None


def _band(day: Day, cooker_id: str) -> float:
    """Return how unsure a sun cooker's strength is, as a fraction; a flame is sure."""
    return day.strength_bands.get(cooker_id, 0.0)


def _durations(
    day: Day, now: LoadRun, end: LoadRun, loaded: int, spent_min: np.ndarray
) -> DurationEstimate:
    """Return how long a load takes from its loading, by (pot, one start)."""
    expected = end.done[:, [EXPECTED]]
    until = int(end.state.minute[EXPECTED])
    query = DurationQuery(
        now.cooker, now.load, np.asarray([loaded], dtype=np.int64), until - LATER_MIN
    )
    return DurationEstimate(
        query,
        expected_min=expected - loaded,
        fast_min=np.minimum(end.done[:, [STRONG]], expected) - loaded,
        cautious_min=np.maximum(end.done[:, [WEAK]] - loaded + LATE_HANDS_MIN, expected - loaded),
        hot_min=end.hot[:, [EXPECTED]] - loaded,
        clock_min=(end.state.clock_min + spent_min)[:, [EXPECTED]],
        peak_c=now.state.core_c[:, [EXPECTED]],
        body_peak_c=now.state.body_c[[EXPECTED]],
        draws_min=_drawn_min(day, now, loaded, until),
    )


def _drawn_min(day: Day, now: LoadRun, loaded: int, until: int) -> Array:
    """Return minutes from loading to done by (pot, drawn day, one start), gone on from now.

    Each draw goes on from the member that is as strong as itself.
    """
    row = day.rows[now.cooker.id]
    strength = day.member_strength[:, row]
    alike = np.argmin(np.abs(now.state.strength[:, None] - strength), axis=0)
    state = select(now.state, alike)
    state.row = np.arange(DRAWS) * len(day.event.cookers) + row
    state.strength, state.loss = strength.copy(), day.member_loss[:, row].copy()
    went_min = state.minute - loaded
    result = simulate(
        state, day.members, until=np.full(DRAWS, float(until)), boil_c=day.boil_c, dt_s=DRAW_STEP_S
    )
    done_now = now.done[:, [EXPECTED]]
    took = np.where(np.isfinite(done_now), done_now - loaded, went_min + result.done_min)
    return np.asarray(took)[:, :, None]


def _as_it_was(day: Day, p: Placement, loading: Loading, whereabouts: Whereabouts) -> Placement:
    """Return a placement with its times and its cooker as they really were."""
    real: dict[str, object] = {}
    if not loading.assumed:
        loaded_at = at_minute(day.sky, loading.minute)
        real["loaded_at"] = loaded_at
        if p.preheat_at is not None and p.preheat_at >= loaded_at:
            real["preheat_at"] = None  # it went in before its cooker was to be heated
    if whereabouts.stage != "cooking" and whereabouts.left is not None:
        real["lifted_at"] = at_minute(day.sky, whereabouts.left)
    ring = _ring(day, p) if whereabouts.stage == "on-ring" else None
    if ring is not None and ring.id != p.then_cooker_id:  # it went there unplanned
        real |= {"then_cooker_id": ring.id, "route": "sun+burner", "off_at": p.served_at}
        real["fill"] = f"{p.fill}-ring"
    return changed(p, **real)


def _whereabouts(day: Day, diary: DiaryIndex, first: Placement, now: int) -> Whereabouts:
    """Return where a load is; if nobody pressed, we assume the plan was followed."""
    if first.id in diary.to_ring:
        return Whereabouts("on-ring", diary.to_ring[first.id])
    left = diary.lifted.get(first.id)
    planned = minute_of(day.sky, first.lifted_at)
    if left is None and now < planned:
        return Whereabouts("cooking", None)
    left = planned if left is None else left
    second = _second_cooker(day, first)
    if second is None or not second.on_gas:
        return Whereabouts("lifted", left)
    off = minute_of(day.sky, first.off_at) if first.off_at else now
    return Whereabouts("on-ring" if now < off else "lifted", left)
