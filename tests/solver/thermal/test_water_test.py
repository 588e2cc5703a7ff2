"""The standard water test: a cooker comes back with its own figures, bad logs are named."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from events.errors import FaultyEvent
from events.model import Cooker, Event, Pot
from events.reading.cooker_log import gaps, read_log
from service.text.faults import faults_text
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Forcing, Load
from solver.thermal.food import boiling_c
from solver.thermal.measurement import clear_light_w, water
from solver.thermal.water_test import solar_hour, water_test
from tests.conftest import sample_event

ZONE = ZoneInfo("Europe/Vienna")
DAY = date(2027, 6, 10)
ETA, AREA, LOSS = 0.42, 0.5, 1.8
WIDE = Pot(id="p", name="P", litres=30, mass_kg=0.0)  # no mass of its own, well coupled


def box(**more: object) -> Cooker:
    figures = {
        "id": "c",
        "name": "Box",
        "kind": "box",
        "aperture_m2": AREA,
        "optical_efficiency": ETA,
        "sun_on_pots_fraction": 0.0,
        "loss_w_k": LOSS,
        "wind_factor_s_m": 0.0,
        "body_kj_k": 0.01,
        "coupling_w_m2_k": 500.0,
        "litres": 20.0,
    }
    return Cooker.model_validate(figures | more)


LUMP = box(diffuse_fraction=1.0)


def logged(
    cooker: Cooker,
    pot: Pot,
    *,
    kg: float,
    sun: float = 800.0,
    air: float = 27.0,
    dry: bool = False,
    minutes: int = 180,
) -> str:
    """Return the log that a cooker of the model would write, from 10:00 local on.

    `dry` leaves out vapour and fog, which a cooker of one lump has not.
    """
    every = 2
    forcing = Forcing(
        clear_light_w(cooker, np.full((1, 1440), sun)), np.full(1440, air), np.full(1440, 0.5)
    )
    dish = water(kg, air)
    state = heat.ensemble(
        cooker,
        Load((dish,), (kg,), (pot,)),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.full(1, air),
        strength=np.ones(1),
        boil_c=boiling_c(610),
    )
    if dry:
        state.vapour_w_k2[:], state.fog_fraction[:] = 0.0, 0.0
    lines = ["time,water_c,air_c,wind_m_s,sun_w_m2"]
    start = datetime.combine(DAY, time(11), tzinfo=ZONE)
    for minute in range(minutes + 1):
        if minute % every == 0:
            at = start + timedelta(minutes=minute)
            lines.append(f"{at:%Y-%m-%dT%H:%M},{state.pot_c[0, 0]:.3f},{air},0.5,{sun}")
        for _ in range(6):
            heat.step(state, forcing, dt_s=10.0, boil_c=boiling_c(610))
    return "\n".join(lines)


@pytest.fixture
def school() -> Event:
    return sample_event("school-day")


def test_a_lumped_cooker_gets_its_own_parameters_back(school: Event) -> None:
    log = read_log(logged(LUMP, WIDE, kg=3.5, dry=True), source="log", zone=ZONE)

    found = water_test(log, school, aperture_m2=AREA, water_kg=3.5, source="log")

    assert found.r2 > 0.99
    assert found.intercept_w / 700 / AREA == pytest.approx(ETA, rel=0.02)
    assert -found.slope_w_k * found.sun_w_m2 / 700 == pytest.approx(LOSS, rel=0.04)
    assert found.at_50_w == pytest.approx(found.intercept_w + 50 * found.slope_w_k)


def test_interval_powers_are_the_standards_arithmetic(school: Event) -> None:
    # S580.1: P_i = (T2 - T1) M 4186 / 600; P_s = P_i 700 / I. 4 K in ten minutes, 3.5 kg, 800.
    lines = [f"10:{m:02d},{45 + 0.4 * m:.2f},25,0.2,800" for m in range(0, 60, 2)]
    text = "time,water_c,air_c,wind_m_s,sun_w_m2\n" + "\n".join(lines)

    log = read_log(text, source="log", zone=ZONE, day=DAY)
    found = water_test(log, school, aperture_m2=0.5, water_kg=3.5, source="log")

    assert len(found.intervals) == 5
    for interval in found.intervals:
        assert interval.power_w == pytest.approx(4 * 3.5 * 4186 / 600, abs=1e-6)
        assert interval.standard_w == pytest.approx(4 * 3.5 * 4186 / 600 * 700 / 800, abs=1e-6)


def test_broken_conditions_are_named_and_the_wind_discards(school: Event) -> None:
    lines = [
        f"{9 + m // 60}:{m % 60:02d},{30 + 0.4 * m:.2f},{15 if m < 30 else 25},"
        f"{3 if 60 <= m < 80 else 0.5},{400 if m < 20 else 800}"
        for m in range(0, 120, 2)
    ]
    log = read_log(
        "time,water_c,air_c,wind_m_s,sun_w_m2\n" + "\n".join(lines), source="l", zone=ZONE, day=DAY
    )

    found = water_test(log, school, aperture_m2=0.5, water_kg=3.5, source="l")

    said = " ".join(b for i in found.intervals for b in i.broken)
    for word in ("wind 3.0", "air 15", "sun 400", "by the sun", "changed by"):
        assert word in said
    assert any(not i.used for i in found.intervals)
    assert any("30 on 3 days" in r for r in found.remarks)


def test_without_a_logged_sun_the_clear_sky_is_computed_and_said(school: Event) -> None:
    text = "\n".join(row.rpartition(",")[0] for row in logged(box(), WIDE, kg=3.5).splitlines())

    log = read_log(text, source="log", zone=ZONE)
    found = water_test(log, school, aperture_m2=AREA, water_kg=3.5, source="log")

    assert 700 < found.sun_w_m2 < 1150
    assert any("clear sky was computed" in r for r in found.remarks)


GOOD = "time,water_c,air_c,wind_m_s\n" + "\n".join(
    f"1{m // 60}:{m % 60:02d},{25 + m / 2:.1f},24,0.5" for m in range(0, 60, 5)
)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a,b\n1,2", "not in the header"),
        (GOOD.replace("25.0,24", "warm,24"), "row 2.*water_c.*'warm'"),
        (GOOD.replace("27.5,24", "167.5,24"), "row 3.*167.5.*°F"),
        (GOOD.replace("10:15", "09:15"), "row 5.*is not after"),
        (GOOD.replace("10:15", "noon"), "row 5.*noon"),
        (GOOD.replace("30.0,24", ",24"), "row 4.*water_c.*missing"),
        ("time,water_c,air_c\n10:00,20,20", "too few"),
        (GOOD.replace("time,water_c,air_c", "time,air_c,water_c"), "look swapped"),
    ],
)
def test_a_bad_log_names_row_and_value(text: str, words: str) -> None:
    with pytest.raises(FaultyEvent) as refused:
        read_log(text, source="log", zone=ZONE, day=DAY)

    assert any(re.search(words, line) for line in faults_text(refused.value))


def test_a_log_of_the_night_is_refused(school: Event) -> None:
    log = read_log(GOOD.replace("1", "0", 0), source="l", zone=ZoneInfo("Asia/Tokyo"), day=DAY)

    with pytest.raises(FaultyEvent, match="night-there"):
        water_test(log, school, aperture_m2=0.5, water_kg=3, source="l")


def test_gaps_are_found() -> None:
    text = "\n".join(row for row in GOOD.splitlines() if "10:20" not in row and "10:25" not in row)

    log = read_log(text, source="l", zone=ZONE, day=DAY)

    assert len(gaps(log)) == 1


def test_fahrenheit_and_miles_are_read_by_their_heads() -> None:
    text = "time,water_f,air_f,wind_mph\n10:00,68,77,1\n10:05,77,77,1\n10:10,86,77,1"

    log = read_log(text, source="l", zone=ZONE, day=DAY)

    assert [r.water_c for r in log] == pytest.approx([20, 25, 30])
    assert log[0].wind_m_s == pytest.approx(0.44704)


def test_the_hour_by_the_sun_is_twelve_at_its_height(school: Event) -> None:
    from solver.solar.position import positions

    start = datetime(2027, 6, 10, 9, tzinfo=ZoneInfo("UTC"))
    times = [start + timedelta(minutes=m) for m in range(360)]
    elevation, _ = positions(
        times, latitude_deg=school.site.latitude_deg, longitude_deg=school.site.longitude_deg
    )

    top = times[int(elevation.argmax())]

    assert solar_hour(
        top, latitude_deg=school.site.latitude_deg, longitude_deg=school.site.longitude_deg
    ) == pytest.approx(12, abs=0.03)
