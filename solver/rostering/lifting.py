"""Who lends a hand with a heavy pot: over a published weight two lift it, where another is free.

A dish's own `lift_helpers` is kept in any case: the timetable has hands for them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from events.table import changed
from solver.plan import Job
from solver.policy import ONE_LIFTS_KG, SLOT_MIN
from solver.rostering.light_jobs import free_slots, slots_of
from solver.rostering.programme import Work
from solver.scheduling.columns import Candidate
from solver.scheduling.formulation import person_of
from solver.simulation.day import Day

LIFTED = ("lift", "insulate", "move")


def with_second_hands(day: Day, work: Work, chosen: Sequence[Candidate]) -> Work:
    """Return everybody's work with one more who lifts what is too heavy for one, if one is free."""
    slots = day.sky.beam_w_m2.size // SLOT_MIN
    people = [person_of(day, h, slots) for h in day.event.helpers]
    lifters = [p for p in people if "lift" in p.abilities]
    free = free_slots(day, lifters, work)
    heavy = {
        batch.id
        for c in chosen
        for batch, pot in zip(c.batches, c.load.pots, strict=True)
        if batch.mass_kg + pot.mass_kg > ONE_LIFTS_KG
    }
    jobs: list[Job] = []
    for job in work.jobs:
        span = slots_of(day, job.at, job.minutes)
        one = job.kind in LIFTED and len(job.helper_ids) == 1 and heavy & {*job.placement_ids}
        there = [p.id for p in lifters if one and p.id not in job.helper_ids and span <= free[p.id]]
        if there:
            free[there[0]] -= span
            job = changed(job, helper_ids=(*job.helper_ids, there[0]))  # noqa: PLW2901
        jobs.append(job)
    return replace(work, jobs=tuple(jobs))
