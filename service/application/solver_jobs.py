"""Work for a solver's process: a job goes in as text and its result comes out as text.

So any executor can carry it. Each function runs in a process of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from time import monotonic

from pydantic import BaseModel, ConfigDict, TypeAdapter

from events.diary import StoredEntry
from events.errors import FaultyEvent, NoonfareError, PlanBroken
from events.model import Event
from events.reading.event_file import read_event
from events.reading.food_safety import food_faults
from events.reading.write import write_event
from events.storage.tables import PlanState
from service.application.worker_process import seconds_left
from solver.deadline import within
from solver.feasibility.duration_table import Estimate, estimates
from solver.feasibility.improvements import Improvement, improvements
from solver.feasibility.outcomes import outcome_of
from solver.feasibility.season import season
from solver.live.replan import replan
from solver.live.watch import look
from solver.plan import Plan
from solver.planning.pipeline import make_plan

ESTIMATES = TypeAdapter(list[Estimate])
IMPROVEMENTS = TypeAdapter(list[Improvement])


class DayBegun(BaseModel):
    """Where a day stands that has begun: the plan in force, what was pressed, what time it is."""

    model_config = ConfigDict(frozen=True)

    plan: Plan
    diary: tuple[StoredEntry, ...]
    now: datetime


class SolverJob(BaseModel):
    """An event to work on, and on a day that has begun where it stands."""

    model_config = ConfigDict(frozen=True)

    event: Event
    begun: DayBegun | None = None


class WatchJob(BaseModel):
    """A day in progress to look at, and whether to plan again where there is cause."""

    model_config = ConfigDict(frozen=True)

    event: Event
    begun: DayBegun
    plan_again: bool


@dataclass(frozen=True)
class PlanResult:
    """A checked plan as JSON, ready to be stored; or what broke."""

    state: PlanState
    body: str
    took_s: float = 0.0  # of work; what waited before it is not in it


def job_payload(event: Event, begun: DayBegun | None = None) -> str:
    """Return a job as the text that travels to a solver's process."""
    return SolverJob(event=event, begun=begun).model_dump_json()


def watch_payload(event: Event, begun: DayBegun, *, plan_again: bool) -> str:
    """Return a look at a day as the text that travels to a solver's process."""
    return WatchJob(event=event, begun=begun, plan_again=plan_again).model_dump_json()


def watch_job(payload: str) -> str:
    """Look at a day in progress; return what was seen as JSON."""
    job = WatchJob.model_validate_json(payload)
    begun = job.begun
    return look(
        job.event, begun.plan, begun.diary, begun.now, plan_again=job.plan_again
    ).model_dump_json()


def plan_job(payload: str) -> PlanResult:
    """Plan a day; where it has begun, what has begun goes on."""
    job, began_s = SolverJob.model_validate_json(payload), monotonic()
    try:
        # It may have been stored under laxer rules; a day that has begun keeps those it had.
        if job.begun is None and (faults := list(food_faults(job.event))):
            raise FaultyEvent(job.event.title, faults)
        with within(seconds_left):  # cut short, it gives its best plan so far, with its gaps
            if job.begun is None:
                plan = make_plan(job.event)
            else:
                plan = replan(job.event, job.begun.plan, job.begun.diary, job.begun.now)
        return PlanResult("done", plan.model_dump_json(), monotonic() - began_s)
    except PlanBroken as error:
        return PlanResult("broken", "; ".join(error.breaches))
    except NoonfareError as error:
        return PlanResult("broken", str(error))


def estimates_job(payload: str) -> str:
    """Return an event's estimates as JSON."""
    job = SolverJob.model_validate_json(payload)
    return ESTIMATES.dump_json(estimates(job.event)).decode()


def improvements_job(payload: str) -> str:
    """Return the changes that would help an event, as JSON."""
    job = SolverJob.model_validate_json(payload)
    return IMPROVEMENTS.dump_json(improvements(job.event, make_plan(job.event))).decode()


def outcome_job(payload: str) -> str:
    """Return what the plan of an event that is only tried comes to, as JSON."""
    event = SolverJob.model_validate_json(payload).event
    read_event(write_event(event))  # refuses what could not be stored
    with within(seconds_left):
        return outcome_of(make_plan(event)).model_dump_json()


def season_job(payload: str) -> str:
    """Return an event's year as JSON."""
    job = SolverJob.model_validate_json(payload)
    return season(job.event, job.event.date.year).model_dump_json()


# By name, as work on other machines is called: the function, and how its result is written down.
JOBS: dict[str, tuple[Callable[[str], object], TypeAdapter[object]]] = {
    work.__name__: (work, TypeAdapter(result))
    for work, result in (
        (plan_job, PlanResult),
        (estimates_job, str),
        (improvements_job, str),
        (season_job, str),
        (watch_job, str),
        (outcome_job, str),
    )
}
