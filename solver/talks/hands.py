"""Who has free hands once the pots have theirs: speakers, and whoever works at what is shown."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from events.model import Helper, Talk
from solver.plan import EVERYBODY, Job, Plan, Walk
from solver.policy import SLOT_MIN
from solver.scheduling.formulation import person_of
from solver.simulation.clock import minute_at
from solver.simulation.day import Day
from solver.solar.irradiance import minute_of


def free_speakers(day: Day, plan: Plan, talk: Talk, start: int) -> Iterator[int]:
    """Yield who can give a talk from a slot on, by number; -1 where it needs nobody."""
    span = set(range(start, start + -(-talk.minutes // SLOT_MIN)))
    if span & taken(day, [j for j in plan.jobs if j.kind in ("talk", "set-up", "pack-down")]):
        return
    names = talk.speakers or ((talk.speaker,) if talk.speaker else ())
    if not names:
        yield -1
    for n, helper in enumerate(day.event.helpers):
        if helper.id in names and span <= free_slots(day, plan, helper):
            on_sun = span & _with_a_mirror_on_the_sun(day, plan)
            if is_watched(day, plan, on_sun, without=helper.id):
                yield n


def free_slots(day: Day, plan: Plan, helper: Helper) -> set[int]:
    """Return the slots in which a helper is there and has no job, walk, talk or break."""
    person = person_of(day, helper, day.sky.air_c.size // SLOT_MIN)
    own = [j for j in plan.jobs if helper.id in j.helper_ids and j.kind not in EVERYBODY]
    walks = [w for w in plan.walks if w.helper_id == helper.id]
    return {s for s, free in enumerate(person.free) if free} - taken(day, [*own, *walks])


def taken(day: Day, works: Sequence[Job | Walk]) -> set[int]:
    """Return the slots in which work is done."""
    slots: set[int] = set()
    for work in works:
        start = minute_of(day.sky, work.at)
        slots |= set(range(start // SLOT_MIN, -(-(start + work.minutes) // SLOT_MIN)))
    return slots


def _with_a_mirror_on_the_sun(day: Day, plan: Plan) -> set[int]:
    spans = [(p.cooker_id, p.preheat_at or p.loaded_at, p.lifted_at) for p in plan.placements]
    shows = [g.load for g in plan.talks.given if g.load] if plan.talks else []
    spans += [(s.cooker_id, s.loaded_at, s.lifted_at) for s in shows]
    slots: set[int] = set()
    for cooker_id, start, end in spans:
        if day.event.cooker(cooker_id).nature.concentrates:
            first, last = minute_of(day.sky, start), minute_of(day.sky, end)
            slots |= set(range(first // SLOT_MIN, last // SLOT_MIN + 1))
    return slots


def is_watched(day: Day, plan: Plan, slots: set[int], *, without: str | None) -> bool:
    """Return whether in each slot somebody who may work mirrors is there and gives no talk."""
    watched: set[int] = set()
    for h in day.event.helpers:
        if h.id != without and "mirrors" in h.works:
            hours = range(minute_at(day, h.start) // SLOT_MIN, minute_at(day, h.end) // SLOT_MIN)
            talks = [j for j in plan.jobs if j.kind == "talk" and h.id in j.helper_ids]
            watched |= set(hours) - taken(day, talks)
    return slots <= watched
