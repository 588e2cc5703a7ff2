"""JSON for the day itself: where it stands, go or not, plans made anew."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Path
from pydantic import BaseModel, Field

from events.errors import NotFound
from service import access
from service.api.events import PROBLEM, REFUSALS
from service.application.live_day import LiveDayService
from service.dependencies import AtDesk, Name
from solver.live.pots import PotStatus
from solver.plan import Plan
from solver.risk.decision import GoDecision, decide

router = APIRouter(prefix="/api", tags=["the day"], dependencies=[Depends(access.gate)])
Number = Annotated[int, Path(ge=1, le=2**31 - 1)]


class TodayAnswer(BaseModel):
    """Where the day stands: every pot, every cooker's strength, and whether to plan again."""

    now: datetime
    plan: str = Field(description="Fingerprint of the plan in force")
    haze: float = Field(description="The sun today against the forecast's: 1 is as forecast")
    strengths: dict[str, float]
    pots: list[PotStatus]
    plan_again: bool


class OfferAnswer(BaseModel):
    """A plan made anew: in force once it is taken."""

    number: int
    after: int = Field(description="The replan that was in force when this was made; 0 is none")
    taken_at: datetime | None
    plan: Plan


@router.get("/events/{name}/today", responses=REFUSALS)
def read_today(name: Name, desk: AtDesk) -> TodayAnswer:
    """Return where every pot stands now, by plan and diary."""
    running = LiveDayService(desk).running(name)
    return TodayAnswer(
        now=desk.now(),
        plan=desk.plan_of(name).mark,
        haze=round(running.day_status.haze, 3),
        strengths={s.cooker_id: round(s.strength, 3) for s in running.day_status.strengths},
        pots=running.pots,
        plan_again=running.offered,
    )


@router.get("/events/{name}/go", responses=REFUSALS)
def read_go(name: Name, desk: AtDesk) -> GoDecision:
    """Return go, fewer dishes or a gas day, and by when what must be decided."""
    plan = desk.plan_of(name).plan
    if plan is None:
        raise NotFound(f"No plan of {name} yet. Look again in a moment.")
    return decide(desk.event_of(name).event, plan)


@router.post("/events/{name}/replans", status_code=201, responses=REFUSALS)
def offer_replan(name: Name, desk: AtDesk) -> OfferAnswer:
    """Make the plan anew from where the day stands; nothing changes until it is taken."""
    one = LiveDayService(desk).offer(name)
    plan = Plan.model_validate_json(one.body)
    return OfferAnswer(number=one.number, after=one.after, taken_at=None, plan=plan)


@router.post("/events/{name}/replans/{number}/take", responses={**REFUSALS, 412: PROBLEM})
def take_replan(name: Name, number: Number, desk: AtDesk) -> OfferAnswer:
    """Put a plan made anew in force; 412 where another was taken since it was made."""
    one = LiveDayService(desk).take(name, number)
    plan = Plan.model_validate_json(one.body)
    return OfferAnswer(number=one.number, after=one.after, taken_at=one.taken_at, plan=plan)
