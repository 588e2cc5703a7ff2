"""Paper, pages to send, calendars and the CSV: a page to choose from, and the files."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Query, Request, Response
from fastapi.responses import JSONResponse

from events.errors import NotFound
from service.access import for_role
from service.dependencies import ServicesDep
from service.paper.calendar import calendar, run_sheet_csv
from service.paper.content import PARTS, Part, needed_parts
from service.paper.pdf import Paper, pages_of, pdf
from service.paper.standalone_pages import packed
from service.text import formatting
from service.web.address import phones_base_url
from service.web.context import PageContext, PageContextDep
from service.web.rendering import attachment, page_router
from solver.plan import Plan

router = page_router()
PART_NAMES: dict[Part, tuple[str, str]] = {
    "run-sheet": ("Run sheet", "for whoever runs the day"),
    "helpers": ("Helpers’ sheets", "one for each, with how far to turn"),
    "cards": ("Station cards", "A5 or half a letter; print both sides"),
    "aiming": ("Aiming cards", "at true scale: print at 100 %"),
    "rota": ("Rota", "for groups and by stop"),
    "show": ("What to show and say", "a page for each cooker, for talks"),
    "before": ("Before and after", "shopping, kit, preparing, setting up, packing down"),
    "food": ("Allergens and leftovers", ""),
    "gas": ("Gas day", "when there is no sun at all"),
    "safety": ("Safety, ground, sign", "to read aloud, and for the rope"),
}


def plan_in_force(context: PageContextDep) -> Plan:
    """Return the plan that a file is made of; raises NotFound while there is none."""
    if context.plan is None:
        raise NotFound(f"No plan of {context.name} yet. Look again in a moment.")
    return context.plan


PlanDep = Annotated[Plan, Depends(plan_in_force)]


@router.get("/e/{name}/paper")
def paper(context: PageContextDep, request: Request) -> Response:
    """Show all that can be printed, sent or carried away."""
    if context.plan is None:
        return context.counting()
    base = phones_base_url(request)
    parts = {p: names for p, names in PART_NAMES.items() if p != "rota" or context.event.groups}
    needed = needed_parts(context.event)
    return context.page("paper.html", page_path="/paper", parts=parts, needed=needed, base=base)


@router.get("/e/{name}/paper-pages")
def paper_pages(
    context: PageContextDep,
    plan: PlanDep,
    paper: Paper = "a4",
    part: Annotated[list[Part] | None, Query(max_length=len(PARTS))] = None,
) -> Response:
    """Return how many pages each part takes, as JSON."""
    counts = {p: pages_of(pdf(context.event, plan, paper=paper, parts=[p])) for p in part or PARTS}
    return JSONResponse(counts)


@router.get("/e/{name}/paper.pdf")
def paper_pdf(
    context: PageContextDep,
    plan: PlanDep,
    paper: Paper = "a4",
    part: Annotated[list[Part] | None, Query(max_length=len(PARTS))] = None,
    base: Annotated[str, Query(max_length=200)] = "",
) -> Response:
    """Return paper: the parts asked for, else all. `base` is this service's address for codes."""
    name, known = context.name, base.startswith(("http://", "https://"))
    base_url = f"{base.rstrip('/')}/e/{name}" if known else ""
    data = pdf(
        context.event,
        plan,
        paper=paper,
        parts=part or PARTS,
        base_url=base_url,
        made_clock=_made_clock(context),
    )
    return attachment(data, "application/pdf", f"{name}.pdf")


@router.get("/e/{name}/pages.zip")
def pages_zip(context: PageContextDep, plan: PlanDep) -> Response:
    """Return the self-contained pages, calendars and the CSV in one file."""
    data = packed(context.event, plan, name=context.name, made_at=context.in_force.made_at)
    return attachment(data, "application/zip", f"{context.name}-pages.zip")


@router.get("/e/{name}/day.ics")
@for_role("helper")
def day_ics(
    context: PageContextDep,
    plan: PlanDep,
    services: ServicesDep,
    helper: Annotated[str | None, Query(max_length=40)] = None,
) -> Response:
    """Return the day, or one helper's day, as a calendar."""
    edition = services.calendars.edition(context.name, context.in_force, helper)
    data = calendar(context.event, plan, name=context.name, helper_id=helper, edition=edition)
    return attachment(data, "text/calendar", f"{helper or context.name}.ics")


@router.get("/e/{name}/run-sheet.csv")
def sheet_csv(context: PageContextDep, plan: PlanDep) -> Response:
    """Return the run sheet as CSV."""
    return attachment(run_sheet_csv(context.event, plan), "text/csv", f"{context.name}.csv")


def _made_clock(context: PageContext) -> str:
    made_at = context.in_force.made_at
    return formatting.day_clock(context.event, made_at) if made_at else ""
