"""Box cookers against Mullick, Kandpal & Saxena 1987, Solar Energy 39:353 (formulas from memory).

The printed minutes are computed from the formula. Our model must agree in the one-node limit:
no heat in the body, coupling without resistance, gain F2 and loss F2/F1 per square metre.
"""

import numpy as np
import pytest

from events.errors import WHOLE_FILE
from events.model import Cooker, Dish, Pot
from events.reading.catalogue import resolve
from events.reading.cooker_facts import to_parameters
from solver.thermal import energy_balance as heat
from solver.thermal.calibration import calibrated
from solver.thermal.energy_balance import Forcing, Load
from solver.thermal.measurement import clear_light_w
from tests.published.runs import cooker_like, empty_c, heated, minutes_to

WATER = {"water": 1.0}


def _minutes(
    *, f1: float, f2: float, kg_m2: float, sun: float, air_c: float, from_c: float, to_c: float
) -> float:
    box = Cooker(
        id="box",
        name="Box",
        kind="box",
        aperture_m2=1.0,
        optical_efficiency=f2,
        diffuse_fraction=0.0,
        sun_on_pots_fraction=0.0,
        loss_w_k=f2 / f1,
        wind_factor_s_m=0.0,
        body_kj_k=0.0,
        coupling_w_m2_k=500.0,
        litres=50,
    )
    water = Dish(
        id="water",
        name="Water",
        meal="m",
        portions=1,
        portion_kg=kg_m2 / 2,
        composition=WATER,
        start_c=from_c,
        done="melt",
        core_c=to_c,
        hazardous=False,
    )
    pot = Pot(id="pot", name="Pot", litres=50, mass_kg=0.0)
    state = heat.ensemble(
        box,
        Load((water,), (kg_m2,), (pot,)),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.asarray([from_c]),
        strength=np.ones(1),
        boil_c=110.0,  # the formula knows no boil
    )
    state.pot_j_k[:] = kg_m2 * 4186.0  # the test's own heat of water
    state.coupling_w_k[:] = 1e7  # coupling without resistance
    state.vapour_w_k2[:], state.fog_fraction[:] = 0.0, 0.0  # the formula knows neither
    n = 400
    forcing = Forcing(np.full((1, n), f2 * sun), np.full(n, air_c), np.zeros(n))
    while state.pot_c[0, 0] < to_c:
        heat.step(state, forcing, dt_s=1.0, boil_c=110.0)
    return float(state.minute[0])


@pytest.mark.parametrize(
    ("f1", "sun", "air_c", "from_c", "to_c", "printed_min"),
    [
        (0.12, 800.0, 25.0, 65.0, 95.0, 128.5),
        (0.11, 800.0, 25.0, 65.0, 95.0, 150.5),
        (0.12, 900.0, 30.0, 30.0, 100.0, 174.9),
    ],
)
def test_the_one_node_limit_takes_the_printed_minutes(
    f1: float, sun: float, air_c: float, from_c: float, to_c: float, printed_min: float
) -> None:
    minutes = _minutes(f1=f1, f2=0.40, kg_m2=8.0, sun=sun, air_c=air_c, from_c=from_c, to_c=to_c)

    assert abs(minutes - printed_min) < 0.15  # one-second steps


@pytest.mark.parametrize("name", ["box-plain", "box-better", "box-large", "box-hot"])
def test_a_body_and_a_coupling_make_a_box_slower_than_the_formula(name: str) -> None:
    # The second figure carries what pot, body and coupling keep back: with an opening's efficiency
    # in its place the formula is too fast, as F2 of 0.19 to 0.43 beside efficiencies of 0.5 say.
    box = cooker_like(name)
    area = box.aperture_m2 or 0.0
    track = heated(box, 8 * area, sun=800.0, from_c=25.0)

    formula = _minutes(
        f1=(empty_c(box, sun=800.0) - 25) / 800,
        f2=box.optical_efficiency,
        kg_m2=8.0,
        sun=800.0,
        air_c=25.0,
        from_c=65.0,
        to_c=85.0,
    )

    ours = minutes_to(track, 85.0) - minutes_to(track, 65.0)
    assert 1.1 < ours / formula < 2.0


def test_stagnation_gives_back_the_first_figure_in_a_run_to_the_end() -> None:
    # T_plate 130, air 30, 850 W/m²: F1 = 0.11765 (printed). A box described by that heat alone
    # stands still there, and a box that is given the figure's losses comes to it in hours of sun.
    table = {"id": "c", "like": "box-better", "empty_c": 130.0, "empty_air_c": 30.0}
    box = calibrated(Cooker.model_validate(to_parameters(resolve("cooker", table), WHOLE_FILE, [])))
    light = clear_light_w(box, np.full((1, 900), 850.0))

    body_c = heat.preheated_c(
        box,
        Forcing(light, np.full(900, 30.0), np.full(900, 1.0)),
        0,
        minutes=np.asarray([30, 800]),
        for_min=800,
    )

    assert round((float(body_c[1]) - 30.0) / 850.0, 3) == 0.118
