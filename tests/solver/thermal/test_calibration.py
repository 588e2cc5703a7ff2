"""A cooker described by what was measured gives that back when its model is put to the same test.

For every way of describing one, with several pots, winds and suns. The tests are run here step by
step with the heat balance alone, not by the code that finds the figures.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from events.errors import WHOLE_FILE, Fault
from events.model import Cooker, Dish, Pot
from events.reading.catalogue import resolve
from events.reading.cooker_facts import to_parameters
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from events.reading.write import write_event
from events.table import changed
from solver.planning.pipeline import make_plan
from solver.simulation.day import make_day
from solver.thermal import energy_balance as heat
from solver.thermal.calibration import calibrated
from solver.thermal.energy_balance import Forcing, Load
from solver.thermal.light import heating_w
from tests.conftest import replaced

HARVEST = sample_text("harvest-lunch")


def described(like: str, **facts: float) -> Cooker:
    faults: list[Fault] = []
    table = to_parameters(resolve("cooker", {"id": "c", "like": like, **facts}), WHOLE_FILE, faults)
    assert faults == []
    return Cooker.model_validate(table)


def water_c(
    cooker: Cooker,
    *,
    kg: float,
    pot_litres: float,
    sun: float,
    wind: float,
    from_c: float,
    minutes: int,
    air_c: float = 25.0,
) -> np.ndarray:
    """Return the water by the minute until it is over 95 °C; 85 of 100 of the sun is beam."""
    light = heating_w(cooker, np.array([0.85 * sun]), np.array([0.15 * sun]), elevation_deg=None)
    water = Dish.model_validate(
        {"id": "w", "name": "W", "meal": "m", "portions": 1, "portion_kg": kg / 4, "done": "boil"}
        | {"composition": {"water": 1.0}, "start_c": from_c}
    )
    state = heat.ensemble(
        cooker,
        Load((water,), (kg,), (Pot(id="p", name="P", litres=pot_litres, mass_kg=_kg(pot_litres)),)),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.full(1, air_c),
        strength=np.ones(1),
        boil_c=115.0,
    )
    forcing = Forcing(light[None, :], np.array([air_c]), np.array([wind]))
    out = [from_c]
    while len(out) <= minutes and out[-1] <= 95.0:
        for _ in range(6):
            heat.step(state, forcing, dt_s=10.0, boil_c=115.0)
        out.append(float(state.pot_c[0, 0]))
    return np.asarray(out)


def _kg(pot_litres: float) -> float:
    return 0.2 + pot_litres / 6.5  # a black steel pot


def at_50_w(cooker: Cooker, *, kg: float, pot_litres: float, sun: float, wind: float) -> float:
    """Return P_s(50) by S580.1: ten-minute intervals of water between 40 and 90 °C."""
    track = water_c(
        cooker, kg=kg, pot_litres=pot_litres, sun=sun, wind=wind, from_c=25.0, minutes=360
    )[::10]
    first, last = track[:-1], track[1:]
    used = (first >= 40) & (last <= 90)
    power = (last - first) * kg * 4186 / 600 * 700 / sun
    slope, intercept = np.polyfit((first + last)[used] / 2 - 25, power[used], 1)
    return float(intercept + 50 * slope)


LINES = [
    ("mirror-140cm", 600.0, -3.5),
    ("mirror-90cm", 230.0, -1.6),
    ("box-better", 90.0, -0.9),
    ("box-better", 120.0, -0.8),
    ("box-large", 150.0, -1.3),
    ("box-plain", 60.0, -0.6),
    ("panel-folded", 85.0, -0.9),
    ("panel-deep", 130.0, -1.7),
]


@pytest.mark.parametrize(("like", "intercept", "slope"), LINES)
@pytest.mark.parametrize(("pot_share", "wind"), [(1.3, 0.0), (1.3, 0.5), (1.8, 1.0)])
def test_the_line_of_the_standard_test_comes_back(
    like: str, intercept: float, slope: float, pot_share: float, wind: float
) -> None:
    area = float(str(resolve("cooker", {"id": "c", "like": like})["aperture_m2"]))
    kg = 7 * area
    cooker = described(
        like,
        line_intercept_w=intercept,
        line_slope_w_k=slope,
        line_sun_w_m2=820.0,
        line_litres=kg,
        line_pot_litres=kg * pot_share,
        line_wind_m_s=wind,
    )

    found = at_50_w(calibrated(cooker), kg=kg, pot_litres=kg * pot_share, sun=820.0, wind=wind)

    assert found == pytest.approx(intercept + 50 * slope, rel=0.03)


FACTS = [
    ("box-better", 2.0, 90.0, 100.0),
    ("box-large", 4.0, 85.0, 150.0),
    ("box-plain", 1.5, 80.0, 140.0),
    ("panel-folded", 2.0, 80.0, 120.0),
    ("mirror-140cm", 5.0, 90.0, 40.0),
    ("mirror-140cm", 2.0, 90.0, 12.5),
]


@pytest.mark.parametrize(("like", "litres", "to_c", "minutes"), FACTS)
@pytest.mark.parametrize(("wind", "pot_share"), [(0.0, 1.3), (2.0, 1.8)])
def test_the_minutes_that_some_litres_took_come_back(
    like: str, litres: float, to_c: float, minutes: float, wind: float, pot_share: float
) -> None:
    cooker = described(
        like,
        heat_litres=litres,
        heat_from_c=20.0,
        heat_to_c=to_c,
        heat_min=minutes,
        heat_wind_m_s=wind,
        heat_pot_litres=litres * pot_share,
    )

    track = water_c(
        calibrated(cooker),
        kg=litres,
        pot_litres=litres * pot_share,
        sun=850.0,
        wind=wind,
        from_c=20.0,
        minutes=300,
    )

    found = float(np.interp(to_c, track, np.arange(track.size)))
    assert found == pytest.approx(minutes, rel=0.03)


@pytest.mark.parametrize("empty_c", [118.0, 140.0, 155.0])
@pytest.mark.parametrize("heated", [True, False])
def test_the_hottest_that_a_box_got_empty_comes_back_beside_its_minutes(
    empty_c: float, *, heated: bool
) -> None:
    facts = {"heat_litres": 2.0, "heat_from_c": 20.0, "heat_to_c": 80.0, "heat_min": 100.0}
    cooker = calibrated(described("box-better", empty_c=empty_c, **(facts if heated else {})))

    light = heating_w(cooker, np.array([0.85 * 850]), np.array([0.15 * 850]), elevation_deg=None)
    forcing = Forcing(np.full((1, 1440), light[0]), np.full(1440, 25.0), np.full(1440, 1.0))
    hottest = heat.preheated_c(cooker, forcing, 0, minutes=np.array([1400]), for_min=1300)
    track = water_c(cooker, kg=2.0, pot_litres=2.6, sun=850.0, wind=1.0, from_c=20.0, minutes=300)

    assert float(hottest[0]) == pytest.approx(empty_c, abs=2.0)
    if heated:
        assert np.interp(80.0, track, np.arange(track.size)) == pytest.approx(100.0, rel=0.03)


def test_an_insulated_box_keeps_what_it_was_seen_to_keep() -> None:
    cooker = calibrated(described("hay-box", kept_c=78.0, kept_litres=10.0))
    pot = Pot(id="p", name="P", litres=13.0, mass_kg=_kg(13.0))
    water = Dish.model_validate(
        {"id": "w", "name": "W", "meal": "m", "portions": 1, "portion_kg": 5, "done": "boil"}
        | {"composition": {"water": 1.0}, "start_c": 95.0}
    )
    state = heat.ensemble(
        cooker,
        Load((water,), (10.0,), (pot,)),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.full(1, 20.0),
        strength=np.ones(1),
        boil_c=115.0,
    )
    for _ in range(240 * 6):
        heat.step(
            state, Forcing(np.zeros((1, 1)), np.full(1, 20.0), np.zeros(1)), dt_s=10.0, boil_c=115.0
        )

    assert float(state.pot_c[0, 0]) == pytest.approx(78.0, abs=0.3)


def test_what_no_cooker_can_be_comes_as_near_as_can_be() -> None:
    told = described("box-better", line_intercept_w=225.0, line_slope_w_k=-0.2)

    found = calibrated(told)

    assert 0.02 <= found.optical_efficiency <= 0.95
    assert math.isfinite(found.loss_w_k or math.nan)


def test_a_cooker_that_was_not_measured_stays_as_it_is() -> None:
    mirror = Cooker.model_validate(resolve("cooker", {"id": "m", "like": "mirror-90cm"}))

    assert calibrated(mirror) is mirror


def test_a_cooker_that_was_not_resolved_is_refused_by_the_heat_balance() -> None:
    with pytest.raises(ValueError, match="must be resolved first"):
        water_c(
            described("box-better", empty_c=150.0),
            kg=1.0,
            pot_litres=2.0,
            sun=800.0,
            wind=0.0,
            from_c=20.0,
            minutes=1,
        )


def test_the_saved_file_keeps_what_was_typed_and_the_plan_uses_what_it_means() -> None:
    facts = "line_intercept_w = 130\nline_slope_w_k = -1.1\nline_pot_litres = 7"
    text = replaced(HARVEST, ('name = "Box 1"', f'name = "Box 1"\n{facts}'))

    event = read_event(text)
    day = make_day(event)

    assert read_event(write_event(event)) == event
    assert "line_slope_w_k = -1.1" in write_event(event)
    assert day.event.cooker("box-1").measured is None
    assert day.event.cooker("box-1") == calibrated(event.cooker("box-1"))
    assert day.event_id == make_plan(event).event_id


def test_a_log_written_by_the_model_gives_its_own_line() -> None:
    from solver.thermal.measurement import Conditions, standard_line

    cooker = changed(described("box-better"), loss_w_k=1.1)
    at = Conditions(800.0, 25.0, 0.5, 2.45, 3.2)

    intercept, slope = standard_line(cooker, at, strength=np.ones(1), loss=np.ones(1))

    own = at_50_w(cooker, kg=2.45, pot_litres=3.2, sun=800.0, wind=0.5)
    assert float(intercept[0] + 50 * slope[0]) == pytest.approx(own, rel=0.02)


def test_an_entry_of_another_opening_is_as_strong_as_its_opening_is_large() -> None:
    for like in ("mirror-120cm", "box-better", "panel-folded"):
        usual = described(like)
        area = usual.aperture_m2 or 0.0
        twice = described(like, aperture_m2=2 * area)

        powers = [
            at_50_w(c, kg=7 * a, pot_litres=9.1 * a, sun=800.0, wind=0.5)
            for c, a in ((usual, area), (twice, 2 * area))
        ]

        # Twice the light, and less surface for it: fixed losses weigh less on what is larger.
        assert 1.9 <= powers[1] / powers[0] <= 2.7
