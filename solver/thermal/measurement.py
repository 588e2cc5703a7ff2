"""A cooker's own model put through the tests that people make: water, an empty cooker, a hay box.

Many lanes at once, each with its strength and its losses against the description. The sun is what
falls on a surface that faces it; the cooker stands square to it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from events.model import Composition, Cooker, Dish, Pot
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Forcing, Load, insulated_c
from solver.thermal.light import (
    TEST_LOAD_KG_M2,
    TEST_POT_LITRES_KG,
    heating_w,
    pot_light_fraction,
)
from solver.thermal.pots import pot_area_m2, pot_heat_j_k
from solver.thermal.water_test import COOLEST_C, HOTTEST_C, INTERVAL_MIN, WATER_J_KG_K

DIFFUSE_FRACTION = 0.15  # of a clear sky's light, on a surface that faces the sun: typical
NO_BOIL_C = 120.0
LONGEST_MIN = 300  # a day's hours of strong sun
WARMS_MIN = 30  # the cooker itself warms: left out where the water hardly gets to 40 °C
HOT_C, KEPT_MIN = 95.0, 240  # a hay box's pot goes in at 95 °C and is looked at after four hours


@dataclass(frozen=True)
class Conditions:
    """Under what sky a test is made, and with how much water in how large a pot."""

    sun_w_m2: float
    air_c: float
    wind_m_s: float
    litres: float
    pot_litres: float


def water(litres: float, start_c: float) -> Dish:
    """Return plain water as a dish."""
    return Dish(
        id="water",
        name="Water",
        meal="test",
        portions=1,
        portion_kg=min(litres, 5.0),
        composition=Composition(water=1.0),
        done="boil",
        hold_min=600,
        start_c=start_c,
        hazardous=False,
    )


def black_pot(litres: float, pot_litres: float | None = None) -> Pot:
    """Return the black pot that water is tested in: a kilogram of steel for each five litres."""
    size = pot_litres or max(litres * TEST_POT_LITRES_KG, 0.5)
    return Pot(id="test", name="Test pot", litres=size, mass_kg=0.2 + size / 6.5)


def standard_litres(cooker: Cooker) -> float:
    """Return the water that the standard wants for a cooker's opening."""
    return TEST_LOAD_KG_M2 * (cooker.aperture_m2 or 0.0)


def clear_light_w(cooker: Cooker, sun_w_m2: Array | float) -> Array:
    """Return the heat won from a test's sun, most of it beam."""
    sun = np.asarray(sun_w_m2, dtype=np.float64)
    beam, diffuse = (1 - DIFFUSE_FRACTION) * sun, DIFFUSE_FRACTION * sun
    return heating_w(cooker, beam, diffuse, elevation_deg=None)


def water_c(
    cooker: Cooker,
    at: Conditions,
    *,
    from_c: float,
    minutes: int,
    strength: Array,
    loss: Array,
    until_c: float = NO_BOIL_C,
) -> Array:
    """Return the water's temperature by (minute, lane), from a cold cooker on.

    It ends early where all lanes have got to `until_c`.
    """
    forcing = Forcing(
        np.full((1, 1), clear_light_w(cooker, at.sun_w_m2)),
        np.full(1, at.air_c),
        np.full(1, at.wind_m_s),
    )
    state = heat.ensemble(
        cooker,
        Load((water(at.litres, from_c),), (at.litres,), (black_pot(at.litres, at.pot_litres),)),
        minutes=np.zeros(strength.size),
        row=np.zeros(strength.size, dtype=np.int64),
        body_c=np.full(strength.size, at.air_c),
        strength=strength,
        boil_c=NO_BOIL_C,
    )
    state.loss = loss
    out = [state.pot_c[0]]
    for _ in range(minutes):
        heat.step(state, forcing, dt_s=60.0, boil_c=NO_BOIL_C)
        out.append(state.pot_c[0])
        if state.pot_c[0].min() > until_c:
            break
    return np.asarray(out)


def standard_line(
    cooker: Cooker, at: Conditions, *, strength: Array, loss: Array
) -> tuple[Array, Array]:
    """Return (intercept W, slope W/K) of the standard water test, by lane.

    Ten-minute intervals begin with every minute, and fade out at the water's limits, so that the
    line moves smoothly with the cooker's figures. Source: ASAE S580.1, as in water_test.py.
    """
    track = water_c(
        cooker,
        at,
        from_c=at.air_c,
        minutes=LONGEST_MIN,
        strength=strength,
        loss=loss,
        until_c=HOTTEST_C,
    )
    first, last = track[:-INTERVAL_MIN], track[INTERVAL_MIN:]
    power = (last - first) * at.litres * WATER_J_KG_K / (INTERVAL_MIN * 60) * 700 / at.sun_w_m2
    above = (last + first) / 2 - at.air_c
    cold, hot = _inside(first - COOLEST_C), _inside(HOTTEST_C - last)
    late = np.arange(len(first))[:, None] >= WARMS_MIN
    weight = np.where((cold * hot).sum(0) > INTERVAL_MIN, cold * hot, late * hot)
    whole = np.maximum(weight.sum(0), 1e-9)
    x, y = (weight * above).sum(0) / whole, (weight * power).sum(0) / whole
    spread = (weight * (above - x) ** 2).sum(0)
    slope = (weight * (above - x) * (power - y)).sum(0) / np.maximum(spread, 1e-9)
    return y - slope * x, slope


def _inside(margin_c: Array) -> Array:
    """Return 1 inside a limit, 0 outside, and a slope of 2 °C between."""
    return np.clip(margin_c / 2 + 0.5, 0.0, 1.0)


def empty_rise_k(cooker: Cooker, at: Conditions) -> float:
    """Return how far the empty cooker gets above the air; without a body, a dry pot in it."""
    light_w = float(clear_light_w(cooker, at.sun_w_m2))
    if cooker.nature.has_body:
        loss_w_k = cooker.loss_w_k or 0.0
    else:
        light_w *= pot_light_fraction(cooker, at.pot_litres)
        loss_w_k = cooker.pot_loss_w_m2_k * pot_area_m2(at.pot_litres)
    return light_w / (loss_w_k * (1 + cooker.wind_factor_s_m * at.wind_m_s))


def kept_c(cooker: Cooker, *, litres: float, air_c: float) -> float:
    """Return what an insulated box keeps of 95 °C after four hours."""
    pot = black_pot(litres)
    return float(
        insulated_c(
            cooker,
            pot_litres=pot.litres,
            heat_j_k=pot_heat_j_k(water(litres, HOT_C), litres, pot),
            from_c=HOT_C,
            air_c=air_c,
            minutes=KEPT_MIN,
        )
    )
