"""What a day costs to plan, known before it is taken: a day over the price is refused.

The price counts the loads that a solver has to compare: each dish in each unlike cooker it may
use, at each start between opening and its meal, and a little more for each pair of hands. Measured
(`tests/scale.py`, seconds of processor time, physics compiled): 40 dishes in 20 cookers with 5
helpers, 0.03 million, 5 s; 120 in 60 with 12, 0.15 million, 19 s and 0.57 GB; 300 in 120 with 30,
0.71 million, 91 s and 1.09 GB, checked, its gaps told; with 16 helpers 82 s.
"""

from __future__ import annotations

from datetime import datetime

from events.errors import TooLarge
from events.model import Cooker, Dish, Event
from solver.policy import SLOT_MIN
from solver.simulation.day import NAMES

PRICE_MOST = 750_000


def price_of(event: Event) -> int:
    """Return what an event costs to plan, in loads to compare."""
    figures = {c.id: _figures(c) for c in event.cookers}
    loads = 0
    for dish in event.dishes:
        allowed = set(dish.only_in) or figures.keys() - set(dish.not_in)
        unlike = {figures[c] for c in allowed if c in figures}  # those alike are compared once
        loads += len(unlike) * _starts(event, dish)
    return round(loads * (1 + len(event.helpers) / 10))


def require_plannable(event: Event) -> None:
    """Raise TooLarge where a day costs more than this machine plans, with what to leave out."""
    price = price_of(event)
    if price <= PRICE_MOST:
        return
    dishes = max(1, len(event.dishes) * PRICE_MOST // price)
    cookers = max(1, len(event.cookers) * PRICE_MOST // price)
    raise TooLarge(
        f"This day is too large to plan here: {len(event.dishes)} dishes, {len(event.cookers)} "
        f"cookers and {len(event.helpers)} helpers make {price:,} loads to compare; "
        f"{PRICE_MOST:,} is the most. Take about {dishes} dishes or {cookers} cookers, say "
        "only_in for each dish, or make a day of its own for each meal."
    )


def _figures(cooker: Cooker) -> str:
    """Return all of a cooker that a solver looks at; rings and insulated boxes count pots."""
    return cooker.model_dump_json(exclude=NAMES if cooker.on_sun else None)


def _starts(event: Event, dish: Dish) -> int:
    """Return at how many times a dish could be loaded."""
    meal = next((m for m in event.meals if m.id == dish.meal), None)
    if meal is None:
        return 0
    opens = datetime.combine(event.date, event.site.opens)
    last = datetime.combine(event.date, meal.end)
    return max(1, int((last - opens).total_seconds()) // 60 // SLOT_MIN)
