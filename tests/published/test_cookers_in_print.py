"""Cookers that were measured in print: our models of their kind lie in the bands.

Sources: Ademe & Hameer 2018, AIMS Energy 6:146 (a box: F1 0.123, P_s(50) 36 W, 0.22 m²).
Mohammed 2013 (a mirror 1.80 m across: 3.0 kg dry rice in 90 to 100 min). Farooqui 2017 (two
mirrors of 0.90 m, 1.27 m²: 485 W on average). J. Jap. Soc. Food Sci. Technol. 28:181, 1981
(potato: 90 % done in 5.5, 16.4 and 51.9 min at 100, 90 and 80 °C).
"""

from __future__ import annotations

import numpy as np
import pytest

from events.model import Composition, Cooker, Dish, Pot
from events.reading.catalogue import entries, resolve
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Forcing, Load
from solver.thermal.food import cook_rate


def test_the_measured_box_has_an_efficiency_that_can_be() -> None:
    # P_s(50) = 700 eta A - UA 50, at the standard sun of 700 W/m², with UA = eta A / F1.
    area, f1, at_50 = 0.22, 0.123, 36.0

    eta = at_50 / (area * (700 - 50 / f1))

    ours = [
        float(str(e["optical_efficiency"]))
        for e in entries("cooker").values()
        if e["kind"] == "box"
    ]
    assert min(ours) <= eta <= max(ours)


def test_three_kilos_of_rice_in_the_large_mirror_take_about_what_was_printed() -> None:
    mirror = Cooker.model_validate(resolve("cooker", {"id": "m", "like": "mirror-180cm"}))
    rice = Dish(
        id="r",
        name="Rice",
        meal="m",
        portions=3,
        portion_kg=2.9,  # 3.0 kg dry and 5.7 kg of water
        composition=Composition(water=0.7, carbohydrate=0.27, protein=0.03),
        done="simmer",
        ordinary_min=20,
        z_c=36,
        start_c=28,
        hazardous=False,
    )
    light = heat.watts(mirror, np.full(1440, 750.0), np.full(1440, 150.0))  # haze of the tropics
    forcing = Forcing(light[None, :], np.full(1440, 32.0), np.full(1440, 1.0))
    state = heat.ensemble(
        mirror,
        Load((rice,), (8.7,), (Pot(id="p", name="P", litres=12, mass_kg=2.0),)),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.full(1, 32.0),
        strength=np.ones(1),
        boil_c=98.0,
    )
    minutes = 0.0
    while not heat.is_done(state).all():
        heat.step(state, forcing, dt_s=30, boil_c=98.0)
        minutes += 0.5

    # Printed 90 to 100; its water, haze, pot and turning are not. A model of a mirror that is
    # always aimed must not be slower than that, nor more than twice as fast.
    assert 0.5 <= minutes / 95 <= 1.05


def test_two_small_mirrors_give_about_the_printed_watts() -> None:
    mirror = Cooker.model_validate(resolve("cooker", {"id": "m", "like": "mirror-90cm"}))

    light = float(heat.watts(mirror, np.array([850.0]), np.array([0.0]))[0])
    loss = mirror.pot_loss_w_m2_k * heat.pot_area_m2(5) * 40

    # 485 W on average from 1.27 m², over a heating-up in strong sun.
    assert 2 * (light - loss) == pytest.approx(485, rel=0.2)


def test_the_potatoes_z_tells_their_printed_times() -> None:
    z = float(str(entries("dish")["potatoes"]["z_c"]))

    for at_c, printed in ((100, 5.5), (90, 16.4), (80, 51.9)):
        minutes = 5.5 / float(cook_rate(np.array([at_c]), z)[0])
        assert minutes == pytest.approx(printed, rel=0.08)
