"""Drawn skies: how far they err by the forecast's age, and by what it says of itself.

Worked by hand from the spreads in `solver/solar/ensemble.py`, which are judgement.
"""

from __future__ import annotations

import numpy as np
import pytest

from events.model import Event
from events.site import Weather, WeatherHour
from events.table import changed
from solver.solar.ensemble import cloud_errors, sky_ensemble
from solver.solar.irradiance import expected_sky
from tests.conftest import sample_event

NOON = 12 * 60


def under(days_ahead: int = 1, **hour: float) -> Event:
    """Return an event of one forecast: half of the sky covered, all day."""
    row = WeatherHour.model_validate({"start": "06:00", "cloud_pct": 50, **hour})
    weather = Weather(days_ahead=days_ahead, hours=(row,))
    return changed(sample_event("harvest-lunch"), weather=weather)


@pytest.mark.parametrize(
    ("days_ahead", "error"), [(0, 0.144), (1, 0.18), (3, 0.252), (6, 0.36), (16, 0.36)]
)
def test_an_older_forecast_errs_more_until_it_knows_no_more_than_the_season(
    days_ahead: int, error: float
) -> None:
    event = under(days_ahead)

    less, more = cloud_errors(event, expected_sky(event))

    assert less[NOON] == pytest.approx(error)
    assert more[NOON] == pytest.approx(error)


def test_one_day_in_ten_is_under_the_forecasts_own_low_and_one_over_its_high() -> None:
    event = under(cloud_low_pct=40, cloud_high_pct=80)
    sky = expected_sky(event)

    beam, _ = sky_ensemble(event, sky, np.random.default_rng(1), 4000)

    # Haze moves the beam by a few of a hundred, so the cloud is read from the middle of many runs.
    cloud = 1 - beam[:, NOON] / sky.clear_beam_w_m2[NOON]
    assert np.mean(cloud < 0.40) == pytest.approx(0.1, abs=0.04)
    assert np.mean(cloud > 0.80) == pytest.approx(0.1, abs=0.04)


def test_each_hour_errs_by_its_own_figures() -> None:
    sure = WeatherHour.model_validate(
        {"start": "06:00", "cloud_pct": 10, "cloud_low_pct": 10, "cloud_high_pct": 10}
    )
    doubtful = WeatherHour.model_validate({"start": "12:00", "cloud_pct": 10})
    event = changed(under(), weather=Weather(hours=(sure, doubtful)))

    less, more = cloud_errors(event, expected_sky(event))

    assert (less[NOON - 1], more[NOON - 1]) == (0, 0)
    assert less[NOON] == more[NOON] == pytest.approx(0.18)


def test_without_a_forecast_no_cloud_is_drawn() -> None:
    event = changed(under(), weather=Weather())

    less, more = cloud_errors(event, expected_sky(event))

    assert not less.any()
    assert not more.any()
