"""After and for the record: temperatures, planned against real."""

from __future__ import annotations

from fastapi import Response

from events.food_rules import rules_of
from service.access import NewOwnerDep, OwnersDep
from service.dependencies import Name, ServicesDep
from service.text.afterwards import planned_and_real
from service.text.temperature_record import discard_rows, reading_rows, record_csv
from service.web.context import PageContextDep
from service.web.downloads import PlanDep
from service.web.rendering import attachment, page_router, see_other
from service.web.status_rows import strength_rows

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
    live_day = services.live_day.status(context.name)
    status = live_day.day_status
    return context.page(
        "afterwards.html",
        page_path="/afterwards",
        rows=planned_and_real(
            context.event,
            services.plans.of_the_day(context.name),
            services.diary.effective_entries(context.name),
            live_day.pots,
        ),
        strengths=strength_rows(context.event, status),
        can_keep=any(s.readings >= READINGS_LEAST for s in status.strengths),
        own=services.own_cookers.of(owners),
    )


@router.post("/e/{name}/afterwards")
def save_figures(name: Name, services: ServicesDep, owner: NewOwnerDep) -> Response:
    """Store what the day said of the cookers as one's own figures."""
    services.live_day.save_figures(name, owner=owner)
    return see_other(f"/e/{name}/afterwards")
