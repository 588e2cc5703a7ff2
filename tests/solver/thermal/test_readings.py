"""Strength and losses from readings: a cooker of the model comes back with its own."""

from __future__ import annotations

from datetime import date, time
from zoneinfo import ZoneInfo

import pytest

from events.errors import WHOLE_FILE, FaultyEvent
from events.model import Cooker, Event
from events.reading.catalogue import resolve
from events.reading.cooker_facts import to_parameters
from events.reading.cooker_log import read_log
from events.table import changed
from service.text.faults import said
from solver.thermal.calibration import calibrated
from solver.thermal.measurement import black_pot
from solver.thermal.readings import fit, litre_test
from solver.thermal.water_test import water_test
from tests.conftest import sample_event
from tests.solver.thermal.test_water_test import ETA, LOSS, box, logged

ZONE = ZoneInfo("Europe/Vienna")
DAY = date(2027, 6, 10)


@pytest.fixture
def school() -> Event:
    return sample_event("school-day")


def test_a_fit_finds_strength_and_loss_of_a_box_with_a_body(school: Event) -> None:
    true = box(body_kj_k=6.0, coupling_w_m2_k=25.0, sun_on_pots_fraction=0.25)
    log = read_log(logged(true, black_pot(2.0), kg=2.0), source="log", zone=ZONE)
    typical = changed(true, optical_efficiency=0.55, loss_w_k=1.2)

    efficiency, loss, rms = fit(log, school, typical, litres=2.0)

    assert efficiency == pytest.approx(ETA, rel=0.08)
    assert loss * 1.2 == pytest.approx(LOSS, rel=0.15)
    assert rms < 1.0


@pytest.mark.parametrize("factor", [0.6, 1.0, 1.4])
def test_the_litre_test_tells_how_strong_a_cooker_is(school: Event, factor: float) -> None:
    cooker = school.cookers[0]
    stronger = changed(cooker, optical_efficiency=cooker.optical_efficiency * factor)
    told = {"day": DAY, "at": time(12), "minutes": 12, "from_c": 20.0, "litres": 2.0}
    low, high = 21.0, 90.0
    for _ in range(40):  # where the stronger cooker would bring the water
        middle = (low + high) / 2
        if litre_test(school, stronger, to_c=middle, **told).factor < 1:  # type: ignore[arg-type]
            low = middle
        else:
            high = middle

    found = litre_test(school, cooker, to_c=low, **told)  # type: ignore[arg-type]

    assert found.factor == pytest.approx(factor, rel=0.02)
    assert 0.04 < found.band_fraction < 0.15


def test_a_litre_test_that_can_not_be_is_refused_with_figures(school: Event) -> None:
    told = {"day": DAY, "minutes": 20, "from_c": 20.0}

    for more, words in (
        ({"at": time(12), "to_c": 22.0}, "5 °C warmer"),
        ({"at": time(12), "to_c": 97.0}, "near the boil"),
        ({"at": time(2), "to_c": 60.0}, "W/m²"),
    ):
        with pytest.raises(FaultyEvent) as refused:
            litre_test(school, school.cookers[0], **told, **more)  # type: ignore[arg-type]
        assert words in said(refused.value.faults[0]).text


@pytest.mark.parametrize("like", ["box-better", "panel-deep", "mirror-90cm"])
def test_the_line_of_a_log_brings_any_cooker_back(school: Event, like: str) -> None:
    true = Cooker.model_validate(resolve("cooker", {"id": "c", "like": like}))
    true = changed(true, optical_efficiency=0.9 * true.optical_efficiency)
    litres = 7 * (true.aperture_m2 or 0.0)
    log = read_log(logged(true, black_pot(litres), kg=litres, minutes=300), source="log", zone=ZONE)

    line = water_test(log, school, aperture_m2=true.aperture_m2 or 0.0, water_kg=litres, source="l")
    facts = {
        "line_intercept_w": line.intercept_w,
        "line_slope_w_k": line.slope_w_k,
        "line_sun_w_m2": line.sun_w_m2,
        "line_air_c": line.air_c,
        "line_wind_m_s": line.wind_m_s,
        "line_litres": litres,
    }
    found = calibrated(
        Cooker.model_validate(
            to_parameters(resolve("cooker", {"id": "c", "like": like, **facts}), WHOLE_FILE, [])
        )
    )

    again = read_log(
        logged(found, black_pot(litres), kg=litres, minutes=300), source="log", zone=ZONE
    )
    gone = water_test(
        again, school, aperture_m2=true.aperture_m2 or 0.0, water_kg=litres, source="l"
    )
    assert gone.at_50_w == pytest.approx(line.at_50_w, rel=0.03)
    assert found.optical_efficiency == pytest.approx(true.optical_efficiency, rel=0.05)


@pytest.mark.parametrize("like", ["box-better", "panel-deep", "mirror-90cm"])
def test_a_fit_to_a_log_brings_any_cooker_back(school: Event, like: str) -> None:
    usual = Cooker.model_validate(resolve("cooker", {"id": "c", "like": like}))
    true = changed(usual, optical_efficiency=0.85 * usual.optical_efficiency)
    litres = 7 * (true.aperture_m2 or 0.0)
    log = read_log(logged(true, black_pot(litres), kg=litres), source="log", zone=ZONE)

    efficiency, loss, rms = fit(log, school, usual, litres=litres)

    assert efficiency == pytest.approx(true.optical_efficiency, rel=0.04)
    assert loss == pytest.approx(1.0, abs=0.08)
    assert rms < 0.6
