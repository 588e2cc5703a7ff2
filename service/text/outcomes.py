"""What a change that was tried brings, in words: its figures beside the present ones."""

from __future__ import annotations

from events.model import Event
from service.text.formatting import listed
from service.text.improvements import less_sure
from solver.feasibility.outcomes import Outcome, fall_of
from solver.feasibility.problems import Problem


def brings(event: Event, problem: Problem | None, before: Outcome, after: Outcome) -> str:
    """Return what a change brings: dishes, the least sure meal, the problem's own figure."""
    fall = fall_of(before, after)
    chance = less_sure(event, fall) if fall else _chance(before, after)
    parts = [_dishes(event, before, after), chance]
    if problem is not None:
        parts.append(_own(event, problem, before, after))
    return "; ".join(filter(None, parts)) or "all dishes fit"


def _dishes(event: Event, before: Outcome, after: Outcome) -> str:
    now, then = len(before.placed_ids), len(after.placed_ids)
    return "" if now == then else f"{then} of {len(event.dishes)} dishes, now {now}"


def _chance(before: Outcome, after: Outcome) -> str:
    if after.of_100 is None:
        return ""
    as_now = after.of_100 == before.of_100
    return f"{after.of_100} of 100, {'as now' if as_now else f'now {before.of_100 or 0}'}"


def _own(event: Event, problem: Problem, before: Outcome, after: Outcome) -> str:
    if problem.kind == "whole-unsure" and problem.meal_id:
        name, chances = event.meal(problem.meal_id).name, (before.meal_of_100, after.meal_of_100)
        was, now = (of.get(problem.meal_id) for of in chances)
        return "" if now in (None, was, after.of_100) else f"{name} {now}, now {was}"
    dish_id = problem.dish_ids[0]
    name = event.dish(dish_id).name
    if problem.kind == "warm-long":
        left = after.warm_min.get(dish_id)
        if left is None:
            served_hot = event.dish(dish_id).serve_hot
            return (
                f"{name}: {'hot soon enough' if served_hot else 'lukewarm no longer than it may'}"
            )
        return f"lukewarm {left:.0f} min, now {before.warm_min.get(dish_id, 0):.0f}"
    if problem.kind == "boils-dry":
        return "" if dish_id in after.dry_ids else f"{name} boils dry no more"
    if problem.kind == "gas-day":
        on_gas = [event.dish(d).name for d in problem.dish_ids if d in after.on_gas_ids]
        return f"on gas only {listed(on_gas)}" if on_gas else "nothing is on gas"
    was, now = before.dish_of_100.get(dish_id), after.dish_of_100.get(dish_id)
    return "" if now in (None, was) else f"{name} {now}, now {was or 0}"
