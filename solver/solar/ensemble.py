"""How the day may differ from its forecast: drawn skies that err by the hour, and their haze.

Spreads are judged or typical, none measured.
"""

from __future__ import annotations

from collections.abc import Callable
from statistics import NormalDist

import numpy as np

from events.model import Event
from events.site import Weather
from solver.solar.irradiance import Sky, cloudy_w_m2, held_from
from solver.solar.position import Array

NORMAL = NormalDist()
CLOUD_ERROR = 0.18  # standard deviation of an hour's cloud fraction, a day ahead: judgement
# It is so much smaller on the morning itself, and grows by as much for each further day, until the
# forecast knows no more than the season does: judgement.
LEAD_STEP, LEAD_MOST = 0.2, 2.0
ONE_IN_TEN = -NORMAL.inv_cdf(0.1)  # standard deviations between the middle and one in ten
HOUR_LEANS = 0.75  # correlation of one hour's error with the next: judgement
GREY_ERROR = 0.3  # of a cloud's own light, whole day: some are bright, some grey: judgement
HAZE_ERROR = 0.06  # of the beam, whole day: typical


def plain_normal(rng: np.random.Generator, runs: int) -> Array:
    """Return independent standard normals."""
    return rng.standard_normal(runs)


def stratified_normal(rng: np.random.Generator, runs: int) -> Array:
    """Return standard normals, one from each of `runs` equally likely slices, in random order.

    So few draws are as balanced as many: no set of them is lucky (Latin hypercube sampling, McKay
    and others 1979).
    """
    shares = (rng.permutation(runs) + rng.random(runs)) / runs
    return np.asarray([NORMAL.inv_cdf(min(max(s, 1e-9), 1 - 1e-9)) for s in shares.tolist()])


def cloud_error(weather: Weather) -> float:
    """Return the standard deviation of an hour's cloud fraction, by how old the forecast is."""
    return CLOUD_ERROR * min(1 + LEAD_STEP * (weather.days_ahead - 1), LEAD_MOST)


def cloud_errors(event: Event, sky: Sky) -> tuple[Array, Array]:
    """Return the deviations towards less and towards more cloud, by minute.

    They are the forecast's own where it says what one day in ten is under, or over. What is no
    forecast does not err: it is the sky that is planned for.
    """
    usual = cloud_error(event.weather) if event.weather.is_forecast else 0.0
    less, more = np.full((2, sky.beam_w_m2.size), usual)
    for at, hour in held_from(event, sky.start_at):
        low_pct, high_pct = hour.cloud_low_pct, hour.cloud_high_pct
        less[at:] = usual if low_pct is None else _deviation(hour.cloud_pct - low_pct)
        more[at:] = usual if high_pct is None else _deviation(high_pct - hour.cloud_pct)
    return less, more


def _deviation(off_pct: float) -> float:
    return max(off_pct, 0.0) / 100 / ONE_IN_TEN


def sky_ensemble(
    event: Event,
    sky: Sky,
    rng: np.random.Generator,
    runs: int,
    normal: Callable[[np.random.Generator, int], Array] = plain_normal,
) -> tuple[Array, Array]:
    """Return (beam, diffuse) in W/m² by (run, minute), under forecasts that err.

    Without a forecast only the haze differs: the sky was taken to be clear, and that is said.
    """
    minutes = sky.beam_w_m2.size
    clear = np.maximum(sky.clear_beam_w_m2, 1e-9)
    cloud = np.clip(1 - sky.beam_w_m2 / clear, 0, 1)
    hours = minutes // 60 + 1
    error = np.zeros((runs, hours))
    error[:, 0] = normal(rng, runs)
    for h in range(1, hours):
        fresh = np.sqrt(1 - HOUR_LEANS**2) * normal(rng, runs)
        error[:, h] = HOUR_LEANS * error[:, h - 1] + fresh
    by_minute = np.repeat(error, 60, axis=1)[:, :minutes]
    less, more = cloud_errors(event, sky)
    by_minute *= np.where(by_minute < 0, less, more)
    haze = 1 + HAZE_ERROR * normal(rng, runs)[:, None]
    drawn = np.clip(cloud + by_minute, 0, 1)
    beam, diffuse = cloudy_w_m2(event, sky, drawn, haze)
    grey = 1 + GREY_ERROR * np.clip(normal(rng, runs), -2, 2)[:, None] * drawn
    return beam, diffuse * grey
