"""A cooker of the model, put through the standard water test, gives the standard's line.

Source: ASAE/ASABE S580.1: P_i = (T2 - T1) M 4186 / 600 for each ten minutes, P_s = P_i 700 / I,
regression of P_s on T_d = mean water - mean air; wind over 2.5 m/s discards an interval. For a
lumped cooker the line is 700 eta A and -UA 700 / I (derived: not -UA).
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from events.model import Cooker, Event
from events.reading.cooker_log import LogReading
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Forcing, Load
from solver.thermal.measurement import water
from solver.thermal.water_test import WaterTest, water_test
from tests.conftest import sample_event
from tests.published.runs import steel_pot

WATER_KG, SUN_W_M2, AIR_C, AREA_M2 = 3.5, 800.0, 28.0, 0.5
ETA, LOSS_W_K = 0.4, 2.0


def readings(wind_m_s: float = 0.5) -> list[LogReading]:
    """Return the log of a cooker of one lump: no body, no vapour, no fog."""
    box = Cooker(
        id="c",
        name="Box",
        kind="box",
        aperture_m2=AREA_M2,
        optical_efficiency=ETA,
        sun_on_pots_fraction=0.0,
        loss_w_k=LOSS_W_K,
        wind_factor_s_m=0.0,
        body_kj_k=0.01,
        coupling_w_m2_k=500,
        litres=20,
    )
    state = heat.ensemble(
        box,
        Load((water(WATER_KG, AIR_C),), (WATER_KG,), (steel_pot(12.0, mass_kg=0.0),)),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.full(1, AIR_C),
        strength=np.ones(1),
        boil_c=99.97,
    )
    state.vapour_w_k2[:], state.fog_fraction[:] = 0.0, 0.0
    forcing = Forcing(np.full((1, 1), ETA * AREA_M2 * SUN_W_M2), np.full(1, AIR_C), np.zeros(1))
    start, out = datetime(2027, 6, 10, 9, tzinfo=UTC), []
    for minute in range(181):
        at = start + timedelta(minutes=minute)
        out.append(LogReading(at, float(state.pot_c[0, 0]), AIR_C, wind_m_s, SUN_W_M2))
        for _ in range(6):
            heat.step(state, forcing, dt_s=10.0, boil_c=99.97)
    return out


@pytest.fixture
def school() -> Event:
    return sample_event("school-day")


def worked_out(school: Event, log: list[LogReading]) -> WaterTest:
    return water_test(log, school, aperture_m2=AREA_M2, water_kg=WATER_KG, source="log")


def test_the_line_has_the_derived_intercept_and_slope(school: Event) -> None:
    found = worked_out(school, readings())

    assert found.intercept_w == pytest.approx(700 * ETA * AREA_M2, rel=0.02)
    assert found.slope_w_k == pytest.approx(-LOSS_W_K * 700 / SUN_W_M2, rel=0.03)
    assert found.at_50_w == pytest.approx(found.intercept_w + 50 * found.slope_w_k)
    assert found.r2 > 0.99


def test_only_water_from_40_to_90_and_wind_up_to_the_limit_count(school: Event) -> None:
    log = readings()
    found, windy = worked_out(school, log), worked_out(school, readings(wind_m_s=2.0))
    by_time = {r.at: r.water_c for r in log}

    for i in found.intervals:
        ends = by_time[i.at], by_time[i.at + timedelta(minutes=10)]
        assert i.used == (ends[0] >= 40 and ends[1] <= 90)
    assert {i.used for i in found.intervals} == {True, False}
    assert all(any("2.0 m/s" in b for b in i.broken) for i in windy.intervals)
    assert windy.at_50_w == pytest.approx(found.at_50_w)


def test_wind_over_the_limit_discards(school: Event) -> None:
    log = readings()
    storm = [
        LogReading(r.at, r.water_c, r.air_c, 4.0 if k > 120 else 0.5, r.sun_w_m2)
        for k, r in enumerate(log)
    ]

    used = [i.at for i in worked_out(school, storm).intervals if i.used]

    assert max(used) < log[120].at
    assert len(used) < len([i for i in worked_out(school, log).intervals if i.used])
