"""The day's own page: sun above, cookers below, what could not be placed and why."""

from __future__ import annotations

from fastapi import Response

from events.model import Event
from service import access
from service.charts.day_timeline import day_wide
from service.charts.day_timeline_phone import day_phone
from service.charts.sun_windows import window_picture
from service.dependencies import AtDesk, Name
from service.text.run_sheet import RunSheetItem, doings
from service.web.context import PageContext
from service.web.plan_rows import batch_told, stretches_told, unplaced_rows, who_does
from solver.plan import Plan

router = access.gated_pages()


@router.get("/e/{name}")
def the_day(name: Name, desk: AtDesk) -> Response:
    """Show the day: sun above, cookers below, what could not be placed and why."""
    seen = PageContext(desk, name)
    plan, event = seen.found.plan, seen.event
    if plan is None:
        return seen.counting()
    least = min(plan.placements, key=lambda p: p.margin_min, default=None)
    coming = [d for d in doings(event, plan) if seen.now and d.at >= seen.now]
    return seen.page(
        "day.html",
        here="",
        plan=plan,
        wide=day_wide(event, plan, seen.now, link=f"/e/{name}/batch/"),
        phone=day_phone(event, plan, seen.now),
        next=_next(event, coming[0]) if coming else None,
        troubled=bool(plan.unplaced)
        or any(c.of_100 < event.chance_pct for c in (plan.risk.dishes if plan.risk else ())),
        chances=_chances(event, plan),
        placed=len({p.dish_id for p in plan.placements}),
        weakest=least
        and {"cooker": event.cooker(least.cooker_id).name, "minutes": least.margin_min},
        unplaced=unplaced_rows(event, plan),
        placements=[batch_told(event, plan, p) for p in plan.placements],
        window_picture=window_picture(event, plan),
        work=[
            (h.name, [d for d in doings(event, plan) if h.id in d.helper_ids])
            for h in event.helpers
        ],
        windows=[
            {
                "name": "The site" if w.cooker_id is None else event.cooker(w.cooker_id).name,
                "text": stretches_told(event, w.stretches),
            }
            for w in plan.windows
        ],
    )


def _next(event: Event, d: RunSheetItem) -> dict[str, object]:
    return {"at": d.at, "who": who_does(event, d), "title": d.title, "food": d.food}


def _chances(event: Event, plan: Plan) -> list[tuple[str, int]]:
    """Return each meal's chance, as it is said."""
    return [(event.meal(m.meal_id).name, m.of_100) for m in plan.risk.meals] if plan.risk else []
