"""The day's own page: sun above, cookers below, what could not be placed and why."""

from __future__ import annotations

from fastapi import Response

from events.model import Event
from service.access import for_role
from service.charts.day_timeline import day_wide
from service.charts.day_timeline_phone import day_phone
from service.charts.sun_windows import window_picture
from service.text import formatting
from service.text.run_sheet import RunSheetItem, run_sheet_items, who_does
from service.web.context import PageContextDep
from service.web.plan_rows import batch_row, unplaced_rows
from service.web.rendering import page_router
from solver.plan import Plan, Window

router = page_router()


@router.get("/e/{name}")
@for_role("helper")
def the_day(context: PageContextDep) -> Response:
    """Show the day: sun above, cookers below, what could not be placed and why."""
    plan, event = context.plan, context.event
    if plan is None:
        return context.counting()
    items = run_sheet_items(event, plan)
    batch_page = f"/e/{context.name}/batch/" if context.role == "organiser" else ""
    coming = [item for item in items if context.now and item.at >= context.now]
    return context.page(
        "day.html",
        page_path="",
        plan=plan,
        wide=day_wide(event, plan, context.now, link=batch_page),
        phone=day_phone(event, plan, context.now),
        next=_next(event, coming[0]) if coming else None,
        troubled=_troubled(event, plan),
        chances=_chances(event, plan),
        placed=len({p.dish_id for p in plan.placements}),
        weakest=_weakest(event, plan),
        unplaced=unplaced_rows(event, plan),
        placements=[batch_row(event, plan, p) for p in plan.placements],
        window_picture=window_picture(event, plan),
        work=[(h.name, [i for i in items if h.id in i.helper_ids]) for h in event.helpers],
        windows=[_window_row(event, w) for w in plan.windows],
    )


def _next(event: Event, item: RunSheetItem) -> dict[str, object]:
    return {"at": item.at, "who": who_does(event, item), "title": item.title, "food": item.food}


def _troubled(event: Event, plan: Plan) -> bool:
    """Return whether a dish is refused, or less sure than the event wants."""
    chances = plan.risk.dishes if plan.risk else ()
    return bool(plan.unplaced) or any(c.of_100 < event.chance_pct for c in chances)


def _chances(event: Event, plan: Plan) -> list[tuple[str, int]]:
    """Return each meal's chance, as it is said."""
    return [(event.meal(m.meal_id).name, m.of_100) for m in plan.risk.meals] if plan.risk else []


def _weakest(event: Event, plan: Plan) -> dict[str, object] | None:
    """Return the cooker of the pot that has least to spare."""
    least = min(plan.placements, key=lambda p: p.margin_min, default=None)
    if least is None:
        return None
    return {"cooker": event.cooker(least.cooker_id).name, "minutes": least.margin_min}


def _window_row(event: Event, window: Window) -> dict[str, object]:
    name = "The site" if window.cooker_id is None else event.cooker(window.cooker_id).name
    return {"name": name, "text": formatting.stretches(event, window.stretches)}
