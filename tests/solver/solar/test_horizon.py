"""Skylines from what people see: obstacles by height and distance, the shade by the clock."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, time, timedelta

import numpy as np
import pytest

from events.model import Event
from events.site import Obstacle, ShadeFact, Station
from events.table import changed
from solver.solar.horizon import profile
from solver.solar.position import position, skyline_deg, window
from solver.solar.windows import site_window, station_stretches


def at(skyline: tuple[tuple[float, float], ...], azimuth: float) -> float:
    return float(skyline_deg(skyline, np.asarray([azimuth]))[0])


def bare(event: Event, **site: object) -> Event:
    return changed(event, site=changed(event.site, skyline=(), **site))


def test_a_tree_stands_as_high_as_its_height_over_its_distance(harvest: Event) -> None:
    tree = Obstacle(bearing_deg=300, height_m=10, distance_m=20, width_m=8)

    skyline = profile(bare(harvest, obstacles=(tree,)), None)

    assert at(skyline, 300) == pytest.approx(math.degrees(math.atan(0.5)), abs=0.01)
    assert at(skyline, 330) == 0
    assert at(skyline, 120) == 0


def test_where_the_shades_edge_was_the_sun_is_lost_at_that_time(harvest: Event) -> None:
    fact = ShadeFact(date=date(2026, 11, 12), at=time(15, 10))
    event = bare(harvest, shade=(fact,))
    seen = datetime(2026, 11, 12, 13, 10, tzinfo=UTC)  # Johannesburg is two hours ahead
    elevation, azimuth = position(
        seen, latitude_deg=harvest.site.latitude_deg, longitude_deg=harvest.site.longitude_deg
    )

    skyline = profile(event, None)

    assert at(skyline, azimuth) == pytest.approx(elevation, abs=0.1)
    stretches = window(
        latitude_deg=harvest.site.latitude_deg,
        longitude_deg=harvest.site.longitude_deg,
        day=fact.date,
        zone_name=harvest.site.timezone,
        low_deg=5,
        skyline=skyline,
    )
    assert min(abs(s.ends_at - seen) for s in stretches) < timedelta(minutes=15)


def test_a_stations_own_pairs_replace_the_sites_and_its_tree_is_added(harvest: Event) -> None:
    tree = Obstacle(bearing_deg=0, height_m=5, distance_m=5)
    own = Station(id="s", name="S", skyline=((0, 1), (180, 1)), obstacles=(tree,))

    skyline = profile(harvest, own)

    assert at(skyline, 0) == pytest.approx(45, abs=0.1)
    assert at(skyline, 90) == pytest.approx(1)


@pytest.mark.parametrize("seed", range(40))
def test_a_mast_thinner_than_five_minutes_of_sun_is_found(harvest: Event, seed: int) -> None:
    luck = np.random.default_rng(seed)
    site = harvest.site
    noon = datetime(2026, 11, 28, 9, tzinfo=UTC) + timedelta(minutes=int(luck.integers(0, 240)))
    _, bearing = position(noon, latitude_deg=site.latitude_deg, longitude_deg=site.longitude_deg)
    width_deg = float(luck.uniform(0.2, 3.0))
    mast = Obstacle(
        bearing_deg=bearing,
        height_m=400,
        distance_m=30,
        width_m=2 * 30 * math.tan(math.radians(width_deg / 2)),
    )
    event = bare(harvest, obstacles=(mast,))

    found = window(
        latitude_deg=site.latitude_deg,
        longitude_deg=site.longitude_deg,
        day=date(2026, 11, 28),
        zone_name=site.timezone,
        low_deg=20,
        skyline=profile(event, None),
    )

    before = max(s.ends_at for s in found if s.ends_at < noon)
    after = min(s.starts_at for s in found if s.starts_at > noon)
    sides = [
        position(t, latitude_deg=site.latitude_deg, longitude_deg=site.longitude_deg)[1]
        for t in (before, after)
    ]
    hidden_deg = abs((sides[1] - sides[0] + 180) % 360 - 180)
    assert hidden_deg == pytest.approx(width_deg, abs=0.05)


def test_a_spot_has_the_sites_sun_but_where_its_own_trees_stand(harvest: Event) -> None:
    wall = harvest.station("wall")
    (whole,) = site_window(harvest).stretches

    assert station_stretches(harvest, wall) == (whole,)
    (lit,) = station_stretches(harvest, changed(wall, skyline=((0, 30), (359, 30))))
    assert whole.starts_at < lit.starts_at < lit.ends_at < whole.ends_at
