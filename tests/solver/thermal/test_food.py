"""How food takes up heat, by hand: its middle's lag, its ice, its crust, and a recipe's minutes."""

from __future__ import annotations

import numpy as np
import pytest

from solver.thermal.food import (
    cooling_kj_k,
    frozen_fraction,
    heat_kj_k,
    ice_j,
    modes,
    reference_cook_min,
    specific_heat_kj_kg_k,
)
from tests.solver.thermal.test_done_and_safe import dish

WATER_60_KJ = 4.19045  # kJ/(kg K) at 60 °C: Choi & Okos 1986, by hand


@pytest.mark.parametrize(
    ("part", "at_60_c", "at_20_c"),
    [
        ("water", 4.1904, 4.1766),
        ("protein", 2.0760, 2.0319),
        ("fat", 2.0553, 2.0117),
        ("carbohydrate", 1.6452, 1.5857),
        ("fibre", 1.9389, 1.8806),
        ("ash", 1.1927, 1.1289),
    ],
)
def test_each_part_of_food_has_its_own_specific_heat(
    part: str, at_60_c: float, at_20_c: float
) -> None:
    """Choi & Okos 1986, as in ASHRAE Refrigeration; the polynomials worked out by hand."""
    pure = dish(composition={"water": 0.0, part: 1.0}).composition

    assert specific_heat_kj_kg_k(pure, 60.0) == pytest.approx(at_60_c, abs=1e-4)
    assert specific_heat_kj_kg_k(pure, 20.0) == pytest.approx(at_20_c, abs=1e-4)


def test_what_is_stirred_or_has_no_thickness_has_no_lag() -> None:
    for liquid in (dish(shape="liquid", thickness_mm=50.0), dish(shape="pieces", thickness_mm=0.0)):
        assert modes(liquid).amplitude == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(("thickness_mm", "longer"), [(40.0, 2.0 / 1.5), (80.0, 1.0)])
def test_a_loafs_middle_waits_for_its_crust(thickness_mm: float, longer: float) -> None:
    """By x tan x = Bi a slab's middle takes 1 + 2 k / h L as long; vapour makes crumb faster.

    With 25 W/m²K and 0.25 W/mK a loaf of 4 cm takes twice as long for its crust.
    """
    slab = modes(dish(shape="slab", thickness_mm=thickness_mm))
    loaf = modes(dish(shape="baked", thickness_mm=thickness_mm))

    assert loaf.amplitude == slab.amplitude
    assert np.divide(loaf.tau_s, slab.tau_s) == pytest.approx([longer] * 3)


def test_a_loaf_dries_by_a_tenth_while_it_warms_by_75_degrees() -> None:
    """2257 kJ/kg of steam for a tenth of its mass, over 75 K."""
    drying_kj = 0.1 * 2257 / 75

    assert heat_kj_k(dish(shape="slab"), 2.0) == pytest.approx(2 * WATER_60_KJ, rel=1e-4)
    loaf_kj = heat_kj_k(dish(shape="baked"), 2.0)
    assert loaf_kj == pytest.approx(2 * (WATER_60_KJ + drying_kj), rel=1e-4)


def test_a_loaf_that_cools_takes_no_steam_back() -> None:
    assert cooling_kj_k(dish(shape="baked"), 2.0) == pytest.approx(2 * WATER_60_KJ, rel=1e-4)


def test_water_is_ice_under_one_degree_of_frost_and_melts_before_the_middle_warms() -> None:
    """Of water at -18 °C one part in eighteen is not frozen; 334 kJ melt a kilogram of ice."""
    frozen = dish(shape="pieces", thickness_mm=30.0, start_c=-18.0)
    half = dish(start_c=-18.0, composition={"water": 0.5, "fat": 0.5})
    shares = [frozen_fraction(dish(start_c=c)) for c in (5.0, -0.5, -1.0, -2.0, -18.0)]
    assert shares == pytest.approx([0.0, 0.0, 0.0, 0.5, 17 / 18])
    assert ice_j(frozen, 2.0) == pytest.approx(2 * 334e3 * 17 / 18)
    assert ice_j(half, 2.0) == pytest.approx(334e3 * 17 / 18)

    cold = modes(dish(shape="pieces", thickness_mm=30.0, start_c=4.0))

    longer = 1 + 334 * 17 / 18 / (WATER_60_KJ * (75 + 18))
    assert np.divide(modes(frozen).tau_s, cold.tau_s) == pytest.approx([longer] * 3, rel=1e-4)


def ball(**values: object) -> float:
    """Return what the recipe of a ball of 5 cm asks for: twenty minutes in boiling water."""
    own = {"shape": "pieces", "thickness_mm": 50.0, "diffusivity_mm2_s": 0.145, "z_c": 33.0}
    return reference_cook_min(dish(done="simmer", ordinary_min=20, **(own | values)))


def series_min(start_c: float, z_c: float) -> float:
    """Return the same from fifty terms of the series of a ball (Carslaw & Jaeger)."""
    seconds, n = np.arange(1.0, 20 * 60, 2.0), np.arange(1, 51)[:, None]
    fall = np.exp(-(n**2) * np.pi**2 * 0.145 * seconds / 25.0**2)
    lag = (2.0 * (-1.0) ** (n + 1) * fall).sum(axis=0)
    return float(np.sum(10 ** (-(100.0 - start_c) * lag / z_c)) * 2 / 60)


def test_a_recipes_minutes_are_those_of_its_middle_from_a_kitchens_18_degrees() -> None:
    assert reference_cook_min(dish(done="simmer", ordinary_min=30, shape="liquid")) == 30.0
    for z_c in (33.0, 20.0):
        assert ball(z_c=z_c) == pytest.approx(series_min(18.0, z_c), rel=0.01)


def test_pieces_cut_smaller_or_put_in_warm_or_frozen_need_what_the_recipes_do() -> None:
    assert ball(thickness_mm=20.0, recipe_thickness_mm=50.0) == ball()
    assert ball(thickness_mm=20.0) > 1.5 * ball()
    for start_c in (-18.0, 5.0, 60.0):
        assert ball(start_c=start_c) == ball()
