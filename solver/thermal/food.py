"""How food takes up heat, and when it counts as done; when it is safe stands in `safety`.

Sources
[CO86] Choi & Okos 1986, specific heat by composition, as printed in ASHRAE Refrigeration.
[IF97] IAPWS-IF97 region 4, saturation temperature; coefficients from memory, checked against the
       published boiling points in tests/published.
[ICAO] ICAO standard atmosphere.
[CJ59] Carslaw & Jaeger, Conduction of Heat in Solids: sphere and slab series (from memory,
       checked in tests/published).
"""

from __future__ import annotations

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
    return 10.0 ** ((np.asarray(core_c, dtype=np.float64) - 100.0) / z_c)


@dataclass(frozen=True)
class Modes:
    """How a solid's centre lags its surface: amplitudes and time constants of the series."""

    amplitude: tuple[float, float, float]
    tau_s: tuple[float, float, float]


def modes(dish: Dish) -> Modes:
    """Return three modes of the centre of a sphere or slab of the dish's thickness.

    The third stands for all the rest: its amplitude makes the centre start where the food starts,
    its time makes the centre lag a slowly rising surface by R²/6α (sphere) or L²/2α (slab).
    Source: [CJ59] sphere and slab, uniform start, surface suddenly changed, or rising steadily.
    """
    return _modes(dish.shape, dish.thickness_mm, dish.diffusivity_mm2_s)


@lru_cache(maxsize=1024)
def _modes(form: str, thickness_mm: float, diffusivity_mm2_s: float) -> Modes:
    half_m = thickness_mm / 2000.0
    if form == "liquid" or half_m == 0.0:
        return Modes((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))
    base_s = half_m**2 / (np.pi**2 * diffusivity_mm2_s * 1e-6)
    if form == "pieces":
        first, second, times, lag = 2.0, -2.0, (1.0, 1 / 4), np.pi**2 / 6
    else:
        first, second, times, lag = 4 / np.pi, -4 / (3 * np.pi), (4.0, 4 / 9), np.pi**2 / 2
    rest = 1 - first - second
    third = (lag - first * times[0] - second * times[1]) / rest
    return Modes((first, second, rest), (times[0] * base_s, times[1] * base_s, third * base_s))


def reference_cook_min(dish: Dish) -> float:
    """Return the cook value the recipe's ordinary process gives the core, in minutes at 100 °C.

    The pieces go into boiling water at sea level for the recipe's minutes; the food's own z.
    """
    return _cook_min(modes(dish), float(dish.ordinary_min), dish.start_c, dish.z_c)


@lru_cache(maxsize=1024)
def _cook_min(shape: Modes, ordinary_min: float, start_c: float, z_c: float) -> float:
    t_s = np.arange(30.0, ordinary_min * 60.0, 60.0)
    lag = sum(a * np.exp(-t_s / tau) for a, tau in zip(shape.amplitude, shape.tau_s, strict=True))
    core_c = 100.0 - (100.0 - start_c) * np.asarray(lag)
    return float(np.sum(cook_rate(core_c, z_c) * np.ones_like(t_s)))


def heat_kj_k(dish: Dish, mass_kg: float) -> float:
    """Return the heat capacity of a mass of the dish, taken at 60 °C, the middle of its way."""
    return mass_kg * specific_heat_kj_kg_k(dish.composition, 60.0)
