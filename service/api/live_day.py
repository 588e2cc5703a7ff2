"""JSON for the day itself: where it stands, go or not, plans made anew."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from typing import Annotated

from fastapi import APIRouter, Path, Response
from pydantic import BaseModel, Field

from service.api.responses import COUNTING, PROBLEM, REFUSALS, StillCounting, answered
from service.application.event_analyses import decide
from service.application.live_day import Offer
from service.dependencies import Name, ServicesDep
from solver.live.pots import PotStatus
from solver.plan import Plan
from solver.risk.decision import GoDecision

router = APIRouter(prefix="/api", tags=["the day"])
Number = Annotated[int, Path(ge=1, le=2**31 - 1)]


class TodayAnswer(BaseModel):
    """Where the day stands: every pot, every cooker's strength, and whether to plan again."""

    now: datetime
    plan: str = Field(description="Fingerprint of the plan in force")
    haze: float = Field(description="The sun today against the forecast's: 1 is as forecast")
    strengths: dict[str, float]
    pots: list[PotStatus]
    plan_again: bool
    looked_at: datetime | None = Field(description="When the chances were last worked out")
    chances: dict[str, int] = Field(description="By meal, of 100, under the plan in force, by now")
    offer: int | None = Field(description="Number of a better plan that was found unasked")


class OfferAnswer(BaseModel):
    """A plan made anew: in force once it is taken."""

    number: int
    after: int = Field(description="The replan that was in force when this was made; 0 is none")
    taken_at: datetime | None
    plan: Plan


@router.get("/events/{name}/today", responses=REFUSALS)
def read_today(name: Name, services: ServicesDep) -> TodayAnswer:
    """Return where every pot stands now, by plan and diary."""
    live_day = services.live_day.status(name)
    services.day_watch.shown(name)
    services.day_watch.look(name)
    revision = services.plans.in_force(name).revision
    seen = services.day_watch.seen(name, revision)
    return TodayAnswer(
        now=services.now(),
        plan=revision,
        haze=round(live_day.day_status.haze, 3),
        strengths={s.cooker_id: round(s.strength, 3) for s in live_day.day_status.strengths},
        pots=live_day.pots,
        plan_again=live_day.replan_suggested,
        looked_at=seen.look.at if seen else None,
        chances={m.meal_id: m.of_100 for m in seen.look.meals} if seen else {},
        offer=seen.offer_number if seen else None,
    )


@router.get("/events/{name}/go", responses=REFUSALS)
def read_go(name: Name, services: ServicesDep) -> GoDecision:
    """Return go, fewer dishes or a gas day, and by when what must be decided."""
    shown = services.plans.shown(name)
    return decide(shown.event, shown.plan)


@router.post(
    "/events/{name}/replans", status_code=201, responses={**REFUSALS, **COUNTING, 503: PROBLEM}
)
async def offer_replan(
    name: Name, services: ServicesDep, response: Response
) -> OfferAnswer | StillCounting:
    """Make the plan anew from where the day stands; nothing changes until it is taken."""
    ask = partial(services.live_day.offer, name)
    offer = await answered(ask, response, wait_s=services.api_wait_s)
    return offer if isinstance(offer, StillCounting) else _answer(offer)


@router.post("/events/{name}/replans/{number}/take", responses={**REFUSALS, 412: PROBLEM})
def take_replan(name: Name, number: Number, services: ServicesDep) -> OfferAnswer:
    """Put a plan made anew in force; 412 where another was taken since it was made."""
    return _answer(services.live_day.take(name, number))


def _answer(offer: Offer) -> OfferAnswer:
    return OfferAnswer(
        number=offer.number, after=offer.after, taken_at=offer.taken_at, plan=offer.plan
    )
