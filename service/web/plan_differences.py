"""Two plans beside each other, dish by dish, as rows for templates."""

from __future__ import annotations

from events.model import Dish, Event
from service.application.plans import EventAndPlan
from solver.plan import Placement, Plan


def difference_rows(event: Event, plan: Plan, other: Plan) -> list[dict[str, object]]:
    """Return each dish as it is and as it would be, with a sentence."""
    return comparison_rows(EventAndPlan(event, plan), EventAndPlan(event, other))


def comparison_rows(old: EventAndPlan, new: EventAndPlan) -> list[dict[str, object]]:
    """Return each dish of two versions as it was and as it is; one that a version lacks is out."""
    dishes = {d.id: d for d in (*old.event.dishes, *new.event.dishes)}
    return [_row(dish, old, new) for dish in dishes.values()]


def _row(dish: Dish, old: EventAndPlan, new: EventAndPlan) -> dict[str, object]:
    was, now = _weakest(old.plan, dish.id), _weakest(new.plan, dish.id)
    was_of, new_of = _chance(old.plan, dish.id), _chance(new.plan, dish.id)
    return {
        "dish": dish.name,
        "was": was,
        "new": now,
        "was_in": old.event.cooker(was.cooker_id).name if was else "",
        "new_in": new.event.cooker(now.cooker_id).name if now else "",
        "was_of": was_of,
        "new_of": new_of,
        "same": was == now and was_of == new_of,
        "sentence": _sentence(dish.name, was, now),
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
        return f"{name} still doesn’t fit"
    if new is None:
        return f"{name} doesn’t fit"
    if was is None:
        return f"{name} fits"
    was_min, new_min = (round((p.done_at - p.loaded_at).total_seconds() / 60) for p in (was, new))
    if new_min == was_min:
        return f"{name} takes as long"
    comparison = "less" if new_min < was_min else "longer"
    return f"{name} takes {abs(was_min - new_min)} min {comparison}"
