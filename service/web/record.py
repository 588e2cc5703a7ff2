"""After and for the record: temperatures, planned against real."""

from __future__ import annotations

from datetime import datetime

from fastapi import Response
from fastapi.responses import RedirectResponse

from events.errors import NotFound
from service import access
from service.dependencies import AtDesk, Name
from service.text import formatting
from service.text.temperature_record import discard_rows, reading_rows, record_csv
from service.web.context import PageContext
from service.web.live_day import AtRuns, strength_rows
from solver.thermal.food import FOOD_RULES

router = access.gated_pages()


@router.get("/e/{name}/temperatures")
def temperatures(name: Name, desk: AtDesk, runs: AtRuns) -> Response:
    """Show the temperature record: readings, limits, what was done, discard-by times."""
    seen = PageContext(desk, name)
    if seen.found.plan is None:
        return seen.counting()
    entries = desk.diary_of(name)
    return seen.page(
        "temperatures.html",
        here="/more",
        rows=reading_rows(seen.event, seen.found.plan, entries),
        discards=discard_rows(seen.event, seen.found.plan, runs.running(name)),
        rules=FOOD_RULES[seen.event.site.food_rules],
    )


@router.get("/e/{name}/temperatures.csv")
def temperatures_csv(name: Name, desk: AtDesk) -> Response:
    """Return the temperature record as CSV."""
    seen = PageContext(desk, name)
    if seen.found.plan is None:
        raise NotFound(f"No plan of {name} yet. Look again in a moment.")
    text = record_csv(seen.event, seen.found.plan, desk.diary_of(name))
    return Response(
        text,
        media_type="text/csv",
        headers={"content-disposition": f'attachment; filename="{name}-temperatures.csv"'},
    )


@router.get("/e/{name}/afterwards")
def afterwards(name: Name, desk: AtDesk, runs: AtRuns) -> Response:
    """Show planned against real for each dish and cooker."""
    seen = PageContext(desk, name)
    plan = seen.found.plan
    if plan is None:
        return seen.counting()
    running = runs.running(name)
    real: dict[tuple[str, str], datetime] = {}
    jobs = {j.id: j.placement_ids for j in plan.jobs}
    for k in runs.entries(name):
        e = k.entry
        mine = set(jobs.get(e.job_id or "", ())) | ({e.placement_id} if e.placement_id else set())
        for pot in mine:
            real.setdefault((pot, e.kind), k.happened_at)
    rows = [
        {
            "dish": seen.event.dish(p.dish_id).name + formatting.part(p),
            "load": (p.loaded_at, real.get((p.id, "loaded"))),
            "lift": (p.lifted_at, real.get((p.id, "lifted"))),
            "serve": (p.promised_at, real.get((p.id, "served"))),
        }
        for p in plan.placements
    ]
    enough = [s for s in running.day_status.strengths if s.readings >= 2]
    return seen.page(
        "afterwards.html",
        here="/more",
        rows=rows,
        strengths=strength_rows(seen, running),
        can_keep=bool(enough),
        own=desk.store.own_cookers.all(),
    )


@router.post("/e/{name}/afterwards")
def keep_figures(name: Name, runs: AtRuns) -> Response:
    """Keep what the day said of the cookers as this house's own figures."""
    runs.keep_own(name)
    return RedirectResponse(f"/e/{name}/afterwards", status_code=303)
