"""Paper, pages to send, calendars and the CSV: a page to choose from, and the files."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Query, Response

from events.errors import NotFound
from service.access import for_role
from service.paper.calendar import calendar, run_sheet_csv
from service.paper.pdf import Paper, pdf
from service.paper.standalone_pages import packed
from service.text import formatting
from service.web.context import PageContext, PageContextDep
from service.web.rendering import attachment, page_router
from solver.plan import Plan

router = page_router()


def plan_in_force(context: PageContextDep) -> Plan:
    """Return the plan that a file is made of; raises NotFound while there is none."""
    if context.plan is None:
        raise NotFound(f"No plan of {context.name} yet. Look again in a moment.")
    return context.plan


PlanDep = Annotated[Plan, Depends(plan_in_force)]


@router.get("/e/{name}/paper")
def paper(context: PageContextDep) -> Response:
    """Show all that can be printed, sent or carried away."""
    if context.plan is None:
        return context.counting()
    return context.page("paper.html", page_path="/paper")


@router.get("/e/{name}/paper.pdf")
def paper_pdf(
    context: PageContextDep,
    plan: PlanDep,
    paper: Paper = "a4",
    base: Annotated[str, Query(max_length=200)] = "",
) -> Response:
    """Return the whole paper. `base` is this service's address for the cards' codes."""
    name, known = context.name, base.startswith(("http://", "https://"))
    base_url = f"{base.rstrip('/')}/e/{name}" if known else ""
    data = pdf(context.event, plan, paper=paper, base_url=base_url, made=_made(context))
    return attachment(data, "application/pdf", f"{name}.pdf")


@router.get("/e/{name}/pages.zip")
def pages_zip(context: PageContextDep, plan: PlanDep) -> Response:
    """Return the self-contained pages, calendars and the CSV in one file."""
    data = packed(context.event, plan, name=context.name, made=_made(context))
    return attachment(data, "application/zip", f"{context.name}-pages.zip")


@router.get("/e/{name}/day.ics")
@for_role("helper")
def day_ics(
    context: PageContextDep,
    plan: PlanDep,
    helper: Annotated[str | None, Query(max_length=40)] = None,
) -> Response:
    """Return the day, or one helper's day, as a calendar."""
    data = calendar(context.event, plan, name=context.name, helper_id=helper)
    return attachment(data, "text/calendar", f"{helper or context.name}.ics")


@router.get("/e/{name}/run-sheet.csv")
def sheet_csv(context: PageContextDep, plan: PlanDep) -> Response:
    """Return the run sheet as CSV."""
    return attachment(run_sheet_csv(context.event, plan), "text/csv", f"{context.name}.csv")


def _made(context: PageContext) -> str:
    made_at = context.in_force.made_at
    return formatting.clock(context.event, made_at) if made_at else ""
