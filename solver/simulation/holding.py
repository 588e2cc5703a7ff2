"""How warm a pot stays that is off the heat: standing in the open, or in an insulated box."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime

import numpy as np

from events.food_rules import clock_limit_min, least_middle_c, rules_of
from events.model import Cooker, Dish, Event, Pot
from solver.plan import CurvePoint
from solver.policy import STAND_LOSS_W_M2_K
from solver.simulation.day import Day
from solver.simulation.day_state import LoadInProgress
from solver.simulation.query import DurationEstimate
from solver.simulation.transfer import MOVE_MIN
from solver.solar.irradiance import at_minute
from solver.thermal import energy_balance as heat
from solver.thermal import food
from solver.thermal.energy_balance import Array, Bools, Ints
from solver.thermal.pots import pot_area_m2
from solver.thermal.safety import CLOCK_TO_C


def hot_holding_c(day: Day, dish: Dish) -> float:
    """Return what a dish's middle must keep from done to the last plate, by the food rules."""
    return rules_of(day.event).hot_holding_c if dish.serve_hot else -math.inf


def cooked_c(day: Day, dish: Dish) -> float:
    """Return the middle from which a dish must stay hot, done or not; inf where only done counts.

    What can spoil and was hot through once may not cool and be warmed again.
    """
    if not (dish.hazardous and dish.serve_hot):
        return math.inf
    return max(least_middle_c(day.event, dish), hot_holding_c(day, dish))


def falls_to_c(
    event: Event, dish: Dish, curve: Sequence[CurvePoint], *, since: datetime, until: datetime
) -> float:
    """Return the coldest middle under hot holding between two instants, once hot through then.

    Infinite where the dish stays hot, or where nothing grows in it.
    """
    if not (dish.hazardous and dish.serve_hot):
        return math.inf
    hot_c = rules_of(event).hot_holding_c
    through_c = max(least_middle_c(event, dish), hot_c)
    then = [q.core_c for q in curve if since <= q.at <= until]
    through = next((n for n, core_c in enumerate(then) if core_c >= through_c), len(then))
    return min((core_c for core_c in then[through:] if core_c < hot_c), default=math.inf)


def is_warmed_again(day: Day, load: LoadInProgress, pot: int, until: int) -> bool:
    """Return whether a pot in progress is hot through from now on and would cool, not done yet.

    What it was before, the estimate does not know: a probe in its middle decides.
    """
    if day.replan is None or load.stage == "lifted":
        return False
    done = load.durations.query.starts[0] + load.durations.expected_min[pot, 0]
    coldest_c = falls_to_c(
        day.event,
        load.durations.query.load.dishes[pot],
        load.curves[pot],
        since=at_minute(day.sky, day.replan.minute),
        until=at_minute(day.sky, int(min(done, until))),
    )
    return math.isfinite(coldest_c)


def hot_from_min(day: Day, durations: DurationEstimate, pot: int, start: Ints | int) -> Array:
    """Return the minutes from a pot's loading, by number of start, from which it must stay hot."""
    cooked = cooked_c(day, durations.query.load.dishes[pot])
    from_min: Array = np.minimum(
        durations.expected_min[pot, start], durations.reached_min(cooked, pot, start)
    )
    return from_min


def standing_c(
    day: Day,
    dish: Dish,
    mass_kg: float,
    pot: Pot,
    *,
    from_c: Array | float,
    start: Ints | int,
    end: Ints | int,
) -> Array:
    """Return how warm a lidded pot is that stood in the open from one minute to another.

    One pot or, by what it was lifted at and when, many. Its loss grows with the wind as that of a
    pot in a mirror does; closed form, air at its coolest.
    """
    air_c = day.coolest_air_c(start, end)
    loss_w_k = STAND_LOSS_W_M2_K * pot_area_m2(pot.litres)
    exposed_s = 60 * np.maximum(day.exposed_min(start, end), 0.0)
    left = np.exp(-loss_w_k * exposed_s / (1000 * food.cooling_kj_k(dish, mass_kg)))
    stood_c: Array = air_c + (from_c - air_c) * left
    return stood_c


def cools_below_after_min(
    day: Day,
    dish: Dish,
    mass_kg: float,
    pot: Pot,
    *,
    from_c: Array | float,
    start: Ints | int,
    end: int,
    limit_c: float,
) -> Array:
    """Return after how many minutes a standing pot is colder than a limit; inf if not by `end`.

    By the same law as `standing_c`: each minute's wind, air at its coolest until `end`.
    """
    air_c = day.coolest_air_c(start, end)
    loss_w_k = STAND_LOSS_W_M2_K * pot_area_m2(pot.litres)
    cooling_s = 1000 * food.cooling_kj_k(dish, mass_kg) / loss_w_k
    falls = (from_c > limit_c) & (air_c < limit_c)
    over = np.where(falls, (from_c - air_c) / np.where(falls, limit_c - air_c, 1.0), 1.0)
    exposed_min = cooling_s * np.log(over) / 60
    by_end = falls & (day.exposed_min(start, end) >= exposed_min)
    after_min = day.exposed_until(start, exposed_min) - start
    below_min: Array = np.where(
        np.less_equal(from_c, limit_c), 0.0, np.where(by_end, after_min, np.inf)
    )
    return below_min


def clock_to_plate_min(
    day: Day,
    dish: Dish,
    mass_kg: float,
    pot: Pot,
    *,
    before_min: Array | float,
    from_c: Array | float,
    lift: Ints | int,
    last_plate: int,
) -> Array:
    """Return a pot's minutes between 5 and 60 °C until its last plate, of one or of many members.

    `before_min` are those until it is lifted, and what it spent in a cooker that it had to leave;
    `from_c` is its middle then. From then on it stands in the open.
    """
    hot_min = cools_below_after_min(
        day, dish, mass_kg, pot, from_c=from_c, start=lift, end=last_plate, limit_c=CLOCK_TO_C
    )
    total: Array = before_min + np.maximum(last_plate - lift - hot_min, 0.0)
    return total


def too_long_warm(day: Day, dish: Dish, clock_min: Array, *, spare_min: float = 0.0) -> Bools:
    """Return whether food that can spoil was between 5 and 60 °C for longer than it may be."""
    over: Bools = clock_min > clock_limit_min(day.event, dish) - spare_min
    return over & dish.hazardous


def insulated_c(
    day: Day,
    hay: Cooker,
    dish: Dish,
    mass_kg: float,
    pot: Pot,
    *,
    from_c: Array | float,
    start: Ints | int,
    end: int,
) -> Array:
    """Return how warm a pot is that was put into an insulated box at one minute, at another.

    On its way there it stands in the open.
    """
    put_in = np.minimum(np.add(start, MOVE_MIN), end)
    moved_c = standing_c(day, dish, mass_kg, pot, from_c=from_c, start=start, end=put_in)
    return heat.insulated_c(
        hay,
        pot_litres=pot.litres,
        heat_j_k=1000 * food.cooling_kj_k(dish, mass_kg),
        from_c=moved_c,
        air_c=day.coolest_air_c(start, end),
        minutes=end - put_in,
    )
