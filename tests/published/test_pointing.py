"""How fast the sun leaves an aim, against worked figures and the NREL algorithm's positions.

Source: great-circle travel 2 asin(cos d sin(7.5 deg/h t)), worked out and equal to NREL positions
to 0.004 degrees.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import pytest
from pvlib.solarposition import get_solarposition

from solver.solar.tracking import declination_deg, longest_min, travel_deg


@pytest.mark.parametrize(
    ("declination", "minutes", "printed"),
    [
        (23.44, 10, 2.294),
        (23.44, 15, 3.441),
        (23.44, 30, 6.880),
        (23.44, 60, 13.756),
        (0, 10, 2.500),
        (0, 15, 3.750),
        (0, 30, 7.500),
        (0, 60, 15.000),
    ],
)
def test_travel_is_the_printed_one(declination: float, minutes: float, printed: float) -> None:
    assert travel_deg(minutes, declination_deg=declination) == pytest.approx(printed, abs=0.0006)


@pytest.mark.parametrize(("acceptance", "minutes"), [(2, 16), (5, 40), (10, 80), (15, 120)])
def test_aimed_ahead_an_equinox_interval_is_the_printed_one(
    acceptance: float, minutes: float
) -> None:
    assert longest_min(acceptance, declination_deg=0) == pytest.approx(minutes)


@pytest.mark.parametrize("latitude", [-45.0, 0.0, 52.0])
def test_travel_is_what_the_reference_sun_does(latitude: float) -> None:
    start = datetime(2026, 10, 20, 11, tzinfo=UTC)
    times = pd.DatetimeIndex([start, start + timedelta(minutes=40)])

    row = np.radians(
        get_solarposition(times, latitude, 0.0, 0)[["elevation", "azimuth"]].to_numpy()
    )

    (a, x), (b, y) = row
    cosine = np.sin(a) * np.sin(b) + np.cos(a) * np.cos(b) * np.cos(x - y)
    moved = np.degrees(np.arccos(cosine))
    assert travel_deg(40, declination_deg=declination_deg(start.date())) == pytest.approx(
        moved, abs=0.02
    )
