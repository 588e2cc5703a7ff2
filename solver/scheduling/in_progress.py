"""Planning again: columns of loads already in progress, and the batches not yet loaded."""

from __future__ import annotations

import copy
import dataclasses
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from events.model import Cooker, Dish
from events.table import changed
from solver.notices import Refusal
from solver.plan import Placement
from solver.policy import SLOT_MIN, gas_steps, miss_steps
from solver.scheduling.batches import Batch, Batches, split
from solver.scheduling.columns import (
    Candidate,
    Second,
    heat_ends,
    make_column,
    ring_off,
    second_is_usable,
)
from solver.scheduling.pricing import Costs, costs_of, missed_fraction
from solver.scheduling.timed_load import TimedLoad, comes_hot, insulated_boxes, timed_load
from solver.scheduling.two_stage import RING_LONGER_MIN
from solver.simulation.clock import ceil_to_slot, next_slot_min
from solver.simulation.day import Day
from solver.simulation.day_state import LoadInProgress, ReplanState
from solver.simulation.holding import is_warmed_again
from solver.simulation.run import advance
from solver.simulation.transfer import (
    finish,
    part_of,
    put_down,
    some_pots,
    taken_out,
    together,
)
from solver.solar.irradiance import minute_of

RING_STEP_MIN = 15
LATEST_MIN = 120  # a pot that begins to be this late is not waited for
BY_POT = ("expected_min", "fast_min", "cautious_min", "hot_min", "clock_min", "peak_c", "draws_min")


@dataclass(frozen=True)
class Started:
    """What planning again goes on from; all empty in the morning but `uncut`."""

    candidates: tuple[Candidate, ...]  # of loads in progress
    waiting: tuple[Batches, ...]  # not loaded yet, as they were cut, or as they could be
    uncut: tuple[Dish, ...]  # dishes of which the plan before has nothing
    splits: Mapping[str, Batches] = field(default_factory=dict)
    alternatives: Mapping[str, Batches] = field(default_factory=dict)
    refusals: Mapping[str, Mapping[str, Refusal]] = field(default_factory=dict)
    begun_dishes: frozenset[str] = frozenset()


@dataclass(frozen=True)
class _Cut:
    """A dish as the plan before cut it."""

    batches: Batches  # not eaten: what is in progress or waits
    waiting: tuple[Batches, ...]
    alternative: Batches | None


def started_loads(day: Day) -> Started:
    """Return the candidates of loads in progress, and what waits as it was cut."""
    replan = day.replan
    if replan is None:
        return Started((), (), day.event.dishes)
    before: dict[str, list[Placement]] = {}
    for p in sorted(replan.plan.placements, key=lambda p: p.id):
        before.setdefault(p.dish_id, []).append(p)
    cuts = {d.id: _as_cut(day, replan, d, before[d.id]) for d in day.event.dishes if d.id in before}
    batches = {b.id: b for cut in cuts.values() for b in cut.batches}
    candidates: list[Candidate] = []
    refusals: dict[str, dict[str, Refusal]] = {dish_id: {} for dish_id in cuts}
    for load in replan.in_progress:
        own = tuple(batches[p.id] for p in load.placements)
        ways = list(_goes_on(day, load, own))
        candidates += ways
        if not ways:
            cooker_id = load.durations.query.cooker.id
            for b in own:
                refusals[b.dish.id][cooker_id] = Refusal(kind="begun-not-done")
    return Started(
        candidates=tuple(candidates),
        waiting=tuple(w for cut in cuts.values() for w in cut.waiting),
        uncut=tuple(d for d in day.event.dishes if d.id not in before),
        splits={dish_id: cut.batches for dish_id, cut in cuts.items()},
        alternatives={d: cut.alternative for d, cut in cuts.items() if cut.alternative},
        refusals=refusals,
        begun_dishes=frozenset(p.dish_id for load in replan.in_progress for p in load.placements),
    )


def _as_cut(day: Day, replan: ReplanState, dish: Dish, placements: Sequence[Placement]) -> _Cut:
    """Return a dish's batches as they were cut, those still cold and warm ones apart."""
    begun = {p.id for load in replan.in_progress for p in load.placements}
    fresh = split(day, dish, placements[0].batches)
    batches: list[Batch] = []
    waiting: list[Batches] = []
    cold: list[Batch] = []
    for p in placements:
        if p.id in replan.finished_ids:
            continue
        batch = dataclasses.replace(fresh[p.batch - 1], id=p.id)
        if p.id in begun:
            batch = dataclasses.replace(
                batch, mass_kg=p.mass_kg, litres=p.litres, portions=p.portions
            )
        elif p.id in replan.warm_c:
            warmer = changed(dish, start_c=replan.warm_c[p.id], load_min=SLOT_MIN)
            batch = dataclasses.replace(batch, dish=warmer)
            waiting.append((batch,))
        else:
            cold.append(batch)
        batches.append(batch)
    waiting += [tuple(cold)] if cold else []
    other = _cut_otherwise(day, dish, placements) if len(cold) == len(placements) else None
    waiting += [other] if other else []
    return _Cut(tuple(batches), tuple(waiting), other)


def _cut_otherwise(day: Day, dish: Dish, placements: Sequence[Placement]) -> Batches | None:
    """Return another split of a dish of which nothing has begun: finer, or back to the first."""
    number, first = placements[0].batches, placements[0].id.endswith("-1")
    number = number + 1 if first else number - 1
    if number > min(dish.batches_max, dish.portions):
        return None
    return split(day, dish, number, other=first)


def _goes_on(day: Day, load: LoadInProgress, batches: Batches) -> Iterator[Candidate]:
    """Yield every way in which a load in progress may go on."""
    if load.stage == "lifted":
        yield _lifted(day, load, batches)
        return
    yield from _stays(day, load, batches)
    if load.stage != "cooking" or not load.durations.query.cooker.on_sun:
        return
    out_of_action = day.replan.unavailable if day.replan else frozenset[str]()
    rings = [c for c in day.event.cookers if c.on_gas and c.id not in out_of_action]
    if len(batches) == 1:
        for ring in rings:
            yield from _to_ring(day, load, batches[0], ring)
    else:
        yield from _parted(day, load, batches, rings)


def _parted(
    day: Day, load: LoadInProgress, batches: Batches, rings: Sequence[Cooker]
) -> Iterator[Candidate]:
    """Yield taking pots out now, onto rings; the others keep the estimate of the full load."""
    on_rings = [
        c
        for n, batch in enumerate(batches)
        for ring in rings
        for c in _to_ring(day, _alone(load, n), batch, ring, latest=next_slot_min(day))
    ]
    yield from on_rings
    if on_rings:
        for size in range(1, len(batches)):
            for which in itertools.combinations(range(len(batches)), size):
                yield from _stays(day, _part(load, which), tuple(batches[n] for n in which))


def _alone(load: LoadInProgress, pot: int) -> LoadInProgress:
    """Return one pot of a load as a load in progress with a name of its own."""
    part = _part(load, (pot,))
    alone = tuple(changed(p, fill=f"{p.fill}-{p.id}") for p in part.placements)
    return dataclasses.replace(part, placements=alone)


def _part(load: LoadInProgress, pots: tuple[int, ...]) -> LoadInProgress:
    """Return some pots of a load as a load in progress."""
    durations, rows = load.durations, list(pots)
    query = durations.query
    return dataclasses.replace(
        load,
        placements=tuple(load.placements[n] for n in pots),
        durations=dataclasses.replace(
            durations,
            query=dataclasses.replace(query, load=part_of(query.load, pots)),
            **{k: getattr(durations, k)[rows] for k in BY_POT},
        ),
        state=some_pots(load.state, pots),
        clock_min=tuple(load.clock_min[n] for n in pots),
        curves=tuple(load.curves[n] for n in pots),
    )


def _lifted(day: Day, load: LoadInProgress, batches: Batches) -> Candidate:
    """Return the one way of a load that was lifted: it waits to be served."""
    left = minute_of(day.sky, load.placements[0].lifted_at)
    serve = max(ceil_to_slot(left), *(b.serve_minute for b in batches))
    batches = tuple(dataclasses.replace(b, serve_minute=serve) for b in batches)
    took = np.full_like(load.durations.expected_min, left - int(load.durations.query.starts[0]))
    durations = dataclasses.replace(
        load.durations, expected_min=took, cautious_min=took, draws_min=None
    )
    timed = timed_load(batches, durations, 0)
    slot = next_slot_min(day) // SLOT_MIN
    column = dataclasses.replace(
        make_column(day, timed, lift=serve, costs=Costs()),
        needs=(),
        occupies=(slot, slot),
        watched=None,
        changed=0,
        work_min=0,
        gas_min=0,
        missed=0,  # its gas is burnt
        lift_slot=left // SLOT_MIN,
    )
    lifted = dataclasses.replace(load, durations=durations)
    return Candidate(column, timed, in_progress=lifted)


def _served_at(load: TimedLoad, serve: int) -> TimedLoad:
    """Return a load served at a minute of the day; its serving takes as long as before."""
    batches = tuple(
        dataclasses.replace(b, serve_minute=serve, serve_end=b.serve_end + serve - b.serve_minute)
        for b in load.batches
    )
    return dataclasses.replace(load, batches=batches)


def _served_together(load: TimedLoad) -> TimedLoad:
    """Return a load served late where it must be, all of it at once."""
    ready = max(
        ceil_to_slot(done + b.dish.rest_min)
        for b, done in zip(load.batches, load.done, strict=True)
    )
    return _served_at(load, max(ready, *(b.serve_minute for b in load.batches)))


def _goes(
    day: Day,
    load: LoadInProgress,
    timed: TimedLoad,
    *,
    lift: int,
    second: Second | None = None,
) -> Iterator[Candidate]:
    """Yield one way to go on with a load; its work is only what is still to come."""
    replan, first = day.replan, next_slot_min(day)
    served = _served_together(timed)
    over = sum(
        late.serve_minute - b.serve_minute
        for late, b in zip(served.batches, timed.batches, strict=True)
    )
    if replan is None or lift < first or over > LATEST_MIN * len(timed.batches):
        return
    if not second_is_usable(day, second, lift):
        return
    ends = heat_ends(timed, lift, second)
    costs = costs_of(day, timed, ends)
    unsafe = [n for n in range(len(timed.batches)) if is_warmed_again(day, load, n, lift)]
    lost = sum(miss_steps(1.0) - miss_steps(missed_fraction(day, timed, n, ends)) for n in unsafe)
    costs = dataclasses.replace(costs, missed=costs.missed + lost)
    column = make_column(day, served, lift=lift, second=second, costs=costs)
    gas_min = column.gas_min
    if load.stage == "on-ring":
        gas_min = lift - minute_of(day.sky, load.placements[0].lifted_at)
    column = dataclasses.replace(
        column,
        cooker_id=replan.representatives[column.cooker_id],
        needs=tuple(n for n in column.needs if n.slot * SLOT_MIN >= first),
        occupies=(first // SLOT_MIN, lift // SLOT_MIN),
        gas_min=gas_min,
        missed=costs.missed + gas_steps(gas_min, day.event.gas_price_dishes_h),
    )
    yield Candidate(column, served, second.cooker if second else None, load)


def _stays(day: Day, load: LoadInProgress, batches: Batches) -> Iterator[Candidate]:
    """Yield leaving a load where it is until it is served, or until it is done."""
    if not np.isfinite(load.durations.expected_min).all():
        return
    timed = timed_load(batches, load.durations, 0)
    served = _served_together(timed)
    first, slow = next_slot_min(day), timed.cautious()
    lifts = {max(slow if slow <= served.rested_by else max(timed.done), first)}
    planned = minute_of(day.sky, load.placements[0].lifted_at)
    if planned >= max(*timed.done, first):
        lifts.add(planned)  # what was planned stays possible, however sure it is by now
    if not timed.burns_if_left:
        # What was planned to be served out of its cooker stays in it.
        yield from _goes(day, load, timed, lift=max(served.rested_by, planned, first))
    for lift in sorted(at for at in lifts if at < served.rested_by):
        if comes_hot(day, served, lift=lift):
            yield from _goes(day, load, timed, lift=lift)
        elif timed.cooker.on_sun:
            for hay in insulated_boxes(day, served):
                if comes_hot(day, served, lift=lift, hay=hay):
                    second = Second(hay, served.serve_end)
                    yield from _goes(day, load, timed, lift=lift, second=second)


def _to_ring(
    day: Day, load: LoadInProgress, batch: Batch, ring: Cooker, *, latest: int | None = None
) -> Iterator[Candidate]:
    """Yield moving a pot to a ring: now, or later (until `latest`) while it goes on where it is."""
    durations = load.durations
    pot = durations.query.load.pots[0]
    if (
        ring.kind not in pot.fits
        or batch.litres > ring.litres
        or ring.kind not in batch.dish.kinds
        or batch.dish.needs_body_c is not None
    ):
        return
    start = int(durations.query.starts[0])
    usual = start + float(durations.expected_min[0, 0])
    # Where it stands it is done by `usual`: it is moved before.
    until = min(batch.serve_minute, usual, math.inf if latest is None else latest + 1)
    minutes = range(next_slot_min(day), math.ceil(until), RING_STEP_MIN)
    ends = _on_ring(day, load, ring, minutes, last=batch.serve_minute + LATEST_MIN)
    for minute, (slow_at, usual_at, clock_min) in zip(minutes, ends, strict=True):
        if not np.isfinite(usual_at):
            continue
        usual_min = usual_at - start
        slow_min = max(slow_at - start + SLOT_MIN, usual_min)
        moved = dataclasses.replace(
            durations,
            expected_min=np.asarray([[usual_min]]),
            fast_min=np.asarray([[usual_min]]),
            cautious_min=np.asarray([[slow_min]]),
            clock_min=np.asarray([[clock_min + load.placements[0].spent_min]]),
            hot_min=np.minimum(durations.hot_min, usual_min),
            draws_min=None,
        )
        timed = timed_load((batch,), moved, 0)
        # It stays until it is done on a poor day too, or is served.
        sure = ceil_to_slot(min(slow_at, batch.serve_minute - batch.dish.rest_min))
        ready = ceil_to_slot(usual_at) + RING_LONGER_MIN
        ready = max(ready, sure, minute + 2 * SLOT_MIN)
        serve = max(batch.serve_minute, ceil_to_slot(ready + batch.dish.rest_min))
        off = ring_off(day, _served_at(timed, serve), ready)
        yield from _goes(day, load, timed, lift=minute, second=Second(ring, off))


def _on_ring(
    day: Day, load: LoadInProgress, ring: Cooker, minutes: Sequence[int], *, last: int
) -> list[tuple[float, float, float]]:
    """Return what comes of a lone pot put on a ring at each of some minutes, until `last`.

    That is when it is done, weak and expected (minutes of the day, inf for never), and the expected
    minutes between 5 and 60 °C until then.
    """
    state, members = copy.deepcopy(load.state), np.asarray([0, 1])
    taken = []
    for minute in minutes:
        advance(state, day.forcing, until=np.full(3, float(minute)), boil_c=day.boil_c)
        out = taken_out(state, members)
        taken.append(dataclasses.replace(out, lifted=np.full(2, float(minute))))
    if not taken:
        return []
    owner = np.zeros(2 * len(minutes), dtype=np.int64)
    after = put_down(day, together(taken), [(ring, load.durations.query.load)], owner)
    until = np.full(owner.size, float(last))
    end = finish(after, day.forcing, until=until, boil_c=day.boil_c, cools=False)
    weak, expected, clock_min = end.done[::2], end.done[1::2], end.clock_min[1::2]
    return [*zip(weak.tolist(), expected.tolist(), clock_min.tolist(), strict=True)]
