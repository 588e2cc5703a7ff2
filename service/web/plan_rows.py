"""A plan's parts as rows for templates: placed pots, refused dishes, who does what."""

from __future__ import annotations

from events.model import Event
from service.text import allergens, formatting, messages, notices
from solver.plan import Placement, Plan


def batch_row(event: Event, plan: Plan, p: Placement) -> dict[str, object]:
    """Return a placement with its names, chance and probe order."""
    dish = event.dish(p.dish_id)
    chance = {c.dish_id: c.of_100 for c in plan.risk.dishes} if plan.risk else {}
    return {
        "it": p,
        "chance": chance.get(p.dish_id),
        "dish": dish.name + formatting.part(p),
        "cooker": event.cooker(p.cooker_id).name,
        "pot": formatting.lower_first(event.pot(p.pot_id).name),
        "probe": messages.probe_order(event, dish),
        "steam": messages.steam(event, p),
        "allergens": allergens.sentence(event, dish),
    }


def unplaced_rows(event: Event, plan: Plan) -> list[dict[str, object]]:
    """Return the dishes that found no place, each with one reason for each group of cookers."""
    return [
        {
            "dish": event.dish(u.dish_id),
            "meal": f"{meal.name} {formatting.hour(event, meal.start)}",
            "reasons": notices.refusals(event, u),
        }
        for u in plan.unplaced
        for meal in [event.meal(event.dish(u.dish_id).meal)]
    ]
