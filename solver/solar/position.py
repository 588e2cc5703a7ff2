"""Where the sun stands, and when it is high enough and unblocked.

Positions come from astral's `elevation` and `azimuth` on aware UTC instants, never from its event
functions, which are wrong too often (../shared/check-values.md, 1). The local civil day is sampled
and the edges are bisected; a window is a list of intervals, so polar days and clock changes are
ordinary.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from astral import Observer
from astral.sun import azimuth as astral_azimuth
from astral.sun import elevation as astral_elevation
from numpy.typing import NDArray

from solver.plan import Stretch

Array = NDArray[np.float64]
Skyline = Sequence[tuple[float, float]]
SAMPLE_MIN = 5
THIN_S = 5.0  # the sun passes 0.02° meanwhile: a rope is not looked for


def local_day(day: date, zone_name: str) -> tuple[datetime, datetime]:
    """Return the aware UTC instants at which a local civil day begins and ends (23 to 25 h)."""
    zone = ZoneInfo(zone_name)
    start = datetime.combine(day, time(0), tzinfo=zone).astimezone(UTC)
    end = datetime.combine(day + timedelta(days=1), time(0), tzinfo=zone).astimezone(UTC)
    return start, end


@lru_cache(maxsize=8192)  # every cooker's window asks about the same instants
def position(at: datetime, *, latitude_deg: float, longitude_deg: float) -> tuple[float, float]:
    """Return (elevation_deg, azimuth_deg) at an aware instant, without refraction.

    Azimuth runs clockwise from true north. Source: astral 3.2, within 0.0151° of NREL SPA.
    """
    here = Observer(latitude_deg, longitude_deg, 0.0)
    at = _second(at)  # astral drops parts of a second
    return (
        float(astral_elevation(here, at, with_refraction=False)),
        float(astral_azimuth(here, at)),
    )


def positions(
    instants: Sequence[datetime], *, latitude_deg: float, longitude_deg: float
) -> tuple[Array, Array]:
    """Return arrays (elevation_deg, azimuth_deg) for aware instants."""
    pairs = [position(t, latitude_deg=latitude_deg, longitude_deg=longitude_deg) for t in instants]
    found = np.asarray(pairs, dtype=np.float64).reshape(-1, 2)
    return found[:, 0], found[:, 1]


def joined(
    marks: Array, elevation_deg: Array, azimuth_deg: Array, at: Array
) -> tuple[Array, Array]:
    """Return (elevation_deg, azimuth_deg) between positions, joined straight on the sphere."""
    el, az = np.radians(elevation_deg), np.radians(azimuth_deg)
    axes = (np.cos(el) * np.sin(az), np.cos(el) * np.cos(az), np.sin(el))
    x, y, z = (np.interp(at, marks, axis) for axis in axes)
    return np.degrees(np.arctan2(z, np.hypot(x, y))), np.degrees(np.arctan2(x, y)) % 360.0


def skyline_deg(skyline: Skyline, azimuth_deg: Array | float) -> Array:
    """Return how high the skyline stands in each direction: periodic, linear between points."""
    if not skyline:
        return np.zeros_like(np.asarray(azimuth_deg, dtype=np.float64))
    points = sorted((az % 360.0, el) for az, el in skyline)
    return np.interp(
        np.asarray(azimuth_deg, dtype=np.float64),
        [p[0] for p in points],
        [p[1] for p in points],
        period=360.0,
    )


def edges(
    inside: Callable[[datetime], bool], times: Sequence[datetime], flags: Sequence[bool]
) -> list[Stretch]:
    """Return the stretches where `inside` holds, each edge bisected to half a second."""
    out: list[Stretch] = []
    begins = times[0] if flags[0] else None
    for before, after, was, now in zip(times, times[1:], flags, flags[1:], strict=False):
        if was == now:
            continue
        low, high = before, after
        while high - low > timedelta(seconds=0.5):
            middle = low + (high - low) / 2
            low, high = (middle, high) if inside(middle) == was else (low, middle)
        if now:
            begins = high
        elif begins is not None:
            out.append(Stretch(starts_at=_second(begins), ends_at=_second(low)))
            begins = None
    if begins is not None:
        out.append(Stretch(starts_at=_second(begins), ends_at=times[-1]))
    return out


def _second(at: datetime) -> datetime:
    """Return the whole second that astral took an instant for."""
    return (at + timedelta(seconds=0.5)).replace(microsecond=0)


@lru_cache(maxsize=256)  # cookers of a site mostly have the same heights and skyline
def window(
    *,
    latitude_deg: float,
    longitude_deg: float,
    day: date,
    zone_name: str,
    low_deg: float,
    high_deg: float = 90.0,
    skyline: Skyline = (),
) -> tuple[Stretch, ...]:
    """Return the stretches of a local day with the sun between two heights, unblocked."""

    def inside(at: datetime) -> bool:
        elevation, azimuth = position(at, latitude_deg=latitude_deg, longitude_deg=longitude_deg)
        floor = max(low_deg, float(skyline_deg(skyline, azimuth)) if skyline else low_deg)
        return bool(floor <= elevation <= high_deg)

    start, end = local_day(day, zone_name)
    count = int((end - start).total_seconds() // (SAMPLE_MIN * 60))
    times = [start + timedelta(minutes=SAMPLE_MIN * k) for k in range(count + 1)]
    if skyline:
        sun = positions(times, latitude_deg=latitude_deg, longitude_deg=longitude_deg)
        marks = np.linspace(0.0, SAMPLE_MIN * 60.0 * count, count + 1)
        at = np.arange(0.0, marks[-1], THIN_S)
        height, around = joined(marks, *sun, at)
        floor = np.maximum(skyline_deg(skyline, around), low_deg)
        thin = _middles((height >= floor) & (height <= high_deg))
        times = sorted({*times, *(start + timedelta(seconds=float(at[k])) for k in thin)})
    return tuple(edges(inside, times, [inside(t) for t in times]))


def _middles(flags: NDArray[np.bool_]) -> list[int]:
    """Return the middle of every run of equal flags: a mast may hide the sun between samples."""
    turns = [0, *(np.flatnonzero(np.diff(flags)) + 1).tolist(), flags.size]
    return [(a + b) // 2 for a, b in itertools.pairwise(turns)]
