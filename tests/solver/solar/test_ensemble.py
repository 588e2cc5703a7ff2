"""Drawn skies: how far they err by the forecast's age, and by what it says of itself.

Worked by hand from the spreads in `solver/solar/ensemble.py`, which are judgement.
"""

from __future__ import annotations

from datetime import time

import numpy as np
import pytest

from events.model import Event
from events.site import Weather, WeatherHour
from events.table import changed
from solver.solar.ensemble import NORMAL, cloud_errors, sky_ensemble, stratified_normal
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


def test_what_no_forecast_can_know_is_a_sky_to_plan_for_and_does_not_err() -> None:
    event = under(17)

    less, more = cloud_errors(event, expected_sky(event))

    assert not event.weather.is_forecast
    assert (less[NOON], more[NOON]) == (0.0, 0.0)
    assert under(16).weather.is_forecast
    assert not Weather(days_ahead=1).is_forecast


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


def test_balanced_draws_come_in_no_order() -> None:
    """In order, the first of a day's draws would always go with the least of another's."""
    drawn = stratified_normal(np.random.default_rng(1), 20)

    assert np.sort(drawn).tolist() != drawn.tolist()
    slices = np.floor([20 * NORMAL.cdf(x) for x in drawn])
    assert sorted(slices.tolist()) == list(range(20))


def test_skies_are_drawn_about_the_forecasts_cloud_and_hours_lean_on_each_other() -> None:
    event = changed(under(), weather=Weather(hours=(WeatherHour(start=time(6), cloud_pct=30.0),)))
    sky = expected_sky(event)

    beam, _ = sky_ensemble(event, sky, np.random.default_rng(1), 2000)

    cloud = 1 - beam / np.maximum(sky.clear_beam_w_m2, 1e-9)
    assert np.median(cloud[:, NOON]) == pytest.approx(0.3, abs=0.03)
    leans = [np.corrcoef(cloud[:, NOON], cloud[:, NOON + 60 * h])[0, 1] for h in (1, 2)]
    assert leans == pytest.approx([0.75, 0.75**2], abs=0.12)


def test_a_clear_day_differs_by_its_haze_alone_and_a_grey_one_by_how_grey_it_is() -> None:
    clear = changed(under(), weather=Weather())
    grey = under(cloud_pct=100, cloud_low_pct=100, cloud_high_pct=100)  # surely overcast

    def spread(event: Event) -> tuple[float, float]:
        beam, diffuse = sky_ensemble(event, expected_sky(event), np.random.default_rng(1), 2000)
        light = diffuse[:, NOON]
        return float(beam[:, NOON].std() / max(beam[:, NOON].mean(), 1e-9)), float(
            light.std() / light.mean()
        )

    beam, _ = spread(clear)
    assert beam == pytest.approx(0.06, abs=0.005)
    sky = expected_sky(clear)
    beams, light = sky_ensemble(clear, sky, np.random.default_rng(1), 2000)
    # What haze takes of the beam comes as the sky's own light, and no more: nothing is grey.
    up = np.sin(np.radians(sky.elevation_deg[NOON]))
    total = light[:, NOON] + up * beams[:, NOON]
    assert total.std() / total.mean() < 0.01
    assert spread(grey)[1] == pytest.approx(0.3, abs=0.03)
