"""Cloud: what a forecast leaves of the beam and of the whole light, as expected and as drawn.

Source: Kasten & Czeplak 1980, Solar Energy 24:177: global radiation under N oktas of cloud is
1 - 0.75 (N/8)^3.4 of the clear sky's. The beam left is 1 - N/8, our own reading of a forecast.
"""

from __future__ import annotations

import numpy as np
import pytest

from events.model import Event
from events.site import Weather, WeatherHour
from events.table import changed
from solver.solar.irradiance import Sky, cloudy_w_m2, expected_sky


def under(event: Event, oktas: int) -> Sky:
    hour = WeatherHour.model_validate({"start": "08:00", "cloud_pct": 100 * oktas / 8})
    return expected_sky(changed(event, weather=Weather(hours=(hour,))))


def level_w_m2(sky: Sky) -> np.ndarray:
    """Return the light on level ground, beam and diffuse."""
    return sky.beam_w_m2 * np.sin(np.radians(sky.elevation_deg)) + sky.diffuse_w_m2


@pytest.mark.parametrize(
    ("oktas", "left"), [(0, 1.0), (2, 0.993), (4, 0.929), (6, 0.718), (7, 0.524), (8, 0.25)]
)
def test_the_light_left_under_cloud_is_what_was_published(
    harvest: Event, oktas: int, left: float
) -> None:
    clear, cloudy = under(harvest, 0), under(harvest, oktas)
    high = clear.elevation_deg > 20

    shares = level_w_m2(cloudy)[high] / level_w_m2(clear)[high]

    assert shares == pytest.approx(np.full(high.sum(), left), abs=0.0006)
    assert cloudy.beam_w_m2[high] == pytest.approx(clear.beam_w_m2[high] * (1 - oktas / 8))


def test_a_day_that_is_drawn_as_forecast_is_the_expected_day(harvest: Event) -> None:
    sky = under(harvest, 3)

    beam, diffuse = cloudy_w_m2(harvest, sky, np.full((1, 1), 3 / 8), np.ones((1, 1)))

    assert beam[0] == pytest.approx(sky.beam_w_m2)
    assert diffuse[0] == pytest.approx(sky.diffuse_w_m2)
