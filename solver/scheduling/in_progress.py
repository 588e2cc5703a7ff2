"""What had begun when a day is planned again, and the pots that still wait as they were cut."""

from __future__ import annotations

import copy
import dataclasses
import itertools

import numpy as np

from events.model import Cooker, Dish, changed
from solver.policy import SLOT_MIN
from solver.scheduling.batches import (
    Batch,
    ceil_to_slot,
    hot_when_insulated,
    hot_when_standing,
    split,
)
from solver.scheduling.columns import Candidate, CandidateSet, costs_of, make_column
from solver.simulation.day_state import LoadInProgress, ReplanState
from solver.simulation.durations import Day
from solver.simulation.query import DurationEstimate
from solver.simulation.transfer import (
    advance,
    finish,
    part_of,
    some_pots,
    transfer,
)
from solver.solar.irradiance import minute_of

RING_STEP_MIN = 15
BY_POT = ("expected_min", "fast_min", "cautious_min", "hot_min", "clock_min", "peak_c")
LATEST_MIN = 120  # a pot that begins to be this late is not waited for


Asked = list[tuple[Dish, tuple[Batch, ...]]]


def add_in_progress(day: Day, since: ReplanState, found: CandidateSet) -> tuple[Asked, list[Dish]]:
    """Add the columns of what has begun; return what waits as it was cut, and all other dishes."""
    begun = {p.id: b for b in since.in_progress for p in b.placements}
    asked: Asked = []
    waiting: list[Dish] = []
    batches: dict[str, Batch] = {}
    for dish in day.event.dishes:
        mine = sorted(
            (p for p in since.plan.placements if p.dish_id == dish.id), key=lambda p: p.id
        )
        if not mine:
            waiting.append(dish)
            continue
        fresh = split(day, dish, mine[0].batches)
        found.reasons[dish.id] = {}
        cold = []
        for p in mine:
            if p.id in since.finished_ids:
                continue
            batch = dataclasses.replace(fresh[p.batch - 1], id=p.id)
            if p.id in begun:
                batch = dataclasses.replace(
                    batch, mass_kg=p.mass_kg, litres=p.litres, portions=p.portions
                )
            elif p.id in since.warm_c:
                warmer = changed(dish, start_c=since.warm_c[p.id], load_min=SLOT_MIN)
                batch = dataclasses.replace(batch, dish=warmer)
                asked.append((warmer, (batch,)))
            else:
                cold.append(batch)
            batches[p.id] = batch
        if cold:
            asked.append((dish, tuple(cold)))
        if len(cold) == len(mine):
            # Nothing of it has begun: it may be cut otherwise too.
            number, first = mine[0].batches, mine[0].id.endswith("-1")
            number = number + 1 if first else number - 1
            if number <= min(dish.batches_max, dish.portions):
                found.also[dish.id] = split(day, dish, number, other=first)
                asked.append((dish, found.also[dish.id]))
        found.batches[dish.id] = tuple(batches[p.id] for p in mine if p.id in batches)
    for one in since.in_progress:
        _add_begun(day, since, one, tuple(batches[p.id] for p in one.placements), found)
    return asked, waiting


def _add_begun(
    day: Day,
    since: ReplanState,
    begun: LoadInProgress,
    batches: tuple[Batch, ...],
    found: CandidateSet,
) -> None:
    if begun.stage == "lifted":
        _add_lifted(day, since, begun, batches, found)
        return
    made = _stay(day, since, begun, batches, found)
    on_sun = begun.durations.ask.cooker.on_sun
    rings = [c for c in day.event.cookers if c.on_gas and c.id not in since.unavailable]
    if begun.stage == "cooking" and on_sun and len(batches) == 1:
        for ring in rings:
            made += _to_ring(day, since, begun, batches[0], ring, found)
    elif begun.stage == "cooking" and on_sun:
        made += _part(day, since, begun, batches, rings, found)
    if not made:
        for b in batches:
            found.reasons[b.dish.id][begun.durations.ask.cooker.id] = (
                "has begun, but is not done in time where it stands, and no ring can finish it"
            )


def _part(
    day: Day,
    since: ReplanState,
    begun: LoadInProgress,
    batches: tuple[Batch, ...],
    rings: list[Cooker],
    found: CandidateSet,
) -> int:
    """Add taking any of a load's pots out now, onto rings; the others are told as if all stayed."""
    made = 0
    for n, batch in enumerate(batches):
        one = _some(begun, (n,))
        alone = tuple(changed(p, fill=f"{p.fill}-{p.id}") for p in one.placements)
        one = dataclasses.replace(one, placements=alone)
        for ring in rings:
            made += _to_ring(
                day, since, one, batch, ring, found, latest=ceil_to_slot(since.minute + 1)
            )
    if made:
        for size in range(1, len(batches)):
            for which in itertools.combinations(range(len(batches)), size):
                some = tuple(batches[n] for n in which)
                _stay(day, since, _some(begun, which), some, found)
    return made


def _some(begun: LoadInProgress, which: tuple[int, ...]) -> LoadInProgress:
    """Return some of a load's pots as a load that had begun."""
    told, rows = begun.durations, list(which)
    return dataclasses.replace(
        begun,
        placements=tuple(begun.placements[n] for n in which),
        durations=dataclasses.replace(
            told,
            ask=dataclasses.replace(told.ask, load=part_of(told.ask.load, which)),
            **{k: getattr(told, k)[rows] for k in BY_POT},
        ),
        state=some_pots(begun.state, which),
        clock_min=tuple(begun.clock_min[n] for n in which),
        curves=tuple(begun.curves[n] for n in which),
    )


def _add_lifted(
    day: Day,
    since: ReplanState,
    begun: LoadInProgress,
    batches: tuple[Batch, ...],
    found: CandidateSet,
) -> None:
    left = minute_of(day.sky, begun.placements[0].lifted_at)
    serve = max(ceil_to_slot(left), *(b.serve_minute for b in batches))
    batches = tuple(dataclasses.replace(b, serve_minute=serve) for b in batches)
    took = np.full_like(begun.durations.expected_min, left - int(begun.durations.ask.starts[0]))
    begun = dataclasses.replace(
        begun, durations=dataclasses.replace(begun.durations, expected_min=took, cautious_min=took)
    )
    column = make_column(day, batches, begun.durations, 0, lift=serve, then=None, costs=(0, 0, 0))
    slot = ceil_to_slot(since.minute + 1) // SLOT_MIN
    column = dataclasses.replace(
        column,
        needs=(),
        occupies=(slot, slot),
        watched=None,
        changed=0,
        work_min=0,
        gas_min=0,
        lift_slot=minute_of(day.sky, begun.placements[0].lifted_at) // SLOT_MIN,
    )
    found.ways.append(Candidate(column, begun.durations, 0, batches, begun))


def _late(batches: tuple[Batch, ...], done: list[int]) -> tuple[Batch, ...]:
    """Return the batches, served later, together, where they can't be ready as promised."""
    ready = max(ceil_to_slot(d + b.dish.rest_min) for b, d in zip(batches, done, strict=True))
    return tuple(dataclasses.replace(b, serve_minute=max(b.serve_minute, ready)) for b in batches)


def _put(
    day: Day,
    since: ReplanState,
    begun: LoadInProgress,
    told: DurationEstimate,
    batches: tuple[Batch, ...],
    found: CandidateSet,
    *,
    lift: int,
    then: tuple[Cooker, int] | None,
) -> int:
    """Add one way to go on with a load; its work is only what is still to come."""
    first = ceil_to_slot(since.minute + 1)
    if lift < first:
        return 0
    done = [ceil_to_slot(int(told.ask.starts[0]) + m) for m in told.expected_min[:, 0]]
    costs = costs_of(day, batches, told, 0, done)
    over = sum(
        max(0, late.serve_minute - b.serve_minute)
        for late, b in zip(_late(batches, done), batches, strict=True)
    )
    if over > LATEST_MIN * len(batches):
        return 0
    served = _late(batches, done)
    column = make_column(
        day, served, told, 0, lift=lift, then=then, costs=(costs[0], costs[1], costs[2])
    )
    slot = first // SLOT_MIN
    column = dataclasses.replace(
        column,
        cooker_id=since.representatives[column.cooker_id],
        needs=tuple(n for n in column.needs if n.slot * SLOT_MIN >= first),
        occupies=(slot, lift // SLOT_MIN),
        gas_min=lift - minute_of(day.sky, begun.placements[0].lifted_at)
        if begun.stage == "on-ring"
        else column.gas_min,
    )
    found.ways.append(Candidate(column, told, 0, served, begun, then[0] if then else None))
    return 1


def _stay(
    day: Day,
    since: ReplanState,
    begun: LoadInProgress,
    batches: tuple[Batch, ...],
    found: CandidateSet,
) -> int:
    told = begun.durations
    if not np.isfinite(told.expected_min).all():
        return 0
    start = int(told.ask.starts[0])
    done = [ceil_to_slot(start + m) for m in told.expected_min[:, 0]]
    served = _late(batches, done)
    serve = max(b.serve_minute for b in served)
    served = tuple(dataclasses.replace(b, serve_minute=serve) for b in served)
    keep = serve - max(ceil_to_slot(b.dish.rest_min) for b in served)
    first = ceil_to_slot(since.minute + 1)
    slow = float(told.cautious_min[:, 0].max())
    out = (
        ceil_to_slot(start + slow)
        if np.isfinite(slow) and ceil_to_slot(start + slow) <= keep
        else max(done)
    )
    out = max(out, first)
    made = 0
    if not any(b.dish.done_mode.burns_if_left for b in batches):
        made += _put(day, since, begun, told, batches, found, lift=max(keep, first), then=None)
    if out < keep:
        pots = zip(served, told.ask.load.pots, strict=True)
        if all(hot_when_standing(day, b, pot, serve - out) for b, pot in pots):
            made += _put(day, since, begun, told, batches, found, lift=out, then=None)
        elif told.ask.cooker.on_sun:
            for hay in day.event.cookers:
                if not hay.keeps_heat_only or not all(
                    hay.kind in p.fits for p in told.ask.load.pots
                ):
                    continue
                if all(
                    b.litres <= hay.litres and hot_when_insulated(day, b, hay, serve - out)
                    for b in served
                ):
                    made += _put(
                        day, since, begun, told, batches, found, lift=out, then=(hay, serve)
                    )
    return made


def _to_ring(
    day: Day,
    since: ReplanState,
    begun: LoadInProgress,
    batch: Batch,
    ring: Cooker,
    found: CandidateSet,
    *,
    latest: int | None = None,
) -> int:
    """Add moving a pot to a ring: now, or later (until `latest`) while it goes on where it is."""
    told, made = begun.durations, 0
    pot = told.ask.load.pots[0]
    if (
        ring.kind not in pot.fits
        or batch.litres > ring.litres
        or ring.kind not in batch.dish.kinds
        or batch.dish.needs_body_c is not None
    ):
        return 0
    start = int(told.ask.starts[0])
    usual = start + float(told.expected_min[0, 0])
    state = copy.deepcopy(begun.state)
    for mark in range(ceil_to_slot(since.minute + 1), batch.serve_minute, RING_STEP_MIN):
        if mark >= min(usual, np.inf if latest is None else latest + 1):
            break  # it is done by then where it stands
        advance(state, day.forcing, until=np.full(3, float(mark)), boil_c=day.boil_c)
        lifted = np.full(2, float(mark))
        after = transfer(day, state, told.ask.load, ring, which=np.asarray([0, 1]), lifted=lifted)
        last = np.full(2, float(batch.serve_minute + LATEST_MIN))
        end = finish(after, day.forcing, until=last, boil_c=day.boil_c)
        if not np.isfinite(end.done[1]):
            continue
        slow = float(end.done[0]) - start + SLOT_MIN
        fresh = dataclasses.replace(
            told,
            expected_min=np.asarray([[end.done[1] - start]]),
            fast_min=np.asarray([[end.done[1] - start]]),
            cautious_min=np.asarray([[max(slow, end.done[1] - start)]]),
            clock_min=np.asarray([[end.clock_min[1]]]),
            hot_min=np.minimum(told.hot_min, end.done[1] - start),
        )
        ready = max(ceil_to_slot(float(end.done[1])), mark + 2 * SLOT_MIN)
        serve = max(batch.serve_minute, ceil_to_slot(ready + batch.dish.rest_min))
        off = ready if hot_when_standing(day, batch, pot, serve - ready) else serve
        made += _put(day, since, begun, fresh, (batch,), found, lift=mark, then=(ring, off))
    return made
