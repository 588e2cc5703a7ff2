"""Calendars that follow the plan: what each piece of work is known by, and what is no longer to do.

A calendar entry keeps its identity while its time, cooker or people change: it says what the work
is and the how-manieth of its sort it is in this calendar, never when. An edition is one state of a
calendar; its number only ever rises, and what an earlier edition had and this one has not is gone.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache

from pydantic import ValidationError

from service.application.context import Context
from service.application.plans import PlanInForce, read_plan
from solver.plan import EVERYBODY, Job, Plan
from solver.programme import Posts, posts_of

FIRST_EDITION = datetime(2020, 1, 1, tzinfo=UTC)  # numbers count seconds from here
NO_POSTS = Posts()
RESCUE_MIN = 5  # how long a look at a pot is shown


@dataclass(frozen=True)
class Work:
    """A piece of work in a calendar: its identity there, its id in the plan, and when it is."""

    key: str
    id: str
    starts_at: datetime
    ends_at: datetime


@dataclass(frozen=True)
class CalendarEdition:
    """One state of a calendar: of the whole day, or of one helper."""

    number: int = 0
    made_at: datetime | None = None
    earlier: tuple[Work, ...] = ()  # all that any edition had, each as it was last


def work_of(plan: Plan, helper_id: str | None, posts: Posts = NO_POSTS) -> tuple[Work, ...]:
    """Return the work that a helper's calendar may have, or with no helper the whole day's.

    `posts` is what they lead on the round.
    """
    dish_ids = {p.id: p.dish_id for p in plan.placements}
    found: list[tuple[str, str, datetime, int]] = []
    for job in plan.jobs:
        if helper_id is None or helper_id in job.helper_ids or job.kind in EVERYBODY:
            found.append((_sort_of(job, dish_ids), job.id, job.at, job.minutes))
    for walk in plan.walks:
        if helper_id in (None, walk.helper_id):
            found.append(("turn", walk.id, walk.at, walk.minutes))
    found += [(v.id, v.id, v.at, v.minutes) for v in posts.visits(plan.rota)]
    if helper_id is None:
        for rescue in plan.rescues:
            sort = f"rescue-{dish_ids[rescue.placement_id]}"
            found.append((sort, f"rescue-{rescue.placement_id}", rescue.at, RESCUE_MIN))
    count: Counter[str] = Counter()
    work = []
    for sort, id, at, minutes in sorted(found, key=lambda f: (f[2], f[1])):
        count[sort] += 1
        work.append(Work(f"{sort}-{count[sort]}", id, at, at + timedelta(minutes=minutes)))
    return tuple(work)


def _sort_of(job: Job, dish_ids: dict[str, str]) -> str:
    """Return what a job is, whenever, wherever and by whomever it is done."""
    dishes = sorted({dish_ids[i] for i in job.placement_ids})
    about = (job.talk_id, job.meal_id, job.dish_id)
    return "-".join([job.kind, *dishes, *(i for i in about if i)])


class CalendarService:
    """Editions of an event's calendars."""

    def __init__(self, context: Context) -> None:
        self._store = context.store.plans

    def edition(self, name: str, in_force: PlanInForce, helper_id: str | None) -> CalendarEdition:
        """Return the edition that belongs to the plan in force."""
        last: dict[str, Work] = {}
        posts = posts_of(in_force.event, helper_id) if helper_id else NO_POSTS
        for body in self._store.bodies_in_order(name):
            last |= {work.key: work for work in _stored_work(body, helper_id, posts)}
        made_at = in_force.made_at
        return CalendarEdition(
            # Whatever comes in force later has a higher one: a new version, a plan made anew.
            number=int((made_at - FIRST_EDITION).total_seconds()) if made_at else 0,
            made_at=made_at,
            earlier=tuple(last[key] for key in sorted(last)),
        )


@lru_cache(maxsize=1024)
def _stored_work(body: str, helper_id: str | None, posts: Posts) -> tuple[Work, ...]:
    """Return the work of a stored plan; none for one that today's program can't read."""
    try:
        return work_of(read_plan(body), helper_id, posts)
    except ValidationError:
        return ()
