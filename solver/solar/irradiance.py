"""How much sun falls: a clear sky, and the forecast's cloud on it.

Sources
[SP71] Spencer 1971, extraterrestrial radiation.
[KY89] Kasten & Young 1989, relative air mass.
[IP02] Ineichen & Perez 2002, clear sky from Linke turbidity (as in pvlib, a test reference).
[KC80] Kasten & Czeplak 1980, Solar Energy 24:177, global radiation under cloud.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from events.model import Event
from events.quantities import require
from events.site import WeatherHour
from solver.plan import SunStep
from solver.solar.horizon import profile
from solver.solar.position import Array, Skyline, joined, local_day, positions, skyline_deg

Bools = NDArray[np.bool_]
SAMPLE_MIN = 5
CALM_AIR_C = 20.0  # without weather: assumed, and the plan says so
CALM_WIND_M_S = 1.0


@dataclass(frozen=True)
class Sky:
    """A local civil day by the minute; entry i is the instant start_at + i minutes."""

    start_at: datetime
    elevation_deg: Array
    azimuth_deg: Array
    beam_w_m2: Array
    diffuse_w_m2: Array
    clear_beam_w_m2: Array
    air_c: Array
    wind_m_s: Array


def minute_of(sky: Sky, at: datetime) -> int:
    """Return the minute of the day of an aware instant."""
    return round((at - sky.start_at).total_seconds() / 60)


def at_minute(sky: Sky, minute: int) -> datetime:
    """Return the aware instant of a minute of the day."""
    return sky.start_at + timedelta(minutes=minute)


def air_mass(zenith_deg: Array) -> Array:
    """Return the relative air mass; NaN with the sun below the horizon. Source: [KY89]."""
    z = np.where(zenith_deg <= 90.0, zenith_deg, np.nan)
    return 1.0 / (np.cos(np.radians(z)) + 0.50572 * (96.07995 - z) ** -1.6364)


def extraterrestrial_w_m2(day_of_year: int) -> float:
    """Return the sun's beam outside the air. Source: [SP71], solar constant 1366.1 W/m²."""
    b = 2 * np.pi * (day_of_year - 1) / 365
    ratio = (
        1.00011
        + 0.034221 * np.cos(b)
        + 0.00128 * np.sin(b)
        + 0.000719 * np.cos(2 * b)
        + 7.7e-5 * np.sin(2 * b)
    )
    return float(1366.1 * ratio)


def ineichen(
    zenith_deg: Array, mass: Array, *, turbidity: float, altitude_m: float, extra_w_m2: float
) -> tuple[Array, Array, Array]:
    """Return (global, direct normal, diffuse) in W/m² under a clear sky.

    `mass` is the pressure-corrected air mass. Source: [IP02] with pvlib's limits.
    """
    require("turbidity", turbidity)
    require("altitude_m", altitude_m)
    cosine = np.maximum(np.cos(np.radians(zenith_deg)), 0.0)
    fh1, fh2 = np.exp(-altitude_m / 8000.0), np.exp(-altitude_m / 1250.0)
    cg1, cg2 = 5.09e-05 * altitude_m + 0.868, 3.92e-05 * altitude_m + 0.0387
    everywhere = np.where(np.isfinite(mass), mass, 1e3)
    whole = np.exp(-cg2 * everywhere * (fh1 + fh2 * (turbidity - 1)))
    glob = cg1 * extra_w_m2 * cosine * np.maximum(whole, 0.0)
    b = 0.664 + 0.163 / fh1
    beam = b * np.exp(-0.09 * everywhere * (turbidity - 1))
    beam = extra_w_m2 * np.maximum(beam, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        other = (1 - (0.1 - 0.2 * np.exp(-turbidity)) / (0.1 + 0.882 / fh1)) / cosine
        other = glob * np.minimum(np.maximum(np.where(cosine > 0, other, 0.0), 0.0), 1e20)
    beam = np.where(cosine > 0, np.minimum(beam, other), 0.0)
    return glob, beam, np.maximum(glob - beam * cosine, 0.0)


def _track(event: Event) -> tuple[datetime, Array, Array]:
    """Return the day's start and the sun by minute: five-minute positions joined on the sphere."""
    start, end = local_day(event.date, event.site.timezone)
    minutes = int((end - start).total_seconds() // 60)
    marks = np.arange(0.0, minutes + SAMPLE_MIN, SAMPLE_MIN)
    elevation, azimuth = positions(
        [start + timedelta(minutes=int(m)) for m in marks],
        latitude_deg=event.site.latitude_deg,
        longitude_deg=event.site.longitude_deg,
    )
    return start, *joined(marks, elevation, azimuth, np.arange(float(minutes)))


def clear_w_m2(event: Event, elevation_deg: Array) -> tuple[Array, Array, Array]:
    """Return (global, direct normal, diffuse) under this site's clear sky at sun heights."""
    site, zenith = event.site, 90.0 - elevation_deg
    pressure = (1 - 2.25577e-5 * site.altitude_m) ** 5.25588
    return ineichen(
        zenith,
        air_mass(zenith) * pressure,
        turbidity=site.turbidity,
        altitude_m=site.altitude_m,
        extra_w_m2=extraterrestrial_w_m2(event.date.timetuple().tm_yday),
    )


def _weather(event: Event, start: datetime, minutes: int) -> tuple[Array, Array, Array]:
    """Return cloud fraction, air and wind by minute; each entry holds until the next."""
    cloud = np.zeros(minutes)
    air, wind = np.full(minutes, CALM_AIR_C), np.full(minutes, CALM_WIND_M_S)
    for at, hour in held_from(event, start):
        cloud[at:], air[at:], wind[at:] = hour.cloud_pct / 100, hour.air_c, hour.wind_m_s
    return cloud, air, wind


def held_from(event: Event, start: datetime) -> Iterator[tuple[int, WeatherHour]]:
    """Yield each entry of the forecast in order, with the minute of the day from which it holds."""
    for n, hour in enumerate(sorted(event.weather.hours, key=lambda h: h.start)):
        since_start = event.instant(hour.start) - start
        yield 0 if n == 0 else round(since_start.total_seconds() / 60), hour


def cloudy_w_m2(event: Event, sky: Sky, cloud: Array, haze: Array) -> tuple[Array, Array]:
    """Return (beam, diffuse) under cloud fractions by (run, minute) and a haze factor by run."""
    glob, clear, _ = clear_w_m2(event, sky.elevation_deg)
    beam = clear * haze * (1.0 - cloud)
    return beam, _diffuse_w_m2(glob, beam, cloud, sky.elevation_deg)


def expected_sky(event: Event) -> Sky:
    """Return the day as forecast: clear beam times (1 - cloud); clear where no weather is given."""
    start, elevation, azimuth = _track(event)
    glob, clear, _ = clear_w_m2(event, elevation)
    cloud, air, wind = _weather(event, start, elevation.size)
    beam = clear * (1.0 - cloud)
    return Sky(
        start_at=start,
        elevation_deg=elevation,
        azimuth_deg=azimuth,
        beam_w_m2=beam,
        diffuse_w_m2=_diffuse_w_m2(glob, beam, cloud, elevation),
        clear_beam_w_m2=clear,
        air_c=air,
        wind_m_s=wind,
    )


def _diffuse_w_m2(glob: Array, beam: Array, cloud: Array, elevation_deg: Array) -> Array:
    """Return what is left of the global radiation under cloud beside the beam. Source: [KC80]."""
    upright = np.maximum(np.sin(np.radians(elevation_deg)), 0.0)
    under = glob * (1.0 - 0.75 * cloud**3.4)
    return np.maximum(under - beam * upright, 0.0)


def beam_at(sky: Sky, skyline: Skyline) -> Array:
    """Return the beam with the minutes behind the skyline set to 0."""
    return np.where(sky.elevation_deg > skyline_deg(skyline, sky.azimuth_deg), sky.beam_w_m2, 0.0)


def floor_deg(event: Event) -> float:
    """Return the height the sun must have: the site's least, and its clear beam strong enough.

    Above 90 where even an overhead sun is too weak (a very hazy site, a high limit).
    """
    site = event.site

    def weak(height_deg: float) -> bool:
        beam = clear_w_m2(event, np.asarray([height_deg]))[1]
        return bool(beam[0] < site.beam_min_w_m2)

    low, high = site.sun_min_deg, 91.0
    if not weak(low):
        return low
    while high - low > 1e-4:
        middle = (low + high) / 2
        low, high = (middle, high) if weak(min(middle, 90.0)) else (low, middle)
    return high


def usable(event: Event, sky: Sky, *, skyline: Skyline, low_deg: float, high_deg: float) -> Bools:
    """Return the minutes in which the sun is high enough, unblocked, and strong enough if clear."""
    height = sky.elevation_deg
    floor = np.maximum(skyline_deg(skyline, sky.azimuth_deg), max(floor_deg(event), low_deg))
    return (height >= floor) & (height <= high_deg)


def sun_steps(event: Event, sky: Sky) -> tuple[SunStep, ...]:
    """Return ten-minute means of the beam from half an hour before opening to after closing."""
    first, last = (minute_of(sky, event.instant(t)) for t in (event.site.opens, event.site.closes))
    first, last = max(0, (first - 30) // 10 * 10), min(sky.beam_w_m2.size, last + 30)
    lit = usable(event, sky, skyline=profile(event, None), low_deg=0.0, high_deg=90.0)
    out = []
    for m in range(first, last - 9, 10):
        ten = slice(m, m + 10)
        out.append(
            SunStep(
                at=at_minute(sky, m),
                beam_w_m2=round(float(sky.beam_w_m2[ten].mean()), 1),
                clear_w_m2=round(float(sky.clear_beam_w_m2[ten].mean()), 1),
                elevation_deg=round(float(sky.elevation_deg[m + 5]), 2),
                azimuth_deg=round(float(sky.azimuth_deg[m + 5]), 2),
                blocked=bool(not lit[ten].mean() >= 0.5),
                diffuse_w_m2=round(float(sky.diffuse_w_m2[ten].mean()), 1),
            )
        )
    return tuple(out)
