"""How warm a pot stays that is off the sun: standing in the open, or in an insulated box."""

from __future__ import annotations

import math

from events.model import Cooker, Dish, Pot
from solver.simulation.day import Day
from solver.simulation.transfer import STAND_LOSS_W_M2_K
from solver.thermal import food
from solver.thermal.energy_balance import insulated_c
from solver.thermal.light import TEST_POT_LITRES_KG
from solver.thermal.pots import pot_area_m2


def hot_when_standing(
    day: Day, dish: Dish, mass_kg: float, pot: Pot, *, serve: int, for_min: int
) -> bool:
    """Return whether a lidded pot, off the sun, is still hot enough when it is served."""
    if not dish.serve_hot:
        return True
    air_c = float(day.sky.air_c[min(serve, day.sky.air_c.size - 1)])
    loss = STAND_LOSS_W_M2_K * pot_area_m2(pot.litres)
    left = math.exp(-loss * for_min * 60 / (1000 * food.heat_kj_k(dish, mass_kg)))
    core_c = dish.core_c if "core_c" in dish.done_mode.requires else None
    from_c = min(day.boil_c - 2.0, core_c or 95.0)
    return air_c + (from_c - air_c) * left >= food.HOT_HOLDING_C[day.event.site.food_rules]


def hot_when_insulated(
    day: Day, dish: Dish, mass_kg: float, hay: Cooker, *, serve: int, for_min: int
) -> bool:
    """Return whether a pot in an insulated box is still hot enough when it is served."""
    if not dish.serve_hot:
        return True
    air_c = float(day.sky.air_c[min(serve, day.sky.air_c.size - 1)])
    kept_c = insulated_c(
        hay,
        pot_litres=mass_kg * dish.litres_per_kg * TEST_POT_LITRES_KG,
        heat_j_k=1000 * food.heat_kj_k(dish, mass_kg),
        from_c=min(day.boil_c - 2.0, 95.0),
        air_c=air_c,
        minutes=for_min,
    )
    return kept_c >= food.HOT_HOLDING_C[day.event.site.food_rules]
