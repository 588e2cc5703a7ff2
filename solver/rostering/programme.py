"""Jobs that no single load brings: setting up, talks, serving, packing down; and what is past."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from events.table import changed
from solver.plan import Job, JobKind, Turn, Walk
from solver.policy import SET_UP_MIN, SLOT_MIN
from solver.scheduling.columns import Candidate
from solver.simulation.clock import minute_at
from solver.simulation.day import Day
from solver.simulation.day_state import ReplanState
from solver.solar.irradiance import at_minute

COOLS_MIN, PACK_MIN = 30, 30  # common practice, no published source


@dataclass(frozen=True)
class Work:
    """Everything that people do on the day."""

    turns: tuple[Turn, ...]
    walks: tuple[Walk, ...]
    jobs: tuple[Job, ...]


def around(day: Day, chosen: Sequence[Candidate]) -> Iterator[Job]:
    """Yield setting up before the first load, and packing down.

    That is when the last cooker is cool and the last meal is over. Where cooking begins as the crew
    comes, setting up is before their hours: `planning/warnings.py` says so.
    """
    columns = [c.column for c in chosen]
    if not columns:
        return
    # A load in progress occupies its cooker from now on, but was loaded earlier.
    first = min(c.load_slot if c.occupies[0] > c.load_slot else c.occupies[0] for c in columns)
    last = max(max(c.lift_slot, (c.then_occupies or (0, 0))[1]) for c in columns)
    begins = first * SLOT_MIN
    starts = max(0, begins - SET_UP_MIN)
    if starts < begins:
        yield _of_all(day, "set-up", starts, begins - starts)
    eaten = max(minute_at(day, meal.end) for meal in day.event.meals)
    yield _of_all(day, "pack-down", max(last * SLOT_MIN + COOLS_MIN, eaten), PACK_MIN)


def _of_all(day: Day, kind: JobKind, minute: int, minutes: int) -> Job:
    at = at_minute(day.sky, minute)
    return Job(id=kind, kind=kind, at=at, minutes=minutes, helper_ids=())


def programme(day: Day) -> Iterator[Job]:
    """Yield the talks and the meals as jobs: what everybody must know the time of."""
    for talk in day.event.talks:
        if talk.at is None:
            continue  # its time is chosen once the pots have theirs
        yield Job(
            id=f"talk-{talk.id}",
            kind="talk",
            at=at_minute(day.sky, minute_at(day, talk.at)),
            minutes=talk.minutes,
            helper_ids=(talk.speaker,) if talk.speaker else (),
            talk_id=talk.id,
        )
    for meal in day.event.meals:
        start, end = minute_at(day, meal.start), minute_at(day, meal.end)
        yield Job(
            id=f"serve-{meal.id}",
            kind="serve",
            at=at_minute(day.sky, start),
            minutes=end - start,
            helper_ids=(),
            meal_id=meal.id,
        )


def with_past(day: Day, replan: ReplanState, work: Work) -> Work:
    """Return what was done before the moment of planning again, and all that is new after it."""
    at, plan = at_minute(day.sky, replan.minute), replan.plan
    known = {j.id for j in work.jobs} | {t.id for t in work.turns}
    here = {h.id for h in day.event.helpers}  # one who was there may be out of the event by now
    past_jobs = (
        changed(j, helper_ids=tuple(h for h in j.helper_ids if h in here))
        for j in plan.jobs
        if j.at <= at and j.id not in known
    )
    past_turns = (t for t in plan.turns if t.at <= at and t.id not in known)
    past_walks = (w for w in plan.walks if w.at <= at and w.helper_id in here)
    return Work((*past_turns, *work.turns), (*past_walks, *work.walks), (*past_jobs, *work.jobs))
