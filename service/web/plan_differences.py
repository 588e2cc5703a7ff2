"""Two plans beside each other, dish by dish, as rows for templates."""

from __future__ import annotations

from events.model import Dish, Event
from solver.plan import Placement, Plan


def difference_rows(event: Event, plan: Plan, other: Plan) -> list[dict[str, object]]:
    """Return each dish as it is and as it would be, with a sentence."""
    return [_row(event, dish, plan, other) for dish in event.dishes]


def _row(event: Event, dish: Dish, plan: Plan, other: Plan) -> dict[str, object]:
    was, new = _weakest(plan, dish.id), _weakest(other, dish.id)
    return {
        "dish": dish.name,
        "was": was,
        "new": new,
        "was_in": event.cooker(was.cooker_id).name if was else "",
        "new_in": event.cooker(new.cooker_id).name if new else "",
        "was_of": _chance(plan, dish.id),
        "new_of": _chance(other, dish.id),
        "sentence": _sentence(dish.name, was, new),
    }


def _weakest(plan: Plan, dish_id: str) -> Placement | None:
    """Return the batch of a dish that has least to spare."""
    batches = [p for p in plan.placements if p.dish_id == dish_id]
    return min(batches, key=lambda p: p.margin_min, default=None)


def _chance(plan: Plan, dish_id: str) -> int | None:
    chances = plan.risk.dishes if plan.risk else ()
    return next((c.of_100 for c in chances if c.dish_id == dish_id), None)


def _sentence(name: str, was: Placement | None, new: Placement | None) -> str:
    if was is None and new is None:
        return f"{name} still finds no place"
    if new is None:
        return f"{name} would find no place"
    if was is None:
        return f"{name} would find a place"
    was_min, new_min = (round((p.done_at - p.loaded_at).total_seconds() / 60) for p in (was, new))
    if new_min == was_min:
        return f"{name} takes as long"
    comparison = "sooner" if new_min < was_min else "longer"
    return f"{name} would be ready {abs(was_min - new_min)} min {comparison} after loading"
