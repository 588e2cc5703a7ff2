"""The run sheet: the day in time order."""

from __future__ import annotations

from fastapi import Response

from events.model import Event
from service import access
from service.dependencies import AtDesk, Name
from service.text import formatting, turn_orders
from service.text.run_sheet import doings
from service.web.context import PageContext
from service.web.plan_rows import stretches_told, unplaced_rows, who_does
from solver.plan import Turn

router = access.gated_pages()


@router.get("/e/{name}/sheet")
def run_sheet(name: Name, desk: AtDesk) -> Response:
    """Show the run sheet: the day in time order, for printing too."""
    seen = PageContext(desk, name)
    if seen.found.plan is None:
        return seen.counting()
    event, plan = seen.event, seen.found.plan
    rows: list[dict[str, object]] = []
    hour = ""
    for d in doings(event, plan):
        mine = formatting.clock(event, d.at)[:2]
        several = d.turns if d.kind == "walk" else ()
        rows.append(
            {
                "it": d,
                "who": who_does(event, d),
                "hour": mine != hour,
                "turns": [_turn_line(event, t) for t in several],
            }
        )
        hour = mine
    return seen.page(
        "sheet.html",
        here="/sheet",
        plan=plan,
        rows=rows,
        unplaced=unplaced_rows(event, plan),
        window=stretches_told(event, plan.windows[0].stretches),
        gasless=[d.name for d in event.dishes if d.id in plan.gas_day.not_on_gas],
    )


def _turn_line(event: Event, turn: Turn) -> str:
    name = event.cooker(turn.cooker_id).name
    first, second = turn_orders.how_to_turn(event, turn)
    return f"{name} {first}, {second} ({turn_orders.ring(event, turn)})"
