"""Pages that ask for more counting: what would help, the year, a litre test, go or not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import partial
from itertools import groupby
from typing import Annotated, Literal

from fastapi import Depends, Form, Request, Response
from pydantic import ValidationError

from events.errors import WHOLE_FILE, Fault, FaultyEvent
from events.model import Event
from events.reading.model_faults import faults_of
from service.application.analyses import LitreReadings
from service.application.event_analyses import decide
from service.charts.season import season_picture
from service.dependencies import Name, ServicesDep, in_time
from service.forms.sunlit import twelve_percents
from service.text import decision as decision_text
from service.text import improvements as improvement_text
from service.text import season as season_text
from service.text.formatting import local_date, month_name, short_day
from service.text.verdict import state_of
from service.web.context import PageContextDep
from service.web.fixes import may_try
from service.web.rendering import page_router, see_other
from solver.feasibility.season import Season

router = page_router()
NEARLY_BEST = 5  # points under the year's best date


async def year_in_time(context: PageContextDep, services: ServicesDep) -> Season | None:
    """Return the year, or None while it is being counted."""
    ask = partial(services.analyses.season, context.name)
    return await in_time(ask, wait_s=services.page_wait_s)


@router.get("/e/{name}/help")
def what_would_help(context: PageContextDep, services: ServicesDep) -> Response:
    """Show the smallest changes that would help; each look tries the next, until all are tried."""
    if context.plan is None:
        return context.counting()
    event, plan = context.event, context.plan
    found = services.fixes.all_tries(context.name, event, plan, begin=may_try(context))
    rows = [
        {
            "id": i.id,
            "change": improvement_text.change(event, i.change),
            "effect": improvement_text.effect(event, i),
        }
        for i in found.tries.worth_making
    ]
    return context.page(
        "help.html",
        page_path="/help",
        fixes=rows,
        tries=found.tries,
        tried=[improvement_text.change(event, change) for change in found.tries.tried],
        is_stopped=found.is_stopped,
        is_trying=found.tries.next is not None and not found.is_stopped and may_try(context),
    )


@router.post("/e/{name}/help/go-on")
def go_on_trying(name: Name, context: PageContextDep, services: ServicesDep) -> Response:
    """Go on with trials that were stopped."""
    if context.plan is not None and may_try(context):
        services.fixes.all_tries(name, context.event, context.plan, again=True)
    return see_other(f"/e/{name}/help")


@router.post("/e/{name}/help")
def improve(
    name: Name,
    services: ServicesDep,
    fix: Annotated[str, Form()],
    etag: Annotated[str, Form()],
) -> Response:
    """Make one of the changes, or several at once, if nobody changed the event in between."""
    services.events.improve(name, *fix.split(","), etag=etag)
    return see_other(f"/e/{name}#new")  # whoever pressed goes on from what is new


@router.get("/e/{name}/year")
def the_year(
    context: PageContextDep, season: Annotated[Season | None, Depends(year_in_time)]
) -> Response:
    """Show by what hour the sun has each dish ready, week by week."""
    if season is None:
        return context.counting("Working out the year, week by week.")
    event = context.stored.event
    is_own = context.event == event
    placed = {p.dish_id for p in context.plan.placements} if context.plan and is_own else set[str]()
    rows = [
        {"week": week, "cells": [week.ready_by[d.id] for d in event.dishes]}
        for week in season.weeks
    ]
    return context.page(
        "year.html",
        page_path="/year",
        picture=season_picture(event, season, today=local_date(context.at, event.zone)),
        rows=rows,
        months=_months(event, season, local_date(context.at, event.zone)),
        says=season_text.SAYS,
        source=season_text.source(season),
        never=season_text.never(event, season, placed),
        sunlit=" ".join(str(pct) for pct in event.site.sunlit_pct),
    )


@router.post("/e/{name}/year")
def move_day(
    name: Name,
    services: ServicesDep,
    day: Annotated[date, Form(alias="date")],
    etag: Annotated[str, Form()],
) -> Response:
    """Move the day; it is planned again, and can be undone."""
    services.events.move_day(name, day, etag=etag)
    return see_other(f"/e/{name}")


@router.post("/e/{name}/year/cloud")
def set_cloud(
    name: Name,
    services: ServicesDep,
    etag: Annotated[str, Form()],
    sunlit: Annotated[str, Form(max_length=400)] = "",
) -> Response:
    """Take a site's sunny hours by month, as they are typed; nothing is typical again."""
    services.events.set_sunlit(name, twelve_percents(sunlit), etag=etag)
    return see_other(f"/e/{name}/year")


@dataclass(frozen=True)
class DateChoice:
    """One week's date to move the day to: how likely all is in time, and what it is now."""

    day: date
    words: str  # "Sat 12"
    of_100: int
    state: Literal["good", "tight", "bad"]
    is_here: bool  # the event's own date
    is_past: bool


@dataclass(frozen=True)
class Month:
    """The dates of one month."""

    name: str
    dates: tuple[DateChoice, ...]
    has_today: bool


def _state(event: Event, of_100: int, best: int) -> Literal["good", "tight", "bad"]:
    """Return how good a date is: for what is wanted, or else among the year's own."""
    state = state_of(event, of_100)
    return "tight" if state == "bad" and of_100 >= best - NEARLY_BEST > 0 else state


def _months(event: Event, season: Season, today: date) -> list[Month]:
    """Return the year's dates, on the event's weekday, by month."""
    best = max((w.all_of_100 for w in season.weeks), default=0)
    choices = [
        DateChoice(
            day=week.day,
            words=short_day(week.day),
            of_100=week.all_of_100,
            state=_state(event, week.all_of_100, best),
            is_here=week.day == event.date,
            is_past=week.day < today,
        )
        for week in season.weeks
    ]
    return [
        Month(
            name=month_name(first.month),
            dates=tuple(dates),
            has_today=(first.year, first.month) == (today.year, today.month),
        )
        for _, some in groupby(choices, key=lambda c: (c.day.year, c.day.month))
        for dates in [list(some)]
        for first in [dates[0].day]
    ]


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
