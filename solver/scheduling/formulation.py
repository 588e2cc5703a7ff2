"""From candidates to the timetable's problem, and the chosen ones dealt out to real cookers."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from datetime import time

import numpy as np

from events.model import Dish, Helper, Talk
from solver.policy import SLOT_MIN
from solver.scheduling.batches import usable_members
from solver.scheduling.columns import Candidate
from solver.scheduling.enumeration import CandidateSet
from solver.scheduling.problem import DishDemand, Person, Problem, TalkDemand
from solver.simulation.clock import minute_at, next_slot_min
from solver.simulation.day import Day
from solver.solar.tracking import declination_deg, interval_min
from solver.thermal.energy_balance import Bools

BEGUN_PRIORITY = 12  # what has begun outweighs all that has not


def build_problem(day: Day, candidates: CandidateSet) -> Problem:
    """Return the timetable's problem: columns, stocks, people, talks."""
    event = day.event
    slots = day.sky.beam_w_m2.size // SLOT_MIN
    dec = declination_deg(event.date)
    mirrors = [c for c in event.cookers if c.nature.concentrates]
    shortest = min((interval_min(c, declination_deg=dec) for c in mirrors), default=60)
    placeable = {b.dish.id for c in candidates.candidates for b in c.batches}
    return Problem(
        slots=slots,
        dishes=tuple(
            demand
            for d in event.dishes
            if d.id in placeable
            for demand in _dish_demands(day, d, candidates)
        ),
        columns=tuple(c.column for c in candidates.candidates),
        cooker_capacity={c.id: _capacity(day, c.id) for c in event.cookers},
        pot_count={p.id: p.count for p in event.pots},
        people=tuple(person_of(day, h, slots) for h in event.helpers if h.adult),
        talks=tuple(_talk_demands(day, candidates)),
        walk_window_slots=max(1, shortest // SLOT_MIN),
    )


def _capacity(day: Day, cooker_id: str) -> int:
    """Return how many loads a pool takes at once, or how many pots a ring or insulated box takes.

    A pool counts its cookers in use, and those out of action that still hold what has begun.
    """
    cooker, usable = day.event.cooker(cooker_id), usable_members(day, cooker_id)
    if not cooker.on_sun:
        return cooker.pots_max * (cooker_id in usable)
    members = day.pools.get(cooker_id, ())
    if day.replan is None:
        return len(usable) if members else 0
    holding = {
        load.placements[0].cooker_id
        for load in day.replan.in_progress
        if load.stage == "cooking" and load.placements[0].cooker_id in day.replan.unavailable
    }
    return len(usable) + len(holding & set(members)) if members else 0


def _dish_demands(day: Day, dish: Dish, candidates: CandidateSet) -> Iterator[DishDemand]:
    """Yield what is asked of a dish: all of it or nothing; where part has begun, by the pot."""
    batches = candidates.splits[dish.id]
    begun = {
        p.id for load in (day.replan.in_progress if day.replan else ()) for p in load.placements
    }
    if not begun & {b.id for b in batches}:
        finer = candidates.alternatives.get(dish.id)
        alternatives = (tuple(b.id for b in finer),) if finer else ()
        yield DishDemand(dish.id, dish.priority, tuple(b.id for b in batches), alternatives)
        return
    placeable = {b.id for c in candidates.candidates for b in c.batches}
    for b in batches:
        if b.id in placeable:
            priority = BEGUN_PRIORITY if b.id in begun else dish.priority
            yield DishDemand(b.id, priority, (b.id,))


def person_of(day: Day, helper: Helper, slots: int) -> Person:
    """Return a helper with the slots in which they may be asked."""
    free = np.zeros(slots, dtype=bool)
    _mark(free, minute_at(day, helper.start), minute_at(day, helper.end), free=True, inside=True)
    for rest in helper.breaks:
        at = minute_at(day, rest.at)
        _mark(free, at, at + rest.minutes)
    if day.replan is not None:
        _mark(free, 0, next_slot_min(day))
        for away in day.replan.absences:
            if away.helper_id == helper.id:
                _mark(free, away.start, away.end)
    for talk in day.event.talks:
        if talk.speaker == helper.id and talk.at is not None:
            at = minute_at(day, talk.at)
            _mark(free, at, at + talk.minutes)
    if _is_on_the_round(day, helper):
        hours = day.event.rota.hours(day.event.site)
        _mark(free, minute_at(day, hours.start), minute_at(day, hours.end))
    contest = day.event.contest
    if contest and helper.id in {contest.runner, *(j.helper for j in day.event.judges)}:
        _mark(free, minute_at(day, contest.start), minute_at(day, contest.end))
    return Person(helper.id, helper.works, helper.adult, tuple(bool(f) for f in free))


def _is_on_the_round(day: Day, helper: Helper) -> bool:
    """Return whether somebody guides a stop or goes with a group: their hands are not free."""
    event = day.event
    guides = {s.guide for s in event.stops} if event.groups else set()
    return helper.id in guides | {g.adult for g in event.groups}


def _mark(slots: Bools, start: int, end: int, *, free: bool = False, inside: bool = False) -> None:
    """Mark the slots that an interval of minutes touches, or those that lie `inside` it."""
    last = end // SLOT_MIN if inside else -(-end // SLOT_MIN)
    slots[start // SLOT_MIN : last] = free


def _talk_demands(day: Day, candidates: CandidateSet) -> Iterator[TalkDemand]:
    for talk in day.event.talks:
        if talk.at is None or talk.dish is None or talk.stage is None:
            continue
        if _is_past(day, talk, talk.at):
            continue
        fit = frozenset(
            k
            for k, candidate in enumerate(candidates.candidates)
            if _shows(day, candidate, talk, talk.at)
        )
        yield TalkDemand(talk.id, talk.dish, fit)


def _is_past(day: Day, talk: Talk, fixed: time) -> bool:
    """Return whether a talk is over, or its pot stands as it stands."""
    if day.replan is None:
        return False
    begun = {p.dish_id for load in day.replan.in_progress for p in load.placements}
    return minute_at(day, fixed) < day.replan.minute or talk.dish in begun


def _shows(day: Day, candidate: Candidate, talk: Talk, fixed: time) -> bool:
    """Return whether a candidate has the talk's dish at its stage during the talk."""
    pots = [p for p, b in enumerate(candidate.batches) if b.dish.id == talk.dish]
    if not pots:
        return False
    start = minute_at(day, fixed)
    end = start + talk.minutes
    load, lift = candidate.load.start, candidate.column.lift_slot * SLOT_MIN
    if talk.stage == "loaded":
        return start <= load <= end
    if talk.stage == "lifted":
        return start <= lift <= end
    durations, index = candidate.load.durations, candidate.load.index
    hot = load + min(float(durations.hot_min[p, index]) for p in pots)
    return hot <= start and lift >= end


def assign_pool(day: Day, chosen: list[Candidate]) -> list[Candidate]:
    """Return the chosen candidates with a pool's loads given to its cookers, first free first."""
    free_from: dict[str, int] = {}
    assigned = []
    for candidate in sorted(chosen, key=lambda c: (c.in_progress is None, c.column.occupies)):
        cooker_id = candidate.load.cooker.id
        if candidate.in_progress is None:
            cooker_id = _first_free(day, candidate, free_from)
        if candidate.in_progress is None or candidate.in_progress.stage == "cooking":
            free_from[cooker_id] = candidate.column.occupies[1]
        assigned.append(_in_cooker(day, candidate, cooker_id))
    return assigned


def _first_free(day: Day, candidate: Candidate, free_from: dict[str, int]) -> str:
    """Return the first cooker of a pool that is free; one that is heated already comes first."""
    column = candidate.column
    members = usable_members(day, column.cooker_id)
    if members == (column.cooker_id,):
        return column.cooker_id
    free = [m for m in members if free_from.get(m, 0) <= column.occupies[0]]
    if day.replan is not None and column.occupies[0] * SLOT_MIN <= day.replan.minute:
        heating = day.replan.preheating
        free.sort(key=lambda m: m not in heating)
    return free[0]


def _in_cooker(day: Day, candidate: Candidate, cooker_id: str) -> Candidate:
    load, column = candidate.load, candidate.column
    query = dataclasses.replace(load.durations.query, cooker=day.event.cooker(cooker_id))
    durations = dataclasses.replace(load.durations, query=query)
    return dataclasses.replace(
        candidate,
        column=dataclasses.replace(column, cooker_id=cooker_id),
        load=dataclasses.replace(load, durations=durations),
    )
