"""From columns to the timetable's question, and from the chosen ones to the crew's work."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from events.model import Dish, Helper
from solver.policy import SLOT_MIN
from solver.scheduling.batches import ceil_to_slot, minute_at, pools, usable_members
from solver.scheduling.columns import Candidate, CandidateSet
from solver.scheduling.problem import DishDemand, Person, Problem, TalkDemand
from solver.simulation.durations import Day
from solver.solar.tracking import declination_deg, interval_min

if TYPE_CHECKING:
    pass


BEGUN_PRIORITY = 12  # what has begun outweighs all that has not


def ask(day: Day, found: CandidateSet) -> Problem:
    """Return the timetable's question: columns, stocks, people, talks."""
    event, alike = day.event, pools(day)
    slots = day.sky.beam_w_m2.size // SLOT_MIN
    with_ways = {b.dish.id for w in found.ways for b in w.batches}
    mirrors = [c for c in event.cookers if c.nature.concentrates]
    dec = declination_deg(event.date)
    shortest = min((interval_min(c, declination_deg=dec) for c in mirrors), default=60)
    return Problem(
        slots=slots,
        dishes=tuple(
            a for d in event.dishes if d.id in with_ways for a in _dish_asks(day, d, found)
        ),
        columns=tuple(w.column for w in found.ways),
        cooker_capacity={
            c.id: c.pots_max * (c.id in usable_members(day, c.id))
            if not c.on_sun
            else _room(day, found, c.id)
            if c.id in alike
            else 0
            for c in event.cookers
        },
        pot_count={p.id: p.count for p in event.pots},
        people=tuple(_person(day, h, slots) for h in event.helpers),
        talks=_talks(day, found),
        walk_window_slots=max(1, shortest // SLOT_MIN),
    )


def _room(day: Day, found: CandidateSet, head: str) -> int:
    """Return how many loads a pool takes: its cookers in use, and those that hold what began."""
    broken = {
        b.placements[0].cooker_id
        for b in (day.replan.in_progress if day.replan else ())
        if b.stage == "cooking" and b.placements[0].cooker_id in day.replan.unavailable  # type: ignore[union-attr]
    }
    members = pools(day).get(head, (head,))
    return len(usable_members(day, head)) + len(broken & set(members))


def _dish_asks(day: Day, dish: Dish, found: CandidateSet) -> list[DishDemand]:
    """Return what is asked of a dish: all of it or nothing; where part has begun, by the pot."""
    batches = found.batches[dish.id]
    begun = {p.id for b in (day.replan.in_progress if day.replan else ()) for p in b.placements}
    if not begun & {b.id for b in batches}:
        also = found.also.get(dish.id)
        cuts = (tuple(b.id for b in also),) if also else ()
        return [DishDemand(dish.id, dish.priority, tuple(b.id for b in batches), cuts)]
    has = {b.id for w in found.ways for b in w.batches}
    return [
        DishDemand(b.id, BEGUN_PRIORITY if b.id in begun else dish.priority, (b.id,))
        for b in batches
        if b.id in has
    ]


def _person(day: Day, helper: Helper, slots: int) -> Person:
    free = np.zeros(slots, dtype=bool)
    free[minute_at(day, helper.start) // SLOT_MIN : minute_at(day, helper.end) // SLOT_MIN] = True
    for rest in helper.breaks:
        at = minute_at(day, rest.at)
        free[at // SLOT_MIN : -(-(at + rest.minutes) // SLOT_MIN)] = False
    if day.replan is not None:
        free[: ceil_to_slot(day.replan.minute + 1) // SLOT_MIN] = False
        for away in day.replan.absences:
            if away.helper_id == helper.id:
                free[away.start // SLOT_MIN : -(-away.end // SLOT_MIN)] = False
    for talk in day.event.talks:
        if talk.speaker == helper.id:
            at = minute_at(day, talk.at)
            free[at // SLOT_MIN : -(-(at + talk.minutes) // SLOT_MIN)] = False
    return Person(helper.id, helper.works, helper.adult, tuple(bool(f) for f in free))


def _talks(day: Day, found: CandidateSet) -> tuple[TalkDemand, ...]:
    out = []
    for talk in day.event.talks:
        if talk.dish is None or talk.stage is None:
            continue
        start = minute_at(day, talk.at)
        if day.replan is not None and (
            start < day.replan.minute
            or any(p.dish_id == talk.dish for b in day.replan.in_progress for p in b.placements)
        ):
            continue  # it is over, or its pot stands as it stands
        fit = frozenset(
            k
            for k, w in enumerate(found.ways)
            if any(b.dish.id == talk.dish for b in w.batches)
            and _shows(w, talk.dish, talk.stage, start, start + talk.minutes)
        )
        out.append(TalkDemand(talk.id, talk.dish, fit))
    return tuple(out)


def _shows(way: Candidate, dish_id: str, stage: str, start: int, end: int) -> bool:
    load, lift = way.column.load_slot * SLOT_MIN, way.column.lift_slot * SLOT_MIN
    if stage == "loaded":
        return start <= load <= end
    if stage == "lifted":
        return start <= lift <= end
    pots = [p for p, b in enumerate(way.batches) if b.dish.id == dish_id]
    hot = load + min(float(way.told.hot_min[p, way.index]) for p in pots)
    return hot <= start and lift >= end


def assign_pool(day: Day, chosen: list[Candidate]) -> list[Candidate]:
    """Return the chosen ways with pooled cookers' loads given to the cookers, first free first."""
    alike = pools(day)
    free_from: dict[str, int] = {}
    out = []
    for way in sorted(chosen, key=lambda w: (w.in_progress is None, w.column.occupies)):
        if way.in_progress is not None:
            mine = way.told.ask.cooker.id
            if way.in_progress.stage == "cooking":
                free_from[mine] = way.column.occupies[1]
            out.append(replace(way, column=replace(way.column, cooker_id=mine)))
            continue
        members = alike.get(way.column.cooker_id, (way.column.cooker_id,))
        members = tuple(m for m in members if m in usable_members(day, way.column.cooker_id))
        if len(members) == 1 and members[0] == way.column.cooker_id:
            out.append(way)
            continue
        free = [m for m in members if free_from.get(m, 0) <= way.column.occupies[0]]
        if day.replan is not None and way.column.occupies[0] * SLOT_MIN <= day.replan.minute:
            free.sort(key=lambda m: m not in day.replan.preheating)  # type: ignore[union-attr]
        mine = free[0]
        free_from[mine] = way.column.occupies[1]
        told = replace(way.told, ask=replace(way.told.ask, cooker=day.event.cooker(mine)))
        out.append(replace(way, column=replace(way.column, cooker_id=mine), told=told))
    return out
