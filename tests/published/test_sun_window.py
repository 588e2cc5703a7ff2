"""Sun windows: printed rise and set, printed hours above 20 degrees, and pvlib at the edges.

Sources: USNO table for San Francisco 2012 (as printed); hours above 20 degrees on the 21st of
months of 2026, worked out with the NREL algorithm; pvlib positions at 200 random sites.
"""

from __future__ import annotations

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from pvlib.solarposition import get_solarposition
from tzfpy import get_tz

from solver.solar.position import local_day, window

REFRACTION_AND_RADIUS_DEG = -0.8333  # the almanac's horizon


@pytest.mark.parametrize(
    ("month", "rise", "sets"),
    [(3, "06:11", "18:23"), (6, "04:48", "19:35"), (9, "05:57", "18:07"), (12, "07:22", "16:55")],
)
def test_rise_and_set_in_san_francisco_are_the_printed_ones(
    month: int, rise: str, sets: str
) -> None:
    day = date(2012, month, 21)

    (up,) = window(
        latitude_deg=37 + 46 / 60,
        longitude_deg=-(122 + 26 / 60),
        day=day,
        zone_name="Etc/GMT+8",
        low_deg=REFRACTION_AND_RADIUS_DEG,
    )

    for at, printed in ((up.starts_at, rise), (up.ends_at, sets)):
        hours, minutes = printed.split(":")
        start, _ = local_day(day, "Etc/GMT+8")
        off = at - (start + timedelta(hours=int(hours), minutes=int(minutes)))
        assert abs(off) <= timedelta(seconds=60)


@pytest.mark.parametrize(
    ("latitude", "hours"),
    [
        (-35, (8.68, 5.43, 8.65, 10.85)),
        (0, (9.34, 9.09, 9.34, 9.09)),
        (35, (8.75, 10.85, 8.77, 5.43)),
        (50, (7.79, 11.53, 7.83, 0.0)),
        (55, (7.21, 11.78, 7.27, 0.0)),
    ],
)
def test_hours_above_twenty_degrees_are_the_printed_ones(
    latitude: float, hours: tuple[float, ...]
) -> None:
    for month, printed in zip((3, 6, 9, 12), hours, strict=True):
        found = window(
            latitude_deg=latitude,
            longitude_deg=0,
            day=date(2026, month, 21),
            zone_name="UTC",
            low_deg=20,
        )
        total = sum((s.ends_at - s.starts_at).total_seconds() for s in found) / 3600
        # Printed to 0.01 h; whether refraction (0.04 degrees there, 0.01 h) is in it isn't said.
        assert total == pytest.approx(printed, abs=0.016)


@pytest.mark.slow
def test_at_200_random_sites_every_edge_is_where_the_reference_crosses() -> None:
    luck = np.random.default_rng(7)
    edges = 0
    for _ in range(200):
        latitude, longitude = float(luck.uniform(-60, 65)), float(luck.uniform(-180, 180))
        day = date(2026, 1, 1) + timedelta(days=int(luck.integers(0, 365)))
        zone = get_tz(longitude, latitude) or "UTC"
        low = float(luck.uniform(5, 30))

        found = window(
            latitude_deg=latitude, longitude_deg=longitude, day=day, zone_name=zone, low_deg=low
        )

        start, end = local_day(day, zone)
        for at in (t for s in found for t in (s.starts_at, s.ends_at) if t not in (start, end)):
            near = pd.DatetimeIndex([at - timedelta(seconds=10), at, at + timedelta(seconds=10)])
            before, here, after = get_solarposition(near, latitude, longitude, 0)["elevation"]
            speed_deg_h = abs(after - before) * 180
            edges += 1
            assert abs(here - low) < 0.02, (latitude, longitude, day, at)
            if speed_deg_h > 5:
                assert (before - low) * (after - low) < 0 or abs(here - low) < speed_deg_h / 360
    assert edges > 250


def test_a_polar_day_is_one_stretch_and_a_polar_night_none() -> None:
    summer, winter = (
        window(
            latitude_deg=78.2,
            longitude_deg=15.6,
            day=day,
            zone_name="Arctic/Longyearbyen",
            low_deg=5,
        )
        for day in (date(2026, 6, 21), date(2026, 12, 21))
    )

    assert [s.ends_at - s.starts_at for s in summer] == [timedelta(hours=24)]
    assert winter == ()


@pytest.mark.parametrize(
    ("day", "hours"), [(date(2026, 3, 29), 23), (date(2026, 10, 25), 25), (date(2026, 6, 1), 24)]
)
def test_clock_change_days_have_their_own_length(day: date, hours: int) -> None:
    start, end = local_day(day, "Europe/Paris")

    assert end - start == timedelta(hours=hours)


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago", "Pacific/Apia"])
def test_beside_the_date_line_the_window_lies_in_the_local_day(zone: str) -> None:
    day = date(2026, 9, 21)

    (found,) = window(latitude_deg=-14.0, longitude_deg=-171.7, day=day, zone_name=zone, low_deg=20)

    local = found.starts_at.astimezone(ZoneInfo(zone))
    assert local.date() == day
