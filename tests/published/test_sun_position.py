"""The sun's position against the NREL algorithm: its printed example, and pvlib's own code.

Sources: Reda & Andreas, NREL/TP-560-34302, rev. January 2008, worked example.
Meeus, Astronomical Algorithms, example 25.a (declination).
pvlib's `get_solarposition(method="nrel_numpy")` as a reference implementation.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import numpy as np
import pandas as pd
import pytest
from pvlib.solarposition import get_solarposition

from solver.solar.position import position, positions
from solver.solar.tracking import declination_deg


def apart_deg(el_a: float, az_a: float, el_b: float, az_b: float) -> float:
    a, b, d = np.radians([el_a, el_b, az_a - az_b])
    cosine = np.sin(a) * np.sin(b) + np.cos(a) * np.cos(b) * np.cos(d)
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


def test_the_printed_example_is_met_to_a_fiftieth_of_a_degree() -> None:
    at = datetime(2003, 10, 17, 12, 30, 30, tzinfo=timezone(timedelta(hours=-7)))

    elevation, azimuth = position(at, latitude_deg=39.742476, longitude_deg=-105.1786)

    # Printed: zenith 50.11162 with refraction, azimuth 194.34024; refraction there is 0.01632.
    assert apart_deg(elevation, azimuth, 90 - 50.111622 - 0.0163, 194.340241) < 0.02


@pytest.mark.parametrize("seed", range(5))
def test_positions_all_over_the_globe_are_those_of_the_reference(seed: int) -> None:
    luck = np.random.default_rng(seed)
    latitude, longitude = float(luck.uniform(-65, 65)), float(luck.uniform(-180, 180))
    start = datetime(2020 + seed * 3, 1, 1, tzinfo=UTC)
    times = [start + timedelta(minutes=int(m)) for m in luck.integers(0, 525600, 60)]

    elevation, azimuth = positions(times, latitude_deg=latitude, longitude_deg=longitude)

    reference = get_solarposition(pd.DatetimeIndex(times), latitude, longitude, 0)
    for k in np.flatnonzero(elevation > 0):
        row = reference.iloc[k]
        assert apart_deg(elevation[k], azimuth[k], row["elevation"], row["azimuth"]) < 0.02


def test_declination_is_that_of_the_almanac() -> None:
    # Meeus 25.a: 1992 October 13.0 TD, -7.78507 deg; ours are for noon, before it and after.
    before, after = declination_deg(date(1992, 10, 12)), declination_deg(date(1992, 10, 13))

    assert (before + after) / 2 == pytest.approx(-7.78507, abs=0.003)


@pytest.mark.parametrize("year", [2024, 2025, 2026, 2027, 2028])
def test_declination_is_the_references_on_every_day_of_leap_and_common_years(year: int) -> None:
    days = [date(year, 1, 1) + timedelta(days=n) for n in range(365)]
    noons = pd.DatetimeIndex([datetime(d.year, d.month, d.day, 12, tzinfo=UTC) for d in days])

    # At the pole the sun stands as high as its declination.
    reference = get_solarposition(noons, 90.0, 0.0, 0)["elevation"].to_numpy()

    ours = np.asarray([declination_deg(d) for d in days])
    assert np.abs(ours - reference).max() < 0.01
