"""How high trees and roofs stand around a station, from whatever people can tell.

Pairs of compass direction and height; obstacles by height and distance; and shade facts, for
where the shade's edge was, the sun stood on the skyline. All together are one profile by degree.
"""

from __future__ import annotations

import numpy as np

from events.model import Cooker, Event
from events.site import Obstacle, ShadeFact, Station
from solver.solar.position import Array, Skyline, position, skyline_deg

JOIN_DEG = 30.0  # shade seen at two times this near is one edge; farther apart they are two
ALONE_DEG = 2.5  # one shade fact alone stands for so much to either side: judgement


def profile(event: Event, station: Station | None) -> tuple[tuple[float, float], ...]:
    """Return (azimuth_deg, elevation_deg) pairs of what stands around a station.

    A station's own pairs replace the site's; obstacles and shade facts of both are added.
    """
    site = event.site
    pairs: Skyline = site.skyline
    obstacles, shade = site.obstacles, site.shade
    if station is not None:
        pairs = pairs if station.skyline is None else station.skyline
        obstacles, shade = obstacles + station.obstacles, shade + station.shade
    if not obstacles and not shade:
        return tuple((a, e) for a, e in pairs)
    edges = [e for one in obstacles for e in _edges_deg(one)]
    around = np.unique(np.round(np.concatenate([np.arange(0.0, 360.0, 0.5), edges]), 3))
    heights = np.maximum(skyline_deg(pairs, around), 0.0)
    for one in obstacles:
        heights = np.maximum(heights, _over(one, around))
    heights = np.maximum(heights, _shaded(event, shade, around))
    return tuple((float(a), round(float(h), 3)) for a, h in zip(around, heights, strict=True))


def _edges_deg(one: Obstacle) -> list[float]:
    """Return the directions just inside and outside an obstacle: a mast is thinner than 0.5°."""
    inside, outside = _half_deg(one) - 1e-3, _half_deg(one) + 2e-3
    return [(one.bearing_deg + a) % 360.0 for a in (-outside, -inside, inside, outside)]


def _half_deg(one: Obstacle) -> float:
    return float(np.degrees(np.arctan2(one.width_m / 2, one.distance_m)))


def _over(one: Obstacle, around: Array) -> Array:
    half = _half_deg(one)
    apart = np.abs((around - one.bearing_deg + 180.0) % 360.0 - 180.0)
    height = np.degrees(np.arctan2(one.height_m, one.distance_m))
    return np.where(apart <= half, height, 0.0)


def _shaded(event: Event, facts: tuple[ShadeFact, ...], around: Array) -> Array:
    out = np.zeros_like(around)
    seen = []
    for fact in facts:
        elevation, azimuth = position(
            event.instant(fact.at, day=fact.date),
            latitude_deg=event.site.latitude_deg,
            longitude_deg=event.site.longitude_deg,
        )
        if elevation > 0:
            seen.append((azimuth, elevation))
    seen.sort()
    for azimuth, elevation in seen:
        apart = np.abs((around - azimuth + 180.0) % 360.0 - 180.0)
        out = np.maximum(out, np.where(apart <= ALONE_DEG, elevation, 0.0))
    for (a, low), (b, high) in zip(seen, [*seen[1:], *seen[:1]], strict=True):
        width = (b - a) % 360.0
        if 0 < width <= JOIN_DEG:
            along = (around - a) % 360.0
            between = np.where(along <= width, low + (high - low) * along / width, 0.0)
            out = np.maximum(out, between)
    return out


def station_of(event: Event, cooker: Cooker) -> Station | None:
    """Return the station a cooker stands at."""
    return event.station(cooker.station) if cooker.station else None


def skyline_of(event: Event, cooker: Cooker) -> tuple[tuple[float, float], ...]:
    """Return the skyline a cooker sees: the site's, or its station's own, with all that is near."""
    return profile(event, station_of(event, cooker))
