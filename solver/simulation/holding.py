"""How warm a pot stays that is off the heat: standing in the open, or in an insulated box."""

from __future__ import annotations

import math

from events.food_rules import rules_of
from events.model import Cooker, Dish, Pot
from solver.policy import STAND_LOSS_W_M2_K
from solver.simulation.day import Day
from solver.simulation.transfer import MOVE_MIN
from solver.thermal import energy_balance as heat
from solver.thermal import food
from solver.thermal.pots import pot_area_m2


def hot_holding_c(day: Day, dish: Dish) -> float:
    """Return what a dish's middle must keep from done to the last plate, by the food rules."""
    return rules_of(day.event).hot_holding_c if dish.serve_hot else -math.inf


def standing_c(
    day: Day, dish: Dish, mass_kg: float, pot: Pot, *, from_c: float, start: int, end: int
) -> float:
    """Return how warm a lidded pot is that stood in the open from one minute to another.

    Its loss grows with the wind as that of a pot in a mirror does; closed form, air at its coolest.
    """
    if end <= start:
        return from_c
    air_c = day.coolest_air_c(start, end)
    loss_w_k = STAND_LOSS_W_M2_K * pot_area_m2(pot.litres)
    exposed_s = 60 * day.exposed_min(start, end)
    left = math.exp(-loss_w_k * exposed_s / (1000 * food.heat_kj_k(dish, mass_kg)))
    return air_c + (from_c - air_c) * left


def cools_below_after_min(
    day: Day,
    dish: Dish,
    mass_kg: float,
    pot: Pot,
    *,
    from_c: float,
    start: int,
    end: int,
    limit_c: float,
) -> float:
    """Return after how many minutes a standing pot is colder than a limit; inf if not by `end`.

    By the same law as `standing_c`: each minute's wind, air at its coolest until `end`.
    """
    air_c = day.coolest_air_c(start, end)
    if from_c <= limit_c:
        return 0.0
    if air_c >= limit_c:
        return math.inf
    loss_w_k = STAND_LOSS_W_M2_K * pot_area_m2(pot.litres)
    cooling_s = 1000 * food.heat_kj_k(dish, mass_kg) / loss_w_k
    exposed_min = cooling_s * math.log((from_c - air_c) / (limit_c - air_c)) / 60
    if day.exposed_min(start, end) < exposed_min:
        return math.inf
    return day.exposed_until(start, exposed_min) - start


def insulated_c(
    day: Day,
    hay: Cooker,
    dish: Dish,
    mass_kg: float,
    pot: Pot,
    *,
    from_c: float,
    start: int,
    end: int,
) -> float:
    """Return how warm a pot is that was put into an insulated box at one minute, at another.

    On its way there it stands in the open.
    """
    put_in = min(start + MOVE_MIN, end)
    moved_c = standing_c(day, dish, mass_kg, pot, from_c=from_c, start=start, end=put_in)
    return heat.insulated_c(
        hay,
        pot_litres=pot.litres,
        heat_j_k=1000 * food.heat_kj_k(dish, mass_kg),
        from_c=moved_c,
        air_c=day.coolest_air_c(start, end),
        minutes=end - put_in,
    )
