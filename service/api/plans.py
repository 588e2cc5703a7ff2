"""JSON of plans: sun windows, the checked plan, its next turns."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel, Field

from events.errors import FaultyEvent, PlanBroken, Stopped
from events.reading.food_safety import food_faults
from service.access import for_role
from service.api.responses import PROBLEM, REFUSALS
from service.application.event_analyses import sun_windows
from service.dependencies import EXAMPLE_AT, Instant, Name, ServicesDep
from solver.contest_plan import ContestPlan
from solver.plan import Plan, Turn, Window
from solver.programme import RotaPlan

router = APIRouter(prefix="/api", tags=["noonfare"])


class PlanAnswer(BaseModel):
    """The checked plan, or that it is still being counted."""

    state: str = Field(examples=["done"], pattern="^(asked|done)$")
    made_at: datetime | None
    plan: Plan | None


class TurnAnswer(BaseModel):
    """A turn due or still to come."""

    turn: Turn
    helper_id: str | None
    in_min: float = Field(description="Minutes from now; below 0 it is late")


class TurnsAnswer(BaseModel):
    """The next turns, soonest first."""

    now: datetime
    turns: list[TurnAnswer]


@router.get("/events/{name}/window", responses=REFUSALS)
@for_role("helper")
def read_window(name: Name, services: ServicesDep) -> list[Window]:
    """Return the stretches of usable sun: the site first, then each sun cooker."""
    return list(sun_windows(services.events.get(name).event))


@router.get(
    "/events/{name}/plan",
    responses={**REFUSALS, 202: {"model": PlanAnswer}, 500: PROBLEM, 503: PROBLEM},
)
@for_role("helper")
def read_plan(name: Name, services: ServicesDep, response: Response) -> PlanAnswer:
    """Return the checked plan; 202 while it is being counted."""
    in_force = services.plans.in_force(name)
    if in_force.state in ("broken", "stopped"):
        event = services.events.get(name).event
        if faults := list(food_faults(event)):  # it was stored under laxer rules
            raise FaultyEvent(name, faults, units=event.units, clock_h=event.clock_h)
        raise Stopped.read(in_force.refusal) or PlanBroken([in_force.refusal])
    if in_force.state == "asked":
        response.status_code = 202
        response.headers["retry-after"] = "1"
        return PlanAnswer(state="asked", made_at=None, plan=None)
    return PlanAnswer(state=in_force.state, made_at=in_force.made_at, plan=in_force.plan)


@router.get("/events/{name}/rota", responses=REFUSALS)
@for_role("helper")
def read_rota(name: Name, services: ServicesDep) -> RotaPlan | None:
    """Return which group is at which stop when; null where no groups go round."""
    return services.plans.done(name).rota


@router.get("/events/{name}/contest", responses=REFUSALS)
@for_role("helper")
def read_contest(name: Name, services: ServicesDep) -> ContestPlan | None:
    """Return places, tastings and how alike the sun is; null where there is no contest."""
    return services.plans.done(name).contest


@router.get("/events/{name}/turns", responses=REFUSALS)
@for_role("helper")
def read_turns(
    name: Name,
    services: ServicesDep,
    now: Annotated[Instant | None, Query(examples=[EXAMPLE_AT])] = None,
    helper: Annotated[str | None, Query(max_length=40, examples=["asta"])] = None,
    cooker: Annotated[str | None, Query(max_length=40, examples=["mirror-1"])] = None,
) -> TurnsAnswer:
    """Return the turns due or still to come at `now` (without it, by the clock here)."""
    at = now or services.now()
    turns = services.plans.next_turns(name, now=at, helper_id=helper, cooker_id=cooker)
    return TurnsAnswer(
        now=at,
        turns=[
            TurnAnswer(turn=t.turn, helper_id=t.helper_id, in_min=round(t.in_min, 1)) for t in turns
        ],
    )
