"""After and for the record: temperatures, planned against real."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from fastapi import Response

from events.diary import StoredEntry
from events.food_rules import rules_of
from events.model import Event
from service.access import NewOwnerDep, OwnersDep
from service.dependencies import Name, ServicesDep
from service.text import formatting
from service.text.temperature_record import discard_rows, reading_rows, record_csv
from service.web.context import PageContextDep
from service.web.downloads import PlanDep
from service.web.rendering import attachment, page_router, see_other
from service.web.status_rows import strength_rows
from solver.plan import Plan

router = page_router()
READINGS_LEAST = 2  # of a cooker, for its figures to be worth storing


@router.get("/e/{name}/temperatures")
def temperatures(context: PageContextDep, services: ServicesDep) -> Response:
    """Show the temperature record: readings, limits, what was done, discard-by times."""
    event, plan = context.event, context.plan
    if plan is None:
        return context.counting()
    live_day = services.live_day.status(context.name)
    return context.page(
        "temperatures.html",
        page_path="/temperatures",
        rows=reading_rows(event, plan, services.diary.entries(context.name)),
        discards=discard_rows(event, plan, live_day),
        rules=rules_of(event),
    )


@router.get("/e/{name}/temperatures.csv")
def temperatures_csv(context: PageContextDep, plan: PlanDep, services: ServicesDep) -> Response:
    """Return the temperature record as CSV."""
    text = record_csv(context.event, plan, services.diary.entries(context.name))
    return attachment(text, "text/csv", f"{context.name}-temperatures.csv")


@router.get("/e/{name}/afterwards")
def afterwards(context: PageContextDep, services: ServicesDep, owners: OwnersDep) -> Response:
    """Show planned against real for each dish and cooker."""
    plan = context.plan
    if plan is None:
        return context.counting()
    status = services.live_day.status(context.name).day_status
    return context.page(
        "afterwards.html",
        page_path="/afterwards",
        rows=_planned_and_real(context.event, plan, services.diary.effective_entries(context.name)),
        strengths=strength_rows(context.event, status),
        can_keep=any(s.readings >= READINGS_LEAST for s in status.strengths),
        own=services.own_cookers.of(owners),
    )


@router.post("/e/{name}/afterwards")
def save_figures(name: Name, services: ServicesDep, owner: NewOwnerDep) -> Response:
    """Store what the day said of the cookers as one's own figures."""
    services.live_day.save_figures(name, owner=owner)
    return see_other(f"/e/{name}/afterwards")


def _planned_and_real(
    event: Event, plan: Plan, entries: Sequence[StoredEntry]
) -> list[dict[str, object]]:
    """Return when each batch was loaded, lifted and served, beside when it should have been."""
    batches = {j.id: j.placement_ids for j in plan.jobs}
    real: dict[tuple[str, str], datetime] = {}
    for stored in entries:
        entry = stored.entry
        pressed = {*batches.get(entry.job_id or "", ()), entry.placement_id} - {None}
        for batch in pressed:
            real.setdefault((batch or "", entry.kind), stored.happened_at)
    return [
        {
            "dish": event.dish(p.dish_id).name + formatting.part(p),
            "load": (p.loaded_at, real.get((p.id, "loaded"))),
            "lift": (p.lifted_at, real.get((p.id, "lifted"))),
            "serve": (p.promised_at, real.get((p.id, "served"))),
        }
        for p in plan.placements
    ]
