"""Pots by hand: what they show of themselves, hold of heat, and let out as vapour."""

from __future__ import annotations

import math

import pytest

from events.model import Pot
from events.table import changed
from solver.thermal.food import heat_kj_k
from solver.thermal.pots import (
    POT_SUN,
    lid_factor,
    pot_area_m2,
    pot_heat_j_k,
    pot_side_m2,
    vapour_w_k2,
)
from tests.solver.checking.hand_laid import EVENT
from tests.solver.thermal.test_done_and_safe import dish

POT = Pot(id="p", name="P", litres=4.0, mass_kg=2.0)
MIRROR, BOX, RING, HAY = (EVENT.cooker(c) for c in ("mirror", "box", "ring", "hay"))
PANEL = changed(BOX, kind="panel", loss_w_k=None)


def test_a_pot_is_as_tall_as_it_is_wide() -> None:
    """Four litres are 17.2 cm across: two ends and a side are 1.5 π d², from one side it is d²."""
    across_m = (4 * 0.004 / math.pi) ** (1 / 3)

    assert across_m == pytest.approx(0.1721, abs=1e-4)
    assert pot_area_m2(4.0) == pytest.approx(1.5 * math.pi * across_m**2)
    assert pot_side_m2(4.0) == pytest.approx(across_m**2)


@pytest.mark.parametrize(
    ("material", "printed"),
    [
        ("steel", 0.477),  # AISI 304
        ("aluminium", 0.903),
        ("cast-iron", 0.46),
        ("enamel", 0.477),  # on steel
        ("glass", 0.835),  # Pyrex
        ("clay", 0.88),
    ],
)
def test_a_pots_own_heat_goes_by_what_it_is_made_of(material: str, printed: float) -> None:
    """Handbook values in kJ/(kg K), from memory, within 5 %."""
    soup = dish(shape="liquid")
    whole = pot_heat_j_k(soup, 3.0, changed(POT, material=material))

    own_kj = whole / 1000 - heat_kj_k(soup, 3.0)

    assert own_kj == pytest.approx(2.0 * printed, rel=0.05)


def test_a_dark_pot_keeps_more_of_the_sun_than_a_shiny_one() -> None:
    assert POT_SUN["black"] == 1.0 > POT_SUN["dark"] > 2 * POT_SUN["shiny"]


def test_a_lid_that_is_opened_more_often_than_each_minute_is_off() -> None:
    assert lid_factor(dish()) == 1.0
    assert lid_factor(dish(stir_every_min=5)) == pytest.approx(1 + 4 / 5)
    assert lid_factor(dish(stir_every_min=1)) == 5.0


def test_a_lid_lets_out_a_tenth_of_open_waters_vapour_and_a_shut_cooker_half_of_that() -> None:
    """Dunkle 1961, from memory: 3.3 kW/m² over open water of 80 °C, 7.2 kW/m² of 95 °C."""
    soup, open_m2 = dish(shape="liquid"), pot_area_m2(POT.litres) / 6

    for cooker, leak in ((MIRROR, 0.1), (RING, 0.1), (BOX, 0.05), (PANEL, 0.05)):
        k = vapour_w_k2(cooker, soup, POT)
        for at_c, printed_w_m2 in ((80.0, 3300.0), (95.0, 7200.0)):
            assert k * (at_c - 50.0) ** 2 == pytest.approx(leak * open_m2 * printed_w_m2, rel=0.05)
    assert vapour_w_k2(HAY, soup, POT) == 0.0
    assert vapour_w_k2(BOX, dish(shape="baked", thickness_mm=40.0), POT) == 0.0
