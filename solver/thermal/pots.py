"""Pots: their surface, the heat they hold, and the vapour that leaves them.

Sources
[DK] Dunkle 1961 as used by Tiwari for open hot water, from memory: 3.3 kW/m² at 80 °C and
     7.2 kW/m² at 95 °C over still air. 3.55 (T - 50)² W/m² follows both.
"""

from __future__ import annotations

import math

from events.model import Cooker, Dish, Pot
from solver.thermal import food

# kJ/(kg K), handbook values (from memory, ±5 %).
_POT_HEAT = {
    "steel": 0.50,
    "aluminium": 0.90,
    "cast-iron": 0.46,
    "enamel": 0.50,
    "glass": 0.83,
    "clay": 0.85,
}
# Share of the sun a pot keeps against a black one: typical, unmeasured.
POT_SUN = {"black": 1.0, "dark": 0.9, "shiny": 0.4}

# An open pot near the boil loses about five times what it does under its lid, for a minute each
# time it is stirred: typical, unmeasured.
OPEN_LOSS, OPEN_MIN = 5.0, 1.0
VAPOUR_FROM_C = 50.0  # [DK]
VAPOUR_W_M2_K2 = 3.55  # [DK] open water
LID_LEAK = 0.1  # of an open pot's vapour that a lid lets out: typical, unmeasured
SHUT_IN = 0.5  # of that gets out of a shut box, or a bag: typical, unmeasured


def pot_area_m2(litres: float) -> float:
    """Return the outside of a pot as tall as it is wide, lid included."""
    return 1.5 * math.pi * float((4 * litres / 1000.0 / math.pi) ** (2 / 3))


def pot_side_m2(litres: float) -> float:
    """Return what such a pot shows from one side: its width times its height."""
    return pot_area_m2(litres) / (1.5 * math.pi)


def pot_heat_j_k(dish: Dish, mass_kg: float, pot: Pot) -> float:
    """Return the heat capacity of a filled pot; a baked dish dries while it warms."""
    return 1000.0 * (food.heat_kj_k(dish, mass_kg) + pot.mass_kg * _POT_HEAT[pot.material])


def lid_factor(dish: Dish) -> float:
    """Return what opening the lid to stir multiplies a pot's loss by, taken over the whole time."""
    if not dish.stir_every_min:
        return 1.0
    return 1.0 + (OPEN_LOSS - 1.0) * OPEN_MIN / dish.stir_every_min


def vapour_w_k2(cooker: Cooker, dish: Dish, pot: Pot) -> float:
    """Return k of the heat that leaves with the vapour: k (T - VAPOUR_FROM_C)² watts.

    None leaves an insulated box, or a baked dish: what that dries by is in its heat capacity.
    """
    if cooker.keeps_heat_only or dish.shape == "baked":
        return 0.0
    shut = cooker.nature.glazed or cooker.nature.lights_the_pot
    leak = LID_LEAK * (SHUT_IN if shut else 1.0)
    return VAPOUR_W_M2_K2 * leak * pot_area_m2(pot.litres) / 6
