"""Paper, pages to send, calendars and the CSV: a page to choose from, and the files."""

from __future__ import annotations

from typing import Annotated

from fastapi import Query, Response

from events.errors import NotFound
from service import access
from service.dependencies import AtDesk, Name
from service.paper.calendar import calendar, run_sheet_csv
from service.paper.pdf import Paper, pdf
from service.paper.standalone_pages import packed
from service.text import formatting
from service.web.context import PageContext
from solver.plan import Plan

router = access.gated_pages()


def _plan(seen: PageContext) -> Plan:
    if seen.found.plan is None:
        raise NotFound(f"No plan of {seen.kept.id} yet. Look again in a moment.")
    return seen.found.plan


def _made(seen: PageContext) -> str:
    return formatting.clock(seen.event, seen.found.made_at) if seen.found.made_at else ""


def _file(data: bytes | str, kind: str, name: str) -> Response:
    return Response(
        data, media_type=kind, headers={"content-disposition": f'attachment; filename="{name}"'}
    )


@router.get("/e/{name}/paper")
def paper(name: Name, desk: AtDesk) -> Response:
    """Show all that can be printed, sent or carried away."""
    seen = PageContext(desk, name)
    if seen.found.plan is None:
        return seen.counting()
    return seen.page("paper.html", here="/paper")


@router.get("/e/{name}/paper.pdf")
def paper_pdf(
    name: Name, desk: AtDesk, paper: Paper = "a4", base: Annotated[str, Query(max_length=200)] = ""
) -> Response:
    """Return the whole paper. `base` is this service's address for the cards' codes."""
    seen = PageContext(desk, name)
    base_url = f"{base.rstrip('/')}/e/{name}" if base.startswith(("http://", "https://")) else ""
    made = pdf(seen.event, _plan(seen), paper=paper, base_url=base_url, made=_made(seen))
    return _file(made, "application/pdf", f"{name}.pdf")


@router.get("/e/{name}/pages.zip")
def pages_zip(name: Name, desk: AtDesk) -> Response:
    """Return the self-contained pages, calendars and the CSV in one file."""
    seen = PageContext(desk, name)
    data = packed(seen.event, _plan(seen), name=name, made=_made(seen))
    return _file(data, "application/zip", f"{name}-pages.zip")


@router.get("/e/{name}/day.ics")
def day_ics(
    name: Name, desk: AtDesk, helper: Annotated[str | None, Query(max_length=40)] = None
) -> Response:
    """Return the day, or one helper's day, as a calendar."""
    seen = PageContext(desk, name)
    data = calendar(seen.event, _plan(seen), name=name, helper_id=helper)
    return _file(data, "text/calendar", f"{helper or name}.ics")


@router.get("/e/{name}/run-sheet.csv")
def sheet_csv(name: Name, desk: AtDesk) -> Response:
    """Return the run sheet as CSV."""
    seen = PageContext(desk, name)
    return _file(run_sheet_csv(seen.event, _plan(seen)), "text/csv", f"{name}.csv")
