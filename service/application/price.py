"""What a day costs to plan, known before it is taken: a day over the price is refused.

The price counts the loads that a solver has to compare: each dish in each cooker it may use, at
each start between opening and its meal, and a little more for each pair of hands. Measured on two
shared cores, beside other work (`tests/scale.py`): 40 dishes in 20 cookers with 5 helpers, 0.1
million, took 55 s and 300 MB; 60 in 40 with 8, 0.4 million, 92 s and 400 MB; 100 in 40 with 10,
0.76 million, 225 s and 680 MB.
"""

from __future__ import annotations

from datetime import datetime

from events.errors import TooLarge
from events.model import Dish, Event
from solver.policy import SLOT_MIN

PRICE_MOST = 800_000


def price_of(event: Event) -> int:
    """Return what an event costs to plan, in loads to compare."""
    loads = sum(_cookers(event, dish) * _starts(event, dish) for dish in event.dishes)
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


def _cookers(event: Event, dish: Dish) -> int:
    """Return in how many cookers a dish may be put."""
    return len(dish.only_in) or len(event.cookers) - len(dish.not_in)


def _starts(event: Event, dish: Dish) -> int:
    """Return at how many times a dish could be loaded."""
    meal = next((m for m in event.meals if m.id == dish.meal), None)
    if meal is None:
        return 0
    opens = datetime.combine(event.date, event.site.opens)
    last = datetime.combine(event.date, meal.end)
    return max(1, int((last - opens).total_seconds()) // 60 // SLOT_MIN)
