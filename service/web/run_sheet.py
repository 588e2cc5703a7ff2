"""The run sheet: the day in time order."""

from __future__ import annotations

from fastapi import Response

from events.model import Event
from service.access import for_role
from service.dependencies import ServicesDep
from service.text import formatting, turn_orders
from service.text.run_sheet import run_sheet_items, who_does
from service.text.sun import site_sun
from service.web.context import PageContextDep
from service.web.plan_rows import unplaced_rows
from service.web.rendering import page_router
from service.web.status_rows import in_hand_rows
from solver.plan import Plan

router = page_router()


@router.get("/e/{name}/sheet")
@for_role("helper")
def run_sheet(context: PageContextDep, services: ServicesDep) -> Response:
    """Show the run sheet: the day in time order, for printing too."""
    event, plan = context.event, context.plan
    if plan is None:
        return context.counting()
    return context.page(
        "sheet.html",
        page_path="/sheet",
        in_hand=in_hand_rows(context, services),
        plan=plan,
        rows=_rows(event, plan),
        unplaced=unplaced_rows(event, plan),
        site_sun=site_sun(event, plan.windows[0].stretches),
        gasless=[d.name for d in event.dishes if d.id in plan.gas_day.not_on_gas],
    )


def _rows(event: Event, plan: Plan) -> list[dict[str, object]]:
    """Return everything to do, and where a new hour begins."""
    rows: list[dict[str, object]] = []
    hour = ""
    for item in run_sheet_items(event, plan):
        item_hour = formatting.clock(event, item.at)[:2]
        turns = item.turns if len(item.turns) > 1 else ()  # one turn says itself
        rows.append(
            {
                "it": item,
                "who": who_does(event, item),
                "hour": item_hour != hour,
                "turns": turn_orders.turn_lines(event, turns),
            }
        )
        hour = item_hour
    return rows
