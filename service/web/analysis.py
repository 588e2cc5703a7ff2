"""Pages that ask for more counting: what would help, the year, a litre test, go or not."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import Depends, Form, Request, Response
from pydantic import ValidationError

from events.errors import WHOLE_FILE, Fault, FaultyEvent
from events.reading.model_faults import faults_of
from service.application.analyses import LitreReadings
from service.application.event_analyses import decide
from service.charts.season import season_picture
from service.dependencies import Name, ServicesDep, in_time
from service.text import decision as decision_text
from service.text import improvements as improvement_text
from service.web.context import PageContextDep
from service.web.rendering import page_router, see_other
from solver.feasibility.improvements import Improvement
from solver.feasibility.season import Season

router = page_router()


async def improvements_in_time(
    context: PageContextDep, services: ServicesDep
) -> list[Improvement] | None:
    """Return what would help, or None while it is being tried or there is no plan."""
    if context.plan is None or context.in_force.state != "done":
        return None
    ask = partial(services.analyses.improvements, context.name)
    return await in_time(ask, wait_s=services.page_wait_s)


async def year_in_time(context: PageContextDep, services: ServicesDep) -> Season | None:
    """Return the year, or None while it is being counted."""
    ask = partial(services.analyses.season, context.name)
    return await in_time(ask, wait_s=services.page_wait_s)


@router.get("/e/{name}/help")
def what_would_help(
    context: PageContextDep,
    improvements: Annotated[list[Improvement] | None, Depends(improvements_in_time)],
) -> Response:
    """Show the smallest changes that would let refused or unsure dishes in."""
    if context.plan is None:
        return context.counting()
    if improvements is None:
        return context.counting("Trying small changes, one at a time.")
    rows = [
        {
            "id": i.id,
            "change": improvement_text.change(context.event, i.change),
            "effect": improvement_text.effect(context.event, i),
        }
        for i in improvements
    ]
    return context.page("help.html", page_path="/help", fixes=rows)


@router.post("/e/{name}/help")
def improve(
    name: Name,
    services: ServicesDep,
    fix: Annotated[str, Form()],
    etag: Annotated[str, Form()],
) -> Response:
    """Make one of the changes, or several at once, if nobody changed the event in between."""
    services.events.improve(name, *fix.split(","), etag=etag)
    return see_other(f"/e/{name}")


@router.get("/e/{name}/year")
def the_year(
    context: PageContextDep, season: Annotated[Season | None, Depends(year_in_time)]
) -> Response:
    """Show by what hour the sun has each dish ready, week by week."""
    if season is None:
        return context.counting("Working out the year, week by week.")
    rows = [
        {
            "monday": week.monday,
            "cells": [week.ready_by[d.id] for d in context.stored.event.dishes],
            "sunlit": week.sunlit_pct,
        }
        for week in season.weeks
    ]
    picture = season_picture(context.stored.event, season)
    return context.page("year.html", page_path="/year", picture=picture, rows=rows)


@router.get("/e/{name}/stations/{cooker_id}/measure")
def measure(
    context: PageContextDep, cooker_id: Name, services: ServicesDep, request: Request
) -> Response:
    """Show the litre test's form, and what two readings say of the cooker."""
    cooker = context.stored.event.cooker(cooker_id)
    given = {k: v for k, v in request.query_params.items() if v}
    strength, faults = None, list[Fault]()
    if given:
        try:
            readings = LitreReadings.model_validate(given)
            strength = services.analyses.litre_test(context.name, cooker_id, readings)
        except ValidationError as error:
            faults = faults_of(error, WHOLE_FILE)
        except FaultyEvent as error:
            faults = error.faults
    usual = {
        "day": context.stored.event.date.isoformat(),
        "at": "11:00",
        "minutes": "20",
        "litres": "1",
    }
    return context.page(
        "measure.html",
        page_path="/stations",
        cooker=cooker,
        given={**usual, **given},
        strength=strength,
        faults=faults,
    )


@router.get("/e/{name}/go")
def go_or_not(context: PageContextDep) -> Response:
    """Show go, fewer dishes or a gas day, and by when what must be decided."""
    event, plan = context.event, context.plan
    if plan is None:
        return context.counting()
    decision = decide(event, plan)
    return context.page(
        "go.html",
        page_path="/go",
        decision=decision,
        heading=decision_text.heading(decision),
        steps=[decision_text.step(event, s) for s in decision.steps],
        gas_day=decision_text.gas_day(event, plan.gas_day),
        deadlines=[decision_text.deadline(event, d) for d in decision.deadlines],
    )
