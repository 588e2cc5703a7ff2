"""When a load may go into a cooker: inside its hours and, on the sun, while it has sun."""

from __future__ import annotations

import numpy as np

from events.model import Cooker, Dish
from solver.policy import SLOT_MIN
from solver.simulation.clock import ceil_to_slot, usable_hours
from solver.simulation.day import Day
from solver.thermal.energy_balance import Ints

OVEN_EMPTY_MIN = 90  # how long an oven is taken to stand empty before baked goods


def usual_empty_min(dish: Dish) -> int:
    """Return how long a cooker stands empty on the sun before a dish, where nothing is solved."""
    return max(dish.preheat_min, OVEN_EMPTY_MIN if dish.needs_body_c is not None else 0)


def possible_starts(
    day: Day, cooker: Cooker, *, empty_min: int, until: int, grain_min: int = SLOT_MIN
) -> Ints:
    """Return the minutes of the day, before `until`, at which a load may go into a cooker.

    A sun cooker has sun at the loading and `empty_min` before, when it is set on the sun empty.
    """
    opens, closes = usable_hours(day, cooker)
    before = ceil_to_slot(empty_min) if cooker.on_sun else 0
    starts = np.arange(ceil_to_slot(opens + before), min(until, closes), SLOT_MIN, dtype=np.int64)
    starts = starts[starts % grain_min == 0] if grain_min > SLOT_MIN else starts
    if not cooker.on_sun or not starts.size:
        return starts
    lit = day.on_sun[cooker.id]
    return starts[lit[starts] & lit[starts - before]]
