"""Pages that ask for more counting: what would help, the year, a cooker's litre test."""

from __future__ import annotations

from typing import Annotated

from fastapi import Form, Request, Response
from fastapi.responses import RedirectResponse
from pydantic import ValidationError

from events.errors import WHOLE_FILE, Busy, Fault, FaultyEvent
from events.reading.model_faults import faults_of
from service import access
from service.application.desk import LitreTold
from service.charts.season import season_picture
from service.dependencies import AtDesk, Name
from service.text import decision as decision_text
from service.text import improvements as improvement_text
from service.web.context import PageContext
from solver.risk.decision import decide

router = access.gated_pages()


@router.get("/e/{name}/help")
def what_would_help(name: Name, desk: AtDesk) -> Response:
    """Show the smallest changes that would let refused or unsure dishes in."""
    seen = PageContext(desk, name)
    if seen.found.plan is None:
        return seen.counting()
    try:
        fixes = desk.fixes_of(name, wait_s=desk.page_wait_s)
    except Busy:
        return seen.counting("What would help is being tried, change by change.")
    rows = [
        {
            "id": f.id,
            "change": improvement_text.change(seen.event, f.change),
            "effect": improvement_text.effect(seen.event, f),
        }
        for f in fixes
    ]
    return seen.page("help.html", here="/more", fixes=rows)


@router.post("/e/{name}/help")
def take_it(
    name: Name, desk: AtDesk, fix: Annotated[str, Form()], mark: Annotated[str, Form()]
) -> Response:
    """Make one of the changes, if nobody changed the event in between."""
    desk.apply_fix(name, fix, if_match=mark)
    return RedirectResponse(f"/e/{name}", status_code=303)


@router.get("/e/{name}/more")
def more(name: Name, desk: AtDesk) -> Response:
    """Show the way to all that has no place in the head."""
    return PageContext(desk, name).page("more.html", here="/more")


@router.get("/e/{name}/year")
def the_year(name: Name, desk: AtDesk) -> Response:
    """Show by what hour the sun has each dish ready, week by week."""
    seen = PageContext(desk, name)
    try:
        found = desk.season_of(name, wait_s=desk.page_wait_s)
    except Busy:
        return seen.counting("The year is being counted, week by week.")
    rows = [
        {
            "monday": w.monday,
            "cells": [w.ready_by[d.id] for d in seen.event.dishes],
            "sunlit": w.sunlit_pct,
        }
        for w in found.weeks
    ]
    return seen.page(
        "year.html", here="/more", picture=season_picture(seen.event, found), rows=rows
    )


@router.get("/e/{name}/stations/{cooker_id}/measure")
def measure(name: Name, cooker_id: Name, desk: AtDesk, request: Request) -> Response:
    """Show the litre test's form, and what two readings say of the cooker."""
    seen = PageContext(desk, name)
    cooker = desk.cooker_of(seen.kept, cooker_id)
    given = {k: v for k, v in request.query_params.items() if v}
    strength, faults = None, list[Fault]()
    if given:
        try:
            strength = desk.litre_test(name, cooker_id, LitreTold.model_validate(given))
        except ValidationError as error:
            faults = faults_of(error, WHOLE_FILE)
        except FaultyEvent as error:
            faults = error.faults
    usual = {"day": seen.event.date.isoformat(), "at": "11:00", "minutes": "20", "litres": "1"}
    return seen.page(
        "measure.html",
        here="/stations",
        cooker=cooker,
        given={**usual, **given},
        strength=strength,
        faults=faults,
    )


@router.get("/e/{name}/go")
def go_or_not(name: Name, desk: AtDesk) -> Response:
    """Show go, fewer dishes or a gas day, and by when what must be decided."""
    seen = PageContext(desk, name)
    plan = seen.found.plan
    if plan is None:
        return seen.counting()
    decision = decide(seen.event, plan)
    return seen.page(
        "go.html",
        here="/more",
        decision=decision,
        heading=decision_text.heading(decision),
        steps=[decision_text.step(seen.event, s) for s in decision.steps],
        gas_day=decision_text.gas_day(seen.event, plan.gas_day),
        deadlines=[decision_text.deadline(seen.event, d) for d in decision.deadlines],
    )
