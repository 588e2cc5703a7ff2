"""Hours of high sun by latitude alone agree with the sun's own windows."""

from __future__ import annotations

from datetime import date

import pytest

from solver.solar.clear_hours import HIGH_SUN_DEG, high_sun_h, hours_above
from solver.solar.position import window

PLACES = (("Africa/Johannesburg", -33.9, 18.4), ("America/Phoenix", 32.2, -111.0))
DAYS = (date(2026, 3, 20), date(2026, 6, 21), date(2026, 9, 5), date(2026, 12, 21))


@pytest.mark.parametrize(("zone", "latitude_deg", "longitude_deg"), PLACES)
@pytest.mark.parametrize("day", DAYS)
def test_the_hours_are_those_between_the_suns_two_crossings(
    zone: str, latitude_deg: float, longitude_deg: float, day: date
) -> None:
    stretches = window(
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        day=day,
        zone_name=zone,
        low_deg=HIGH_SUN_DEG,
    )
    seconds = sum((s.ends_at - s.starts_at).total_seconds() for s in stretches)

    assert high_sun_h(latitude_deg, day) == pytest.approx(seconds / 3600, abs=0.05)


def test_a_day_has_no_high_sun_in_a_polar_winter_and_all_of_it_where_it_never_goes_lower() -> None:
    assert hours_above(30.0, latitude_deg=70.0, declination_deg=-23.4) == 0.0
    assert hours_above(20.0, latitude_deg=90.0, declination_deg=23.4) == 24.0
    assert hours_above(0.0, latitude_deg=0.0, declination_deg=23.4) == pytest.approx(12.0)
