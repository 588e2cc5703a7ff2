"""The site's own sky: its height, haze, forecast and skyline, minute by minute, by hand."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import numpy as np
import pytest
from pvlib import atmosphere, clearsky

from events.model import Event
from events.site import ShadeFact, Station, Weather, WeatherHour
from events.table import changed
from solver.solar.horizon import profile, skyline_of
from solver.solar.irradiance import (
    Sky,
    air_mass,
    at_minute,
    beam_at,
    clear_w_m2,
    cloudy_w_m2,
    expected_sky,
    extraterrestrial_w_m2,
    floor_deg,
    minute_of,
    sun_steps,
    usable,
)
from solver.solar.noon import noon_sun
from solver.solar.position import position, skyline_deg, window
from solver.solar.windows import windows
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import EVENT

HEIGHTS = np.array([5.0, 20.0, 45.0, 70.0])


def here(**site: object) -> Event:
    return changed(EVENT, site=changed(EVENT.site, **site))


def under(*hours: WeatherHour) -> Event:
    return changed(EVENT, weather=Weather(hours=hours))


def laid(elevation_deg: list[float], azimuth_deg: list[float]) -> Sky:
    """Return minutes of a sky laid by hand, under a beam of 800 W/m²."""
    full = np.full(len(elevation_deg), 800.0)
    some = np.asarray(elevation_deg), np.asarray(azimuth_deg)
    return Sky(datetime(2027, 6, 21, tzinfo=UTC), *some, full, full, full, full, full)


@pytest.mark.parametrize(("altitude_m", "turbidity"), [(0.0, 3.0), (2500.0, 3.0), (0.0, 5.0)])
def test_a_sites_clear_sky_is_that_of_its_height_and_haze(
    altitude_m: float, turbidity: float
) -> None:
    """Source: pvlib, with its own pressure at the height."""
    _, beam, diffuse = clear_w_m2(here(altitude_m=altitude_m, turbidity=turbidity), HEIGHTS)

    mass = air_mass(90.0 - HEIGHTS) * atmosphere.alt2pres(altitude_m) / 101325
    extra = extraterrestrial_w_m2(EVENT.date.timetuple().tm_yday)
    reference = clearsky.ineichen(
        90.0 - HEIGHTS, mass, turbidity, altitude=altitude_m, dni_extra=extra
    )
    assert beam == pytest.approx(reference["dni"], abs=0.05)
    assert diffuse == pytest.approx(reference["dhi"], abs=0.05)


def test_each_hour_of_a_forecast_holds_until_the_next_in_whatever_order_they_come() -> None:
    early = WeatherHour(start=time(6), cloud_pct=20.0, air_c=11.0, wind_m_s=2.0)
    late = WeatherHour(start=time(12), cloud_pct=60.0, air_c=21.0, wind_m_s=7.0)

    sky = expected_sky(under(late, early))

    for minute, hour in ((0, early), (719, early), (720, late), (1439, late)):
        assert (sky.air_c[minute], sky.wind_m_s[minute]) == (hour.air_c, hour.wind_m_s)
    for minute, left in ((700, 0.8), (800, 0.4)):
        assert sky.beam_w_m2[minute] == pytest.approx(left * sky.clear_beam_w_m2[minute])


def test_a_days_haze_takes_its_share_of_the_beam() -> None:
    sky = expected_sky(EVENT)
    haze = np.array([[1.0], [0.9]])

    beam, _ = cloudy_w_m2(EVENT, sky, np.zeros((2, 1440)), haze)

    assert beam[1, 720] == pytest.approx(0.9 * beam[0, 720])
    assert beam[0, 720] == pytest.approx(sky.clear_beam_w_m2[720])


def test_behind_the_skyline_there_is_no_beam() -> None:
    sky = laid([19.0, 21.0, 21.0], [180.0, 180.0, 0.0])

    assert beam_at(sky, ((170.0, 20.0), (190.0, 20.0), (200.0, 90.0))).tolist() == [0.0, 800.0, 0.0]


def test_the_sun_is_of_use_over_its_least_height_and_the_skyline_and_under_the_highest() -> None:
    sky = laid([9.9, 10.1, 40.0, 60.1], [180.0] * 4)

    def lit(low_deg: float, high_deg: float, skyline_at: float = 0.0) -> list[bool]:
        line = ((0.0, skyline_at), (180.0, skyline_at))
        return usable(EVENT, sky, skyline=line, low_deg=low_deg, high_deg=high_deg).tolist()

    assert floor_deg(EVENT) == 10.0  # the site's own, where the clear beam is strong enough
    assert lit(0.0, 90.0) == [False, True, True, True]
    assert lit(20.0, 90.0) == [False, False, True, True]
    assert lit(0.0, 60.0) == [False, True, True, False]
    assert lit(0.0, 90.0, skyline_at=50.0) == [False, False, False, True]


def test_where_the_beam_must_be_strong_the_sun_must_stand_higher() -> None:
    """The height is the one at which the clear beam is just as strong as is asked."""
    strict = here(beam_min_w_m2=700.0)

    low = floor_deg(strict)

    assert low > 20.0
    assert clear_w_m2(strict, np.asarray([low]))[1][0] == pytest.approx(700.0, abs=0.1)
    assert floor_deg(here(beam_min_w_m2=1000.0, turbidity=7.0)) > 90.0  # no sun is as strong


def test_ten_minutes_of_sun_are_told_as_they_are() -> None:
    wall = here(skyline=((0.0, 0.0), (150.0, 0.0), (150.1, 89.0), (359.0, 89.0)))
    sky = expected_sky(wall)

    steps = sun_steps(wall, sky)

    assert steps[0].at == EVENT.instant(time(7, 30))  # half an hour before it opens
    assert steps[-1].at == EVENT.instant(time(16, 20))
    for step in steps:
        minute = minute_of(sky, step.at)
        assert at_minute(sky, minute) == step.at
        assert step.elevation_deg == pytest.approx(sky.elevation_deg[minute + 5], abs=0.01)
        assert step.beam_w_m2 == pytest.approx(sky.beam_w_m2[minute : minute + 10].mean(), abs=0.1)
        if abs(step.azimuth_deg - 150) > 3:
            assert step.blocked == (step.azimuth_deg > 150)


@pytest.mark.parametrize("longitude_deg", [-105.0, 0.0, 150.0])
def test_the_noon_sun_is_the_highest_of_its_day_under_its_own_sky(longitude_deg: float) -> None:
    day = date(2027, 6, 21)

    noon = noon_sun(day, latitude_deg=40.0, longitude_deg=longitude_deg, altitude_m=1600.0)

    assert noon.elevation_deg == pytest.approx(90.0 - 40.0 + 23.44, abs=0.05)
    _, beam, diffuse = clear_w_m2(here(altitude_m=1600.0), np.asarray([noon.elevation_deg]))
    assert noon.beam_w_m2 == pytest.approx(float(beam[0]))
    assert noon.diffuse_w_m2 == pytest.approx(float(diffuse[0]))
    assert noon_sun(day, latitude_deg=-70.0, longitude_deg=0.0, altitude_m=0.0).beam_w_m2 == 0.0


# --- skylines


def test_a_skyline_goes_on_over_north() -> None:
    line = ((-10.0, 8.0), (10.0, 4.0), (180.0, 0.0))

    for azimuth, height in ((350.0, 8.0), (355.0, 7.0), (0.0, 6.0), (5.0, 5.0), (10.0, 4.0)):
        assert float(skyline_deg(line, azimuth)) == pytest.approx(height)
    assert float(skyline_deg(((350.0, 8.0), (10.0, 4.0)), 0.0)) == pytest.approx(6.0)


def seen(*clocks: str, event: Event = EVENT) -> tuple[ShadeFact, ...]:
    return tuple(ShadeFact(date=event.date, at=time.fromisoformat(c)) for c in clocks)


def sun_at(clock: str, event: Event = EVENT) -> tuple[float, float]:
    """Return (azimuth, elevation)."""
    where = {"latitude_deg": event.site.latitude_deg, "longitude_deg": event.site.longitude_deg}
    elevation, azimuth = position(event.instant(time.fromisoformat(clock)), **where)
    return azimuth, elevation


def test_shade_seen_at_two_near_times_is_one_edge_and_at_two_far_ones_two() -> None:
    joined = profile(here(shade=seen("09:00", "10:30")), None)
    (a, low), (b, high) = sun_at("09:00"), sun_at("10:30")
    assert 20 < b - a < 30
    assert float(skyline_deg(joined, (a + b) / 2)) == pytest.approx((low + high) / 2, abs=0.2)

    apart = profile(here(shade=seen("09:00", "15:00")), None)
    assert float(skyline_deg(apart, 180.0)) == 0.0
    assert float(skyline_deg(apart, sun_at("15:00")[0])) == pytest.approx(
        sun_at("15:00")[1], abs=0.3
    )


def test_shade_of_a_low_sun_counts_and_of_one_that_is_down_does_not() -> None:
    azimuth, elevation = sun_at("05:30")
    assert 5 < elevation < 10

    assert float(skyline_deg(profile(here(shade=seen("05:30")), None), azimuth)) > 5
    assert {h for _, h in profile(here(shade=seen("02:00")), None)} == {0.0}


def test_shade_and_trees_just_beside_north_reach_over_it() -> None:
    """In the south the sun stands there at noon."""
    south = here(latitude_deg=-40.0)
    azimuth, elevation = sun_at("12:00", south)  # a little past north or a little before it
    across = (360.0 - azimuth) % 360.0
    assert min(azimuth, across) < 1.0

    shaded = profile(changed(south, site=changed(south.site, shade=seen("12:00"))), None)

    for way in (358.5, 1.5):
        assert float(skyline_deg(shaded, way)) == pytest.approx(elevation, abs=0.1)
    tree = {"bearing_deg": 1.0, "height_m": 10.0, "distance_m": 10.0, "width_m": 2.0}
    line = profile(here(obstacles=(tree,)), None)
    assert float(skyline_deg(line, 357.0)) == pytest.approx(45.0, abs=0.1)
    assert float(skyline_deg(line, 350.0)) == 0.0


def test_what_stands_around_a_station_is_seen_by_its_cookers_beside_what_the_site_has() -> None:
    own = Station(id="wall", name="Wall", shade=seen("15:00"))
    event = changed(here(shade=seen("09:00")), stations=(own,))
    event = edited(event, "cookers", "box", station="wall")

    at_wall, elsewhere = (skyline_of(event, event.cooker(c)) for c in ("box", "mirror"))

    (early, low), (late, high) = sun_at("09:00"), sun_at("15:00")
    assert float(skyline_deg(at_wall, early)) == pytest.approx(low, abs=0.3)
    assert float(skyline_deg(at_wall, late)) == pytest.approx(high, abs=0.3)
    assert float(skyline_deg(elsewhere, late)) == 0.0


# --- windows


def test_a_window_keeps_to_the_least_and_the_highest_sun_as_well_as_to_the_skyline() -> None:
    where = {"latitude_deg": 40.0, "longitude_deg": 0.0, "zone_name": "UTC", "day": EVENT.date}
    flat = ((0.0, 1.0), (180.0, 1.0))

    for skyline in ((), flat):
        whole = window(**where, low_deg=10.0, skyline=skyline)  # type: ignore[arg-type]  # as typed
        assert len(whole) == 1
        for edge in (whole[0].starts_at, whole[0].ends_at):
            assert position(edge, latitude_deg=40.0, longitude_deg=0.0)[0] == pytest.approx(
                10.0, abs=0.01
            )
        parts = window(**where, low_deg=10.0, high_deg=60.0, skyline=skyline)  # type: ignore[arg-type]
        assert [len(parts), parts[0].starts_at] == [2, whole[0].starts_at]
        assert position(parts[0].ends_at, latitude_deg=40.0, longitude_deg=0.0)[0] == (
            pytest.approx(60.0, abs=0.01)
        )


def test_each_cooker_has_its_own_window_and_the_site_has_one() -> None:
    event = edited(EVENT, "cookers", "box", sun_low_deg=25.0, sun_high_deg=60.0)
    own = Station(id="wall", name="Wall", skyline=((0.0, 30.0), (180.0, 30.0)))
    event = edited(changed(event, stations=(own,)), "cookers", "oven", station="wall")

    found = {w.cooker_id: w.stretches for w in windows(event)}

    def height(at: datetime) -> float:
        return position(at, latitude_deg=40.0, longitude_deg=0.0)[0]

    assert list(found) == [None, "mirror", "box", "oven"]  # no ring, no hay box
    begins = {name: round(height(some[0].starts_at), 1) for name, some in found.items()}
    assert begins == {None: 10.0, "mirror": 10.0, "box": 25.0, "oven": 30.0}
    assert round(height(found["box"][0].ends_at), 1) == 60.0
    hazy = windows(changed(event, site=changed(event.site, beam_min_w_m2=700.0)))
    assert height(hazy[1].stretches[0].starts_at) > 20.0


def test_a_minute_of_the_day_and_its_instant_are_each_others() -> None:
    sky = laid([10.0], [180.0])

    assert minute_of(sky, sky.start_at + timedelta(hours=9, minutes=30)) == 570
    assert at_minute(sky, 570) == sky.start_at + timedelta(hours=9, minutes=30)
