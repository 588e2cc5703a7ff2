"""A plan's parts as rows for templates: placed pots, refused dishes, stretches of sun."""

from __future__ import annotations

from events.model import Event
from service.text import formatting, notices
from service.text import messages as words
from service.text.run_sheet import RunSheetItem
from solver.plan import EVERYBODY, Placement, Plan, Stretch


def who_does(event: Event, d: RunSheetItem) -> str:
    """Return the names of those who do a thing, or "all"."""
    if d.kind in EVERYBODY:
        return "all"
    return ", ".join(h.name for h in event.helpers if h.id in d.helper_ids)


def batch_told(event: Event, plan: Plan, p: Placement) -> dict[str, object]:
    """Return a placement with its names, chance and probe order."""
    dish = event.dish(p.dish_id)
    pot = event.pot(p.pot_id).name
    chance = {c.dish_id: c.of_100 for c in plan.risk.dishes} if plan.risk else {}
    return {
        "it": p,
        "chance": chance.get(p.dish_id),
        "dish": dish.name + formatting.part(p),
        "cooker": event.cooker(p.cooker_id).name,
        "pot": pot[0].lower() + pot[1:],
        "probe": words.probe_order(event, dish),
    }


def unplaced_rows(event: Event, plan: Plan) -> list[dict[str, object]]:
    """Return the dishes that found no place, each with the reason at every cooker."""
    return [
        {
            "dish": event.dish(u.dish_id),
            "meal": f"{meal.name} {formatting.hour(event, meal.start)}",
            "reasons": [
                (
                    event.cooker(r.cooker_id).name if r.cooker_id else "The day",
                    notices.refusal(event, r),
                )
                for r in u.reasons
            ],
        }
        for u in plan.unplaced
        for meal in [event.meal(event.dish(u.dish_id).meal)]
    ]


def stretches_told(event: Event, stretches: tuple[Stretch, ...]) -> str:
    """Return stretches of sun as clock times."""
    spans = [
        f"{formatting.clock(event, s.starts_at)} to {formatting.clock(event, s.ends_at)}"
        for s in stretches
    ]
    return ", ".join(spans) or "none on this day"
