"""How food takes up heat, and when it counts as done; when it is safe stands in `safety`.

Sources
[CO86] Choi & Okos 1986, specific heat by composition, as printed in ASHRAE Refrigeration.
[IF97] IAPWS-IF97 region 4, saturation temperature; coefficients from memory, checked against the
       published boiling points in tests/published.
[ICAO] ICAO standard atmosphere.
[CJ59] Carslaw & Jaeger, Conduction of Heat in Solids: sphere and slab series (from memory,
       checked in tests/published).
[ICE]  Apparent specific heat of frozen food, as in ASHRAE Refrigeration: 334 kJ/kg of ice, of which
       1 - T_f/T of the water is frozen at T (from memory).
[BAKE] Common practice, no published source: a loaf dries by a tenth of its weight in the oven; the
       air of an oven gives its crust about 25 W/m²K.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from events.model import Composition, Dish
from events.quantities import require

Array = NDArray[np.float64]

# kJ/(kg K) = A + B t + C t², t in °C. [CO86]
_HEAT = {
    "water": (4.1762, -9.0864e-5, 5.4731e-6),
    "protein": (2.0082, 1.2089e-3, -1.3129e-6),
    "fat": (1.9842, 1.4733e-3, -4.8008e-6),
    "carbohydrate": (1.5488, 1.9625e-3, -5.9399e-6),
    "fibre": (1.8459, 1.8306e-3, -4.6509e-6),
    "ash": (1.0926, 1.8896e-3, -3.6817e-6),
}
_LN10 = math.log(10.0)
_IF97 = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)


STEAM_J_KG = 2.257e6  # latent heat of water at 100 °C, handbook value
ICE_J_KG, FREEZES_C = 334e3, -1.0  # [ICE]
DONE_C = 75.0  # the end of a frozen middle's way
BAKING_DRIES = 0.1  # of the mass [BAKE]
BAKING_RISE_K = 75.0  # over which it dries
CRUST_W_M2_K, CRUMB_W_M_K = 25.0, 0.25  # [BAKE]; dough and crumb, handbook value from memory
CRUMB_FASTER = 1.5  # vapour moves through crumb and carries heat: typical, from memory
RECIPE_START_C = 18.0  # a recipe's pieces go in as cool as a kitchen


@lru_cache(maxsize=4096)
def specific_heat_kj_kg_k(composition: Composition, at_c: float) -> float:
    """Return a food's specific heat at `at_c`.

    Source: [CO86]. Handbooks differ by ±5 %; nothing better is claimed.
    """
    shares = composition.model_dump()
    return float(
        sum(shares[name] * (a + b * at_c + c * at_c**2) for name, (a, b, c) in _HEAT.items())
    )


def pressure_mpa(altitude_m: float) -> float:
    """Return the standard air pressure at an altitude. Source: [ICAO]."""
    require("altitude_m", altitude_m)
    return float(0.101325 * (1 - 2.25577e-5 * altitude_m) ** 5.25588)


def boiling_c(altitude_m: float) -> float:
    """Return the boiling point of water at an altitude. Source: [ICAO] with [IF97] eq. 31."""
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _IF97
    beta = pressure_mpa(altitude_m) ** 0.25
    e = beta**2 + n3 * beta + n6
    f = n1 * beta**2 + n4 * beta + n7
    g = n2 * beta**2 + n5 * beta + n8
    d = 2 * g / (-f - (f**2 - 4 * e * g) ** 0.5)
    return float((n10 + d - ((n10 + d) ** 2 - 4 * (n9 + n10 * d)) ** 0.5) / 2 - 273.15)


def cook_rate(core_c: Array, z_c: Array | float) -> Array:
    """Return minutes at 100 °C won for each minute at `core_c` (Mansfield 1962, from memory)."""
    # exp is four times as fast as a power, and this is in every step.
    return np.exp((np.asarray(core_c, dtype=np.float64) - 100.0) * (_LN10 / z_c))


@dataclass(frozen=True)
class Modes:
    """How a solid's centre lags its surface: amplitudes and time constants of the series."""

    amplitude: tuple[float, float, float]
    tau_s: tuple[float, float, float]


def modes(dish: Dish) -> Modes:
    """Return three modes of the centre of a sphere or slab of the dish's thickness.

    The third stands for all the rest: its amplitude makes the centre start where the food starts,
    its time makes the centre lag a slowly rising surface by R²/6α (sphere) or L²/2α (slab).
    A frozen middle lags longer by its ice, a baked one by the air's resistance at its crust.
    Source: [CJ59] sphere and slab, uniform start, surface suddenly changed, or rising steadily.
    """
    return _modes(dish.shape, dish.thickness_mm, dish.diffusivity_mm2_s, _thaw_factor(dish))


@lru_cache(maxsize=1024)
def _modes(form: str, thickness_mm: float, diffusivity_mm2_s: float, slower: float) -> Modes:
    half_m = thickness_mm / 2000.0
    if form == "liquid" or half_m == 0.0:
        return Modes((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))
    base_s = slower * half_m**2 / (np.pi**2 * diffusivity_mm2_s * 1e-6)
    if form == "baked":  # [CJ59] first root of x tan x = Bi, within 3 %
        base_s *= (1 + 2 * CRUMB_W_M_K / (CRUST_W_M2_K * half_m)) / CRUMB_FASTER
    if form == "pieces":
        first, second, times, lag = 2.0, -2.0, (1.0, 1 / 4), np.pi**2 / 6
    else:
        first, second, times, lag = 4 / np.pi, -4 / (3 * np.pi), (4.0, 4 / 9), np.pi**2 / 2
    rest = 1 - first - second
    third = (lag - first * times[0] - second * times[1]) / rest
    return Modes((first, second, rest), (times[0] * base_s, times[1] * base_s, third * base_s))


def frozen_fraction(dish: Dish) -> float:
    """Return the share of a dish's water that is ice when it is loaded. Source: [ICE]."""
    return 1.0 - FREEZES_C / dish.start_c if dish.start_c < FREEZES_C else 0.0


def ice_j(dish: Dish, mass_kg: float) -> float:
    """Return the heat that melts a dish's ice. Source: [ICE]."""
    return ICE_J_KG * mass_kg * dish.composition.water * frozen_fraction(dish)


def _thaw_factor(dish: Dish) -> float:
    """Return how many times longer the middle takes with its ice, on its way to 75 °C."""
    warming = 1000.0 * heat_kj_k(dish, 1.0) * (DONE_C - dish.start_c)
    return float(1.0 + ice_j(dish, 1.0) / warming)


def reference_cook_min(dish: Dish) -> float:
    """Return the cook value the recipe's ordinary process gives the core, in minutes at 100 °C.

    Pieces as thick as the recipe's go into boiling water at sea level for its minutes; the food's
    own z. So pieces cut smaller, or put in warmer, are never done later.
    """
    thickness_mm = dish.recipe_thickness_mm or dish.thickness_mm
    shape = _modes(dish.shape, thickness_mm, dish.diffusivity_mm2_s, 1.0)
    return _cook_min(shape, float(dish.ordinary_min), RECIPE_START_C, dish.z_c)


@lru_cache(maxsize=1024)
def _cook_min(shape: Modes, ordinary_min: float, start_c: float, z_c: float) -> float:
    t_s = np.arange(30.0, ordinary_min * 60.0, 60.0)
    lag = sum(a * np.exp(-t_s / tau) for a, tau in zip(shape.amplitude, shape.tau_s, strict=True))
    core_c = 100.0 - (100.0 - start_c) * np.asarray(lag)
    return float(np.sum(cook_rate(core_c, z_c) * np.ones_like(t_s)))


def heat_kj_k(dish: Dish, mass_kg: float) -> float:
    """Return the heat that warms a mass of the dish by a kelvin, at 60 °C, the middle of its way.

    What a baked dish dries by is in it. Source: [CO86], [BAKE].
    """
    drying = BAKING_DRIES * STEAM_J_KG / 1000 / BAKING_RISE_K if dish.shape == "baked" else 0.0
    return cooling_kj_k(dish, mass_kg) + mass_kg * drying


def cooling_kj_k(dish: Dish, mass_kg: float) -> float:
    """Return the heat that a mass of the dish gives off by each kelvin that it cools, at 60 °C.

    Source: [CO86].
    """
    return mass_kg * specific_heat_kj_kg_k(dish.composition, 60.0)
