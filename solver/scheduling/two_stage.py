"""Routes in two stages: a pot leaves the sun before it is done, and is finished elsewhere.

In an insulated box it goes on cooking by its own heat (a quarter of an hour at the boil in a
mirror, and the mirror is free); on a gas ring it is finished when the sun was not enough. Both
stages are run with the same heat balance; moving takes five minutes in the open, lid on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from events.model import Cooker
from solver.policy import HOLD_SPARE_K, SLOT_MIN
from solver.simulation.clock import ceil_to_slot, usable_hours
from solver.simulation.day import DRAWS, Day, each_loaded
from solver.simulation.durations import LATE_HANDS_MIN, LATER_MIN, drawn_loads
from solver.simulation.holding import hot_holding_c
from solver.simulation.query import DurationEstimate, DurationQuery
from solver.simulation.run import select
from solver.simulation.transfer import (
    MOVE_MIN,
    STEP_S,
    Finish,
    Taken,
    finish,
    put_down,
    taken_out,
    together,
)
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Ensemble, Ints

ROUND_MIN = 15  # pots are moved on this grain
ROUNDS = 16
STARTS_MIN = 30  # starts are thinned to this grain
BOILS_WITHIN_C = 4.0  # a pot goes into the insulated box only when it is this near the boil
RING_SPARE_MIN = 15  # a ring finishes this long before it must: the sun may do less (judgement)
RING_LONGER_MIN = SLOT_MIN  # a pot stays on a ring beyond done: the sun before may do less
POOR = 0.6  # where the sun alone is never sure: a poor day's strength (judgement)


@dataclass(frozen=True)
class TwoStageLoad:
    """A lone pot that is moved on: durations from its loading, when it leaves which cooker.

    It is for the batches that are served at one minute: an earlier wave's is moved sooner.
    """

    serve: int
    first: DurationEstimate  # of the same pot, left where it is
    durations: DurationEstimate
    second: Cooker
    lift: Ints  # by start
    off: Ints
    coldest_c: Array  # from done to the last plate, in an insulated box


@dataclass(frozen=True)
class _Choice:
    """Which of the moves are to be chosen from: of the members from `first` on, for one wave."""

    moves: _Moves
    first: int
    serve: int


@dataclass(frozen=True)
class _Moves:
    """Every pot of a group moved on at every moment that makes sense; one entry a move."""

    member: Ints  # of the group's ensemble on the sun: usual strength, then poor, by start
    lift: Array
    end: Finish


@dataclass(frozen=True)
class Movable:
    """Equal batches, each alone in its cooker: their estimate, and when some of them are served."""

    durations: DurationEstimate
    serves: tuple[int, ...]


def two_stage_loads(
    day: Day, pots: Sequence[Movable], *, unsure: frozenset[str]
) -> list[TwoStageLoad]:
    """Return what moving on would give, for lone pots that start on the sun.

    `unsure` are the dishes that the sun alone does not surely get done: only these go to gas.
    """
    movable = [p for p in pots if _may_move(p.durations) and len(p.durations.query.starts)]
    seconds = [c for c in day.event.cookers if not c.on_sun]
    return [
        load
        for second in seconds
        if (fit := [p for p in movable if _fits(p.durations, second, unsure)])
        for load in _through(day, fit, second)
    ]


def _may_move(estimate: DurationEstimate) -> bool:
    query = estimate.query
    dish = query.load.dishes[0]
    return (
        query.cooker.on_sun
        and len(query.load.pots) == 1
        and dish.needs_body_c is None
        and not dish.done_mode.burns_if_left
    )


def _fits(estimate: DurationEstimate, second: Cooker, unsure: frozenset[str]) -> bool:
    load = estimate.query.load
    dish, pot = load.dishes[0], load.pots[0]
    litres = load.masses_kg[0] * dish.litres_per_kg
    if second.kind not in pot.fits or litres > second.litres + 1e-9:
        return False
    return second.keeps_heat_only or (dish.id in unsure and second.kind in dish.kinds)


def _thinned(estimate: DurationEstimate) -> Ints:
    """Return which of the starts are tried, by index."""
    starts, serve = estimate.query.starts, estimate.query.until - LATER_MIN
    return np.flatnonzero((starts % STARTS_MIN == 0) & (starts + ROUND_MIN < serve))


def _poor_strength(estimate: DurationEstimate, index: Ints) -> Array:
    """Return, by start, the strength at which the sun takes the cautious time."""
    usual, slow = estimate.expected_min[0, index], estimate.cautious_min[0, index]
    sure = np.isfinite(usual) & np.isfinite(slow)
    return np.where(sure, np.maximum(usual / np.where(sure, slow, 1.0), POOR), POOR)


def _through(day: Day, pots: list[Movable], second: Cooker) -> Iterator[TwoStageLoad]:
    """Run every start on the sun, and from every fifteen minutes on in the second cooker."""
    estimates = [p.durations for p in pots]
    index = [_thinned(e) for e in estimates]
    owner = np.concatenate([np.full(2 * some.size, k) for k, some in enumerate(index)])
    moves = _moves(day, estimates, index, owner, second)
    if moves is None:
        return
    loads: list[TwoStageLoad] = []
    for k, (estimate, some) in enumerate(zip(estimates, index, strict=True)):
        first = int(np.flatnonzero(owner == k)[0]) if (owner == k).any() else 0
        for serve in pots[k].serves:
            load = _chosen(day, estimate, some, second, _Choice(moves, first, serve))
            if load is not None:
                loads.append(load)
    yield from _on_drawn_days(day, loads)


def _on_drawn_days(day: Day, loads: Sequence[TwoStageLoad]) -> Iterator[TwoStageLoad]:
    """Yield the loads with their minutes to done on drawn days: both stages, and the move."""
    if not loads:
        return
    sizes = [load.durations.query.starts.size for load in loads]
    owner = np.tile(np.repeat(np.arange(len(loads)), sizes), DRAWS)
    sun = drawn_loads(day, [load.durations.query for load in loads])
    column = np.arange(owner.size)
    lifts = np.tile(np.concatenate([load.lift for load in loads]), DRAWS)
    moved: list[Taken] = []
    while column.size:
        heat.step(sun, day.members, dt_s=STEP_S, boil_c=day.boil_c)
        leaves = sun.minute >= lifts[column]
        if leaves.any():
            some = np.flatnonzero(leaves)
            moved.append(taken_out(sun, some, column[some]))
            sun, column = select(sun, ~leaves), column[~leaves]
    taken = together(moved)
    order, seconds = taken.member, [(load.second, load.durations.query.load) for load in loads]
    state = put_down(day, taken, seconds, owner[order])
    row, nth = state.row, order // (owner.size // DRAWS)
    state.strength, state.loss = day.member_strength[nth, row], day.member_loss[nth, row]
    until = np.asarray([_eaten(load) for load in loads], dtype=np.float64)[owner[order]]
    cools = not all(load.second.on_gas for load in loads)
    end = finish(state, day.forcing, until=until, boil_c=day.boil_c, cools=cools)
    done, coldest_c = np.full(owner.size, np.inf), np.full(owner.size, np.inf)
    done[order], coldest_c[order] = end.done, end.coldest_c
    by_draw = zip(
        *(np.split(a.reshape(DRAWS, -1), np.cumsum(sizes)[:-1], axis=1) for a in (done, coldest_c)),
        strict=True,
    )
    for load, (done_at, cold_c) in zip(loads, by_draw, strict=True):
        yield _with_draws(day, load, done_at, cold_c)


def _eaten(load: TwoStageLoad) -> int:
    query = load.first.query
    return max(query.until - LATER_MIN, query.last_plate)


def _with_draws(day: Day, load: TwoStageLoad, done_at: Array, coldest_c: Array) -> TwoStageLoad:
    """Return a load with its minutes to done by draw and start; what goes cold never is.

    A ring keeps its pot until nearly all drawn days have it done, or it is served.
    """
    query, on_ring = load.durations.query, load.second.on_gas
    dish = query.load.dishes[0]
    if not on_ring:
        done_at = np.where(coldest_c >= hot_holding_c(day, dish), done_at, np.inf)
    took_min = done_at - query.starts
    ordered = np.sort(took_min, axis=0)
    nth = -(-DRAWS * day.event.chance_pct // 100) - 1
    slow_min = np.maximum(ordered[nth] + LATE_HANDS_MIN, load.durations.expected_min[0])
    off = load.off
    if on_ring:
        sure = query.starts + ordered[-1 - DRAWS // 10]
        latest = min(load.serve - dish.rest_min, usable_hours(day, load.second)[1])
        off = np.maximum(off, [ceil_to_slot(min(float(m), latest)) for m in sure])
    return replace(
        load,
        durations=replace(
            load.durations, cautious_min=slow_min[None, :], draws_min=took_min[None, :, :]
        ),
        off=off,
    )


def _on_the_sun(day: Day, estimates: list[DurationEstimate], index: list[Ints]) -> Ensemble:
    """Return each estimate's thinned starts twice: at usual strength, and on a poor day."""
    queries = [estimate.query for estimate in estimates]
    loads = [(query.cooker, query.load) for query in queries]
    starts = [np.tile(query.starts[some], 2) for query, some in zip(queries, index, strict=True)]
    state = each_loaded(day, loads, starts)
    state.strength = np.concatenate(
        [
            strength
            for estimate, some in zip(estimates, index, strict=True)
            for strength in (np.ones(some.size), _poor_strength(estimate, some))
        ]
    )
    return state


def _moves(
    day: Day, estimates: list[DurationEstimate], index: list[Ints], owner: Ints, second: Cooker
) -> _Moves | None:
    sun = _on_the_sun(day, estimates, index)
    serve = np.asarray([e.query.until - LATER_MIN for e in estimates], dtype=np.float64)[owner]
    moved: list[Taken] = []
    for n in range(1, ROUNDS + 1):
        for _ in range(int(ROUND_MIN * 60 / STEP_S)):
            heat.step(sun, day.forcing, dt_s=STEP_S, boil_c=day.boil_c)
        ready = sun.minute + MOVE_MIN < serve
        if second.keeps_heat_only:
            ready &= sun.pot_c[0] >= day.boil_c - BOILS_WITHIN_C
        elif n % 2:
            continue
        moved.append(taken_out(sun, np.flatnonzero(ready)))
    taken = together(moved)
    member = taken.member
    if not member.size:
        return None
    seconds = [(second, estimate.query.load) for estimate in estimates]
    state = put_down(day, taken, seconds, owner[member])
    lift = state.minute - MOVE_MIN
    eaten = np.asarray([max(e.query.last_plate, 0) for e in estimates], dtype=np.float64)[owner]
    until = np.maximum(serve, eaten)[member]
    end = finish(state, day.forcing, until=until, boil_c=day.boil_c, cools=not second.on_gas)
    return _Moves(member, lift, end)


@dataclass(frozen=True)
class _BestMove:
    """For one start the best time to move, and what comes of it; minutes of the day or from it."""

    start: int  # its number
    usual_min: float
    cautious_min: float
    clock_min: float
    lift: int
    off: int
    coldest_c: float


def _chosen(
    day: Day,
    estimate: DurationEstimate,
    index: Ints,
    second: Cooker,
    choice: _Choice,
) -> TwoStageLoad | None:
    """Choose for each start when to move, and return what is then known of the load."""
    query = estimate.query
    best = list(_best_moves(day, estimate, index, second, choice))
    if not best:
        return None
    some = np.asarray([m.start for m in best])
    expected = np.asarray([m.usual_min for m in best])
    durations = DurationEstimate(
        DurationQuery(query.cooker, query.load, query.starts[some], query.until),
        expected_min=expected[None, :],
        fast_min=np.minimum(expected, estimate.fast_min[:, some]),
        cautious_min=np.asarray([m.cautious_min for m in best])[None, :],
        hot_min=np.minimum(estimate.hot_min[:, some], expected[None, :]),
        clock_min=np.asarray([m.clock_min for m in best])[None, :],
        peak_c=estimate.peak_c[:, some],
        body_peak_c=estimate.body_peak_c[some],
    )
    return TwoStageLoad(
        choice.serve,
        estimate,
        durations,
        second,
        np.asarray([m.lift for m in best], dtype=np.int64),
        np.asarray([m.off for m in best], dtype=np.int64),
        np.asarray([m.coldest_c for m in best]),
    )


def _best_moves(
    day: Day, estimate: DurationEstimate, index: Ints, second: Cooker, choice: _Choice
) -> Iterator[_BestMove]:
    """Yield for each start the best move: the soonest into the box, the latest onto the ring."""
    query, dish = estimate.query, estimate.query.load.dishes[0]
    moves, first, serve = choice.moves, choice.first, choice.serve
    on_ring = second.on_gas
    hot_c = hot_holding_c(day, dish) + HOLD_SPARE_K
    done = moves.end.done
    longer_min = RING_LONGER_MIN if on_ring else 0
    opens, closes = usable_hours(day, second)

    def in_time(move: np.int64, spare_min: int = 0) -> bool:
        ready = ceil_to_slot(float(done[move])) + longer_min
        late = ready + dish.rest_min + max(spare_min - longer_min, 0) > serve
        return not late and (not on_ring or ready <= closes)

    for n, k in enumerate(index):
        usual = {moves.lift[j]: j for j in np.flatnonzero(moves.member == first + n)}
        poor = {moves.lift[j]: j for j in np.flatnonzero(moves.member == first + index.size + n)}
        good = [
            at
            for at, j in usual.items()
            if in_time(j)
            and (not on_ring or at >= opens)
            and (done[j] > at + MOVE_MIN if on_ring else moves.end.coldest_c[j] >= hot_c)
        ]
        spare_min = RING_SPARE_MIN if on_ring else 0
        sure = [at for at in good if at in poor and in_time(poor[at], spare_min)]
        sure = sure or [at for at in good if at in poor and in_time(poor[at])]
        if not good:
            continue
        at = max(sure or good) if on_ring else min(sure or good)
        start, j = float(query.starts[k]), usual[at]
        usual_min = float(done[j] - start)
        slow = float(done[poor[at]] - start + LATE_HANDS_MIN) if at in poor else np.inf
        ready = ceil_to_slot(float(done[j])) + longer_min
        yield _BestMove(
            start=int(k),
            usual_min=usual_min,
            cautious_min=max(usual_min, slow),
            clock_min=float(moves.end.clock_min[j]),
            lift=int(at),
            off=max(ready, int(at) + 2 * SLOT_MIN) if on_ring else serve,
            coldest_c=float(moves.end.coldest_c[j]),
        )
