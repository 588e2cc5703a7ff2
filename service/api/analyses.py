"""JSON of analyses: minutes, what would help, the year, where a cooker's watts go."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Response

from service.api.events import EventEntry, IfMatch, entry_of
from service.api.responses import COUNTING, PROBLEM, REFUSALS, StillCounting, answered
from service.application.analyses import LitreReadings
from service.dependencies import EXAMPLE_AT, Instant, Name, ServicesDep
from service.text.show_card import heat_sentence
from solver.feasibility.duration_table import Estimate
from solver.feasibility.improvements import Improvement
from solver.feasibility.season import Season
from solver.simulation.energy_flow import HeatFlow
from solver.thermal.readings import CalibrationResult

SLOW = {**REFUSALS, **COUNTING, 503: PROBLEM}


class HeatAnswer(HeatFlow):
    """Where a cooker's watts go, and the same in words."""

    sentence: str


router = APIRouter(prefix="/api", tags=["noonfare"])


@router.get("/events/{name}/estimates", responses=SLOW)
async def read_estimates(
    name: Name, services: ServicesDep, response: Response
) -> list[Estimate] | StillCounting:
    """Return minutes to done for each dish, cooker and start, or why not."""
    ask = partial(services.analyses.estimates, name)
    return await answered(ask, response, wait_s=services.api_wait_s)


@router.get("/events/{name}/cookers/{cooker}/heat", responses=REFUSALS)
def read_heat(
    name: Name,
    cooker: Name,
    services: ServicesDep,
    at: Annotated[Instant | None, Query(examples=[EXAMPLE_AT])] = None,
) -> HeatAnswer:
    """Return where a cooker's watts go at an instant, with a sentence to read out."""
    flow = services.analyses.heat_flow(name, cooker, at)
    event = services.plans.in_force(name).event
    said = heat_sentence(event, event.cooker(cooker), flow)
    return HeatAnswer(**flow.model_dump(), sentence=said)


@router.get("/events/{name}/cookers/{cooker}/litre-test", responses=REFUSALS)
def read_litre_test(
    name: Name, cooker: Name, services: ServicesDep, readings: Annotated[LitreReadings, Query()]
) -> CalibrationResult:
    """Return a cooker's strength, with its band, from two readings of some water."""
    return services.analyses.litre_test(name, cooker, readings)


@router.get("/events/{name}/fixes", responses=SLOW)
async def read_fixes(
    name: Name, services: ServicesDep, response: Response
) -> list[Improvement] | StillCounting:
    """Return the smallest changes that would help refused or unsure dishes; takes some seconds."""
    ask = partial(services.analyses.improvements, name)
    return await answered(ask, response, wait_s=services.api_wait_s)


@router.post("/events/{name}/fixes/{fix}", responses={**REFUSALS, 412: PROBLEM, 428: PROBLEM})
def apply_fix(name: Name, fix: Name, services: ServicesDep, if_match: IfMatch = None) -> EventEntry:
    """Make one of the changes; the event is planned again."""
    return entry_of(services.events.improve(name, fix, etag=if_match))


@router.get("/events/{name}/season", responses=SLOW)
async def read_season(
    name: Name, services: ServicesDep, response: Response
) -> Season | StillCounting:
    """Return by what hour the sun has each dish ready, week by week on a clear day."""
    ask = partial(services.analyses.season, name)
    return await answered(ask, response, wait_s=services.api_wait_s)
