"""Every way a batch could be cooked: the candidates that the timetable chooses from, and why-nots.

Stages, each a function of those before: what is in progress, first splits, finer splits, moves to
a second cooker, joint loads of boxes.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from events.food_rules import rules_of
from events.model import Cooker, Dish, Pot
from solver import deadline
from solver.notices import Refusal
from solver.policy import SLOT_MIN
from solver.scheduling.batches import (
    Batch,
    Batches,
    may_share,
    smallest_pot,
    split,
)
from solver.scheduling.columns import (
    Candidate,
    candidates_of,
    renamed,
    two_stage_candidates,
)
from solver.scheduling.in_progress import Started, started_loads
from solver.scheduling.queries import queries_of, start_step_min, starts_of
from solver.scheduling.timed_load import (
    in_time,
)
from solver.scheduling.two_stage import Movable, TwoStageLoad, two_stage_loads
from solver.scheduling.why_not import nearest, why_not
from solver.simulation.day import Day
from solver.simulation.durations import estimate
from solver.simulation.query import DurationEstimate, DurationQuery
from solver.thermal.energy_balance import Array, Bools, Load

SURE_BELOW = 2  # steps of expected misses: 6 of 100
FILL_STEP_MIN = 15
FILL_MOST = 3  # batches put into a box together
FELLOWS_MOST = 40  # sets tried in one box for one meal: with 30 no level lost on ten questions
SMALLER_HELPS = {
    "no-pot",
    "pots-too-small",
    "never-done",
    "too-late",
    "too-long-warm",
    "closes-first",
}
Refusals = Mapping[str, Mapping[str, Refusal]]  # by dish and cooker


@dataclass(frozen=True)
class LonePots:
    """Equal batches, each alone in its cooker, and the estimate that holds for each of them."""

    batches: Batches
    durations: DurationEstimate


@dataclass(frozen=True)
class CandidateSet:
    """All candidates, how dishes are cut for them, and by dish and cooker why there is none."""

    candidates: tuple[Candidate, ...] = ()
    lone_pots: tuple[LonePots, ...] = ()
    splits: Mapping[str, Batches] = field(default_factory=dict)
    alternatives: Mapping[str, Batches] = field(default_factory=dict)  # finer splits
    refusals: Refusals = field(default_factory=dict)
    complete: bool = True  # False where a deadline came: better ways may exist

    def placeable(self) -> frozenset[str]:
        """Return the dishes that some candidate places."""
        return frozenset(c.batches[0].dish.id for c in self.candidates)


def enumerate_candidates(day: Day) -> CandidateSet:
    """Return every way to cook every dish; a dish is cut smaller until it can be cooked.

    Where a deadline is over, the ways found so far: the first splits always.
    """
    cut = first = _first_splits(day, started_loads(day))
    unsure = frozenset(d.id for d in day.event.dishes) - _sure(first.candidates)
    moved: list[Candidate] = []
    joint: list[Candidate] = []
    if not deadline.is_over():
        cut = _with_finer_splits(day, first, unsure)
    if not deadline.is_over():
        moved.extend(_moved_on(day, cut.lone_pots, unsure))
    if not deadline.is_over():
        finer = {b.id for batches in cut.alternatives.values() for b in batches}
        joint.extend(_joint_loads(day, cut.candidates, without=finer))  # else far too many
    return CandidateSet(
        (*cut.candidates, *moved, *joint),
        cut.lone_pots,
        cut.splits,
        cut.alternatives,
        _for_whole_pools(day, cut.refusals),
        complete=not deadline.is_over(),
    )


def _sure(candidates: Iterable[Candidate]) -> frozenset[str]:
    """Return the dishes that the sun gets done as promised on nearly every drawn day."""
    return frozenset(
        c.batches[0].dish.id
        for c in candidates
        if c.column.missed < SURE_BELOW and not c.column.gas_min
    )


def _for_whole_pools(day: Day, refusals: Refusals) -> Refusals:
    """Return refusals for every member of a pool: its first cooker speaks for all."""
    return {
        dish_id: {
            member: by_cooker[pool]
            for pool, members in day.pools.items()
            if pool in by_cooker
            for member in members
        }
        for dish_id, by_cooker in refusals.items()
    }


def _first_splits(day: Day, started: Started) -> CandidateSet:
    """Cut each dish in as few batches as some pot and cooker can take and get done."""
    splits: dict[str, Batches] = dict(started.splits)
    pots = _lone_pots(day, started.waiting, _rivals(day, splits))
    candidates = [*started.candidates, *pots.candidates]
    lone_pots = [*pots.lone_pots]
    refusals = {d: dict(by_cooker) for d, by_cooker in started.refusals.items()}
    for dish_id, by_cooker in pots.refusals.items():
        refusals.setdefault(dish_id, {}).update(by_cooker)
    placed = {b.dish.id for c in candidates for b in c.batches}
    waiting = [*started.uncut]
    # A dish that can't be cooked as it was cut, and has not begun, is cut anew.
    waiting += {
        b[0].dish.id: b[0].dish
        for b in started.waiting
        if b[0].dish.id not in placed | started.begun_dishes
    }.values()
    tried: dict[str, list[tuple[Mapping[str, Refusal], Batches]]] = {}
    number = 0
    while waiting:
        number += 1
        splits |= {d.id: split(day, d, number + d.batches_least - 1) for d in waiting}
        pots = _lone_pots(day, [splits[d.id] for d in waiting], _rivals(day, splits))
        candidates += pots.candidates
        lone_pots += pots.lone_pots
        refusals |= {d.id: dict(pots.refusals[d.id]) for d in waiting}
        for d in waiting:
            tried.setdefault(d.id, []).append((pots.refusals[d.id], splits[d.id]))
        placed = {c.batches[0].dish.id for c in candidates}
        waiting = [
            d
            for d in waiting
            if d.id not in placed
            and len(splits[d.id]) < min(d.batches_max, d.portions)
            and _smaller_helps(pots.refusals[d.id])
        ]
    for dish_id in tried.keys() - placed:
        # A refusal speaks of the smallest batch that was tried: what is said of a larger one may
        # not hold of it.
        why, splits[dish_id] = tried[dish_id][-1]
        refusals[dish_id] = dict(why)
    # A batch of another split has the same name and another mass: it must not be moved on.
    lone_pots = [
        pots
        for pots in lone_pots
        if (dish_id := pots.batches[0].dish.id) not in tried or pots.batches == splits[dish_id]
    ]
    return CandidateSet(tuple(candidates), tuple(lone_pots), splits, started.alternatives, refusals)


def _smaller_helps(refusals: Mapping[str, Refusal]) -> bool:
    """Return whether any refusal is of a kind that a smaller batch could lift."""
    return any(r.kind in SMALLER_HELPS for r in refusals.values())


@dataclass(frozen=True)
class _LonePotStage:
    candidates: tuple[Candidate, ...]
    lone_pots: tuple[LonePots, ...]
    refusals: Refusals


def _lone_pots(day: Day, splits: Sequence[Batches], rivals: Mapping[str, int]) -> _LonePotStage:
    """Return the candidates of lone pots for dishes cut into equal batches."""
    queries: list[tuple[Batches, DurationQuery]] = []
    refusals: dict[str, dict[str, Refusal]] = {}
    for batches in splits:
        asked, refused = queries_of(day, batches, rivals)
        queries += [(batches, query) for query in asked]
        refusals.setdefault(batches[0].dish.id, {}).update(refused)

    def useful(k: int, expected: Array, clock: Array) -> Bools:
        batches, query = queries[k]
        by_batch = [in_time(day, (b,), query.starts, expected, clock) for b in batches]
        return np.asarray(np.any(by_batch, axis=0))

    estimates = estimate(day, [query for _, query in queries], useful)
    lone_pots = [LonePots(batches, e) for (batches, _), e in zip(queries, estimates, strict=True)]
    by_pots = [
        [*_of_each(day, pots.batches, partial(_alone, day, pots.durations))] for pots in lone_pots
    ]
    cooked = {
        (pots.batches[0].dish.id, pots.durations.query.cooker.id)
        for pots, candidates in zip(lone_pots, by_pots, strict=True)
        if candidates
    }
    for pots in lone_pots:
        dish, cooker = pots.batches[0].dish, pots.durations.query.cooker
        if (dish.id, cooker.id) in cooked:
            refusals[dish.id].pop(cooker.id, None)
        else:
            why = why_not(day, pots.batches[:1], pots.durations)
            refusals[dish.id][cooker.id] = nearest(refusals[dish.id].get(cooker.id), why)
    return _LonePotStage(tuple(itertools.chain.from_iterable(by_pots)), tuple(lone_pots), refusals)


def _rivals(day: Day, splits: Mapping[str, Batches]) -> dict[str, int]:
    """Return how many batches would best go into each kind of pot."""
    rivals = {p.id: 0 for p in day.event.pots}
    for batches in splits.values():
        best = smallest_pot(day.event, batches[0]) if batches else None
        if best is not None:
            rivals[best.id] += len(batches)
    return rivals


def _with_finer_splits(day: Day, first: CandidateSet, unsure: frozenset[str]) -> CandidateSet:
    """Offer a finer split of dishes that no start surely gets done, or whose pots are scarce."""
    rivals = _rivals(day, first.splits)
    known = {p.dish_id for p in day.replan.plan.placements} if day.replan is not None else set()
    placeable = first.placeable()
    finer: dict[str, Batches] = {}
    for dish in day.event.dishes:
        batches = first.splits.get(dish.id, ())
        if dish.id in known or dish.id not in placeable or not batches:
            continue
        number: int | None = len(batches) + 1
        if dish.id not in unsure:
            number = _into_other_pots(day, dish, batches, rivals)
        if number is not None and number <= min(dish.batches_max, dish.portions):
            finer[dish.id] = split(day, dish, number, other=True)
    pots = _lone_pots(day, [*finer.values()], rivals)
    return CandidateSet(
        (*first.candidates, *pots.candidates),
        (*first.lone_pots, *pots.lone_pots),
        first.splits,
        {**first.alternatives, **finer},
        {**first.refusals, **_of_both(first.refusals, pots.refusals)},
    )


def _of_both(larger: Refusals, smaller: Refusals) -> Refusals:
    """Return the refusals of cookers that take neither batch, as they are of the smaller one."""
    return {
        dish_id: {c: r for c, r in by_cooker.items() if c in larger.get(dish_id, {})}
        for dish_id, by_cooker in smaller.items()
    }


def _into_other_pots(
    day: Day, dish: Dish, batches: Batches, rivals: Mapping[str, int]
) -> int | None:
    """Return the first finer split that best goes into another kind of pot, if this is scarce."""
    pot = smallest_pot(day.event, batches[0])
    if pot is None or rivals[pot.id] <= pot.count:
        return None
    number = len(batches) + 1
    while number <= min(dish.batches_max, dish.portions):
        other = smallest_pot(day.event, split(day, dish, number)[0])
        if other is not None and other.id != pot.id:
            break
        number += 1
    return number


def _moved_on(
    day: Day, lone_pots: Sequence[LonePots], unsure: frozenset[str]
) -> Iterator[Candidate]:
    """Yield the candidates of pots that are moved to a second cooker before they are done."""
    batches_of = {id(pots.durations): pots.batches for pots in lone_pots}
    movable = [
        Movable(p.durations, tuple(sorted({b.serve_minute for b in p.batches}))) for p in lone_pots
    ]
    for moved in two_stage_loads(day, movable, unsure=unsure):
        batches = [b for b in batches_of[id(moved.first)] if b.serve_minute == moved.serve]
        yield from _of_each(day, batches, partial(_moved, day, moved))


def _alone(day: Day, durations: DurationEstimate, batch: Batch) -> Iterator[Candidate]:
    return candidates_of(day, (batch,), durations)


def _moved(day: Day, moved: TwoStageLoad, batch: Batch) -> Iterator[Candidate]:
    return two_stage_candidates(day, (batch,), moved)


def _of_each(
    day: Day, batches: Sequence[Batch], ways: Callable[[Batch], Iterator[Candidate]]
) -> Iterator[Candidate]:
    """Yield the candidates of equal batches; those that are served together differ in name alone.

    When planning again, and in what each spent in a cooker that it had to leave.
    """
    known: dict[tuple[int, int, float], list[Candidate]] = {}
    for batch in batches:
        like = batch.serve_minute, batch.serve_end, day.spent(batch.id)
        if like not in known:
            known[like] = list(ways(batch))
            yield from known[like]
        else:
            yield from (renamed(day, candidate, batch) for candidate in known[like])


def _joint_loads(
    day: Day, candidates: Sequence[Candidate], *, without: set[str]
) -> Iterator[Candidate]:
    """Yield the candidates of two or three batches put into a box together and kept shut."""
    queries = [
        (batches, _joint_query(day, box, batches, pots))
        for box in day.event.cookers
        if box.is_oven and box.pots_max >= 2 and box.id in day.pools
        for batches, pots in _fellows(box, candidates, without)
    ]

    def useful(k: int, expected: Array, clock: Array) -> Bools:
        batches, query = queries[k]
        return in_time(day, batches, query.starts, expected, clock)

    estimates = estimate(day, [query for _, query in queries], useful)
    for (batches, _), durations in zip(queries, estimates, strict=True):
        yield from candidates_of(day, batches, durations)


@dataclass(frozen=True)
class _Boxed:
    """A batch that a box gets done alone: its pot there, and its shortest minutes."""

    batch: Batch
    pot: Pot
    minutes: int


def _fellows(
    box: Cooker, candidates: Sequence[Candidate], without: set[str]
) -> Iterator[tuple[Batches, tuple[Pot, ...]]]:
    """Yield the sets of batches that may share a box, with a pot for each.

    Of each meal's, those that take most nearly equally long: a box is kept shut until all are done.
    """
    able: dict[tuple[int, int], dict[str, _Boxed]] = {}
    for c in candidates:
        batch, load = c.batches[0], c.load
        if c.column.cooker_id != box.id or c.in_progress or c.column.route != "sun":
            continue
        if batch.id not in without:
            of_meal = able.setdefault((batch.serve_minute, batch.serve_end), {})
            minutes = load.done[0] - load.start
            before = of_meal.get(batch.id)
            of_meal[batch.id] = _Boxed(
                batch, load.pots[0], min(minutes, before.minutes) if before else minutes
            )
    for of_meal in able.values():
        sets = [
            boxed
            for size in range(2, min(box.pots_max, FILL_MOST) + 1)
            for names in itertools.combinations(sorted(of_meal), size)
            for boxed in [[of_meal[n] for n in names]]
            if may_share(box, tuple(x.batch for x in boxed), [x.pot for x in boxed])
        ]
        for boxed in sorted(sets, key=_spread_min)[:FELLOWS_MOST]:
            yield tuple(x.batch for x in boxed), tuple(x.pot for x in boxed)


def _spread_min(boxed: Sequence[_Boxed]) -> tuple[int, int]:
    """Return how far apart the batches of a set are done, then how long the longest takes."""
    longest = max(x.minutes for x in boxed)
    return longest - min(x.minutes for x in boxed), longest


def _joint_query(day: Day, box: Cooker, batches: Batches, pots: tuple[Pot, ...]) -> DurationQuery:
    dishes, masses_kg = tuple(b.dish for b in batches), tuple(b.mass_kg for b in batches)
    load = Load(dishes, masses_kg, pots, reheat_c=rules_of(day.event).reheat_c)
    last = batches[0].serve_minute
    coarser = 1 if start_step_min(day) == SLOT_MIN else 2
    step_min = FILL_STEP_MIN * (len(batches) - 1) * coarser
    starts = starts_of(day, box, load, last, step_min)
    return DurationQuery(box, load, starts, last, batches[0].serve_end)
