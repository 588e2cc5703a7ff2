"""Analyses of a stored event: what solvers need some seconds for, and what a cooker does now."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future
from datetime import date, datetime, time
from typing import Annotated, TypeVar, cast

from pydantic import BaseModel, ConfigDict, Field

from events.errors import PlanBroken
from events.identity import fingerprint_of
from events.model import Cooker, Event
from events.quantities import within
from events.reading.event_file import read_event
from events.reading.write import write_event
from service.application.asker import ASKER
from service.application.context import Context
from service.application.lanes import Lane, Order
from service.application.plans import PlanService, read_plan
from service.application.price import require_plannable
from service.application.solver_jobs import (
    ESTIMATES,
    IMPROVEMENTS,
    PlanResult,
    estimates_job,
    improvements_job,
    job_payload,
    plan_job,
    season_job,
)
from service.application.waiting import Waiting
from solver.feasibility.duration_table import Estimate
from solver.feasibility.improvements import Improvement
from solver.feasibility.season import Season
from solver.plan import Plan
from solver.simulation.day import make_day
from solver.simulation.energy_flow import HeatFlow, heat_now
from solver.thermal.readings import CalibrationResult, litre_test

T = TypeVar("T")


class LitreReadings(BaseModel):
    """A litre test as it was read: two temperatures, when, and the sky as seen."""

    model_config = ConfigDict(frozen=True)

    day: date = Field(examples=["2026-11-28"])
    at: time = Field(examples=["11:00"])
    minutes: Annotated[int, Field(ge=5, le=240, examples=[20])]
    from_c: Annotated[float, Field(ge=0, le=60, examples=[20])]
    to_c: Annotated[float, Field(ge=5, le=100, examples=[58])]
    litres: Annotated[float, Field(ge=0.2, le=20, examples=[1])] = 1.0
    air_c: Annotated[float, within("air_c")] = 25.0
    cloud_pct: Annotated[float, within("cloud_pct")] = 0.0


class AnalysisService:
    """What can be worked out about an event; none of it changes the event."""

    def __init__(self, context: Context, plans: PlanService) -> None:
        self._context, self._store, self._plans = context, context.store.events, plans

    def estimates(self, name: str) -> Waiting[list[Estimate]]:
        """Return the table of minutes: each dish in each cooker at each start."""
        return self._ask(name, estimates_job, ESTIMATES.validate_json)

    def improvements(self, name: str) -> Waiting[list[Improvement]]:
        """Return the smallest changes that would help refused or unsure dishes."""
        self._plans.done(name)
        return self._ask(name, improvements_job, IMPROVEMENTS.validate_json)

    def season(self, name: str) -> Waiting[Season]:
        """Return the year's map for an event's site, dishes and cookers."""
        return self._ask(name, season_job, Season.model_validate_json)

    def what_if(self, name: str, event: Event) -> Waiting[Plan]:
        """Return the plan of an event that is only tried, and stored nowhere."""
        tried = read_event(write_event(event))  # refuses what could not be stored
        require_plannable(tried)
        future = self._context.results.ask(
            fingerprint_of(tried), plan_job, job_payload(tried), order=_advice(name)
        )
        return Waiting(cast("Future[object]", future), _plan_of)

    def _ask(self, name: str, work: Callable[[str], str], read: Callable[[str], T]) -> Waiting[T]:
        stored = self._store.get(name)
        future = self._context.results.ask(
            stored.fingerprint, work, job_payload(stored.event), order=_advice(name)
        )
        return Waiting(cast("Future[object]", future), lambda result: read(str(result)))

    def heat_flow(self, name: str, cooker_id: str, at: datetime | None) -> HeatFlow:
        """Return where a cooker's watts go at an instant: for a talk."""
        in_force = self._plans.in_force(name)
        event, plan = in_force.event, in_force.plan
        return heat_of(event, plan, event.cooker(cooker_id), at or self._context.now())

    def litre_test(self, name: str, cooker_id: str, readings: LitreReadings) -> CalibrationResult:
        """Return a cooker's strength from two readings of some water."""
        event = self._store.get(name).event
        return litre_test(event, event.cooker(cooker_id), **readings.model_dump())


def heat_of(event: Event, plan: Plan | None, cooker: Cooker, at: datetime) -> HeatFlow:
    """Return where a cooker's watts go at an instant of an event's day."""
    return heat_now(make_day(event), cooker, at, plan.placements if plan else ())


def _advice(name: str) -> Order:
    return Order(Lane.ADVICE, name, ASKER.get())


def _plan_of(result: object) -> Plan:
    assert isinstance(result, PlanResult)
    if result.state != "done":
        raise PlanBroken([result.body])
    return read_plan(result.body)
