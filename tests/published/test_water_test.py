"""A cooker of the model, put through the standard water test, gives the standard's line.

Source: ASAE/ASABE S580.1: P_i = (T2 - T1) M 4186 / 600 for each ten minutes, P_s = P_i 700 / I,
regression of P_s on T_d = mean water - mean air. For a lumped cooker the line is 700 eta A and
-UA 700 / I (derived: not -UA).
"""

from __future__ import annotations

import numpy as np
import pytest

from events.model import Composition, Cooker, Dish, Pot
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Forcing, Load

WATER_KG, SUN_W_M2, AIR_C = 3.5, 800.0, 28.0


def test_the_line_has_the_derived_intercept_and_slope() -> None:
    box = Cooker(
        id="c",
        name="Box",
        kind="box",
        aperture_m2=0.5,
        optical_efficiency=0.4,
        sun_on_pots_fraction=0.0,
        loss_w_k=2.0,
        wind_factor_s_m=0.0,
        body_kj_k=0.01,
        coupling_w_m2_k=500,
        litres=20,
    )
    water = Dish(
        id="w",
        name="Water",
        meal="m",
        portions=1,
        portion_kg=WATER_KG,
        composition=Composition(water=1.0),
        done="boil",
        start_c=AIR_C,
    )
    pot = Pot(id="p", name="Pot", litres=12, mass_kg=0.0)
    forcing = Forcing(
        np.full((1, 1440), 0.4 * 0.5 * SUN_W_M2), np.full(1440, AIR_C), np.zeros(1440)
    )
    state = heat.ensemble(
        box,
        Load((water,), (WATER_KG,), (pot,)),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.full(1, AIR_C),
        strength=np.ones(1),
        boil_c=99.97,
    )

    water_c = [AIR_C]
    for step in range(120 * 60 // 10):
        heat.step(state, forcing, dt_s=10.0, boil_c=99.97)
        if (step + 1) % 60 == 0:
            water_c.append(float(state.pot_c[0, 0]))
    t = np.asarray(water_c)
    power = np.diff(t) * WATER_KG * 4186 / 600 * 700 / SUN_W_M2
    above = (t[1:] + t[:-1]) / 2 - AIR_C
    slope, intercept = np.polyfit(above, power, 1)

    assert intercept == pytest.approx(700 * 0.4 * 0.5, rel=0.02)
    assert slope == pytest.approx(-2.0 * 700 / SUN_W_M2, rel=0.03)
