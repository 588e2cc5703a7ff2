"""The standard water test of a cooker, worked out from a log of it.

Sources
[S580] ASAE/ASABE S580.1 (JAN03 text): intervals of ten minutes, P_i = (T2 - T1) M 4186 / 600,
       P_s = P_i 700 / I, T_d = mean water - mean air, regression of P_s on T_d, P_s(50).
       Conditions: wind under 1.0 m/s (over 2.5 m/s: the interval is discarded), air 20 to 35 °C,
       450 to 1100 W/m² with no change over 100 in an interval, 10:00 to 14:00 solar time, 7 kg of
       water for each m², at least 30 intervals over 3 days, r² over 0.75. Water from 40 to 90 °C
       (from memory): cooler, the cooker itself still warms; hotter, vapour takes its share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from events.errors import WHOLE_FILE, FaultyEvent
from events.model import Event
from events.reading.cooker_log import LogReading
from solver.solar.irradiance import clear_w_m2
from solver.solar.position import position, positions
from solver.thermal.energy_balance import Array
from solver.thermal.food import boiling_c

WATER_J_KG_K = 4186.0  # [S580]
INTERVAL_MIN = 10
COOLEST_C, HOTTEST_C = 40.0, 90.0  # [S580] of the water, from memory
NEAR_BOIL_C = 5.0  # closer to the boil the water's rise says nothing of the power


@dataclass(frozen=True)
class Interval:
    """Ten minutes of a water test."""

    at: datetime
    water_c: float
    above_c: float
    sun_w_m2: float
    power_w: float
    standard_w: float
    broken: tuple[str, ...]  # conditions of the standard it breaks
    used: bool


@dataclass(frozen=True)
class WaterTest:
    """What a standard water test came to."""

    intervals: tuple[Interval, ...]
    intercept_w: float
    slope_w_k: float
    r2: float
    at_50_w: float
    sun_w_m2: float  # means of the intervals used
    air_c: float
    wind_m_s: float | None  # None: not logged
    remarks: tuple[str, ...]  # conditions on the whole test that are not met


def clear_global_w_m2(event: Event, at: Sequence[datetime]) -> Array:
    """Return the clear sky's sun on a surface that faces it: beam and the sky around."""
    elevation, _ = positions(
        at, latitude_deg=event.site.latitude_deg, longitude_deg=event.site.longitude_deg
    )
    _, beam, diffuse = clear_w_m2(event, elevation)
    return beam + diffuse


def solar_hour(at: datetime, *, latitude_deg: float, longitude_deg: float) -> float:
    """Return the hour by the sun: 12 when it stands highest."""
    day = at.astimezone(UTC).timetuple().tm_yday
    b = 2 * np.pi * (day - 1) / 365
    # Equation of time in minutes. Source: Spencer 1971.
    equation = 229.18 * (
        0.000075
        + 0.001868 * np.cos(b)
        - 0.032077 * np.sin(b)
        - 0.014615 * np.cos(2 * b)
        - 0.040849 * np.sin(2 * b)
    )
    utc = at.astimezone(UTC)
    return float(
        (utc.hour + utc.minute / 60 + utc.second / 3600 + longitude_deg / 15 + equation / 60) % 24
    )


def water_test(
    log: list[LogReading], event: Event, *, aperture_m2: float, water_kg: float, source: str
) -> WaterTest:
    """Return the standard's figures of a log. `event` gives the place (and its clear sky).

    Raises FaultyEvent where the log has no daylight or too few intervals that can be used.
    """
    site = event.site
    dark = [
        r
        for r in log
        if r.sun_w_m2 is None
        and position(r.at, latitude_deg=site.latitude_deg, longitude_deg=site.longitude_deg)[0] < 5
    ]
    if dark:
        shown = f"{dark[0].at.astimezone(event.zone):%Y-%m-%d %H:%M}"
        raise FaultyEvent(source, [WHOLE_FILE.fault("time", shown, "night-there")])
    suns = suns_w_m2(log, event)
    boil_c = boiling_c(site.altitude_m)
    found = []
    for start, end in _tens(log):
        mine = [k for k, r in enumerate(log) if start <= r.at <= end]
        found.append(_interval(log, suns, mine, event, boil_c=boil_c, water_kg=water_kg))
    used = [i for i in found if i.used]
    if len(used) < 3:
        fault = WHOLE_FILE.fault("", len(used), "too-few-intervals", low_c=40, high_c=90)
        raise FaultyEvent(source, [fault])
    x = np.asarray([i.above_c for i in used])
    y = np.asarray([i.standard_w for i in used])
    slope, intercept = np.polyfit(x, y, 1)
    left = float(((y - intercept - slope * x) ** 2).sum())
    whole = float(((y - y.mean()) ** 2).sum())
    r2 = 1 - left / whole if whole > 0 else 0.0
    return WaterTest(
        tuple(found),
        float(intercept),
        float(slope),
        r2,
        float(intercept + 50 * slope),
        float(np.mean([i.sun_w_m2 for i in used])),
        float(np.mean([i.water_c - i.above_c for i in used])),
        _mean_wind_m_s(log),
        _remarks(log, used, r2, aperture_m2, water_kg),
    )


def suns_w_m2(log: list[LogReading], event: Event) -> Array:
    """Return the sun of each reading as logged, or as the clear sky has it."""
    clear = clear_global_w_m2(event, [r.at for r in log])
    return np.asarray(
        [c if r.sun_w_m2 is None else r.sun_w_m2 for r, c in zip(log, clear, strict=True)]
    )


def _mean_wind_m_s(log: list[LogReading]) -> float | None:
    winds = [r.wind_m_s for r in log if r.wind_m_s is not None]
    return float(np.mean(winds)) if winds else None


def _tens(log: list[LogReading]) -> list[tuple[datetime, datetime]]:
    """Return the ten-minute intervals of a log; none over a gap of more than five minutes."""
    out, k = [], 0
    while k < len(log) - 1:
        end = log[k].at + timedelta(minutes=INTERVAL_MIN)
        j = k + 1
        while (
            j < len(log) and log[j].at < end and log[j].at - log[j - 1].at <= timedelta(minutes=5)
        ):
            j += 1
        whole = j < len(log) and log[j].at - end <= timedelta(minutes=1)
        if whole and log[j].at - log[j - 1].at <= timedelta(minutes=10):
            out.append((log[k].at, log[j].at))
        k = j
    return out


def _interval(
    log: list[LogReading],
    suns: Array,
    mine: list[int],
    event: Event,
    *,
    boil_c: float,
    water_kg: float,
) -> Interval:
    rows = [log[k] for k in mine]
    first, last = rows[0], rows[-1]
    seconds = (last.at - first.at).total_seconds()
    sun = float(suns[mine].mean())
    water = float(np.mean([r.water_c for r in rows]))
    air = float(np.mean([r.air_c for r in rows]))
    winds = [r.wind_m_s for r in rows if r.wind_m_s is not None]
    wind = float(np.mean(winds)) if winds else None
    power = (last.water_c - first.water_c) * water_kg * WATER_J_KG_K / seconds
    hour = solar_hour(
        first.at, latitude_deg=event.site.latitude_deg, longitude_deg=event.site.longitude_deg
    )
    change = float(suns[mine].max() - suns[mine].min())
    broken = []
    if wind is not None and wind > 1.0:
        broken.append(f"wind {wind:.1f} m/s, limit 1.0" + (": left out" if wind > 2.5 else ""))
    if not 20 <= air <= 35:
        broken.append(f"air {air:.0f} °C, limits 20 to 35")
    if not 450 <= sun <= 1100:
        broken.append(f"sun {sun:.0f} W/m², limits 450 to 1100")
    if change > 100:
        broken.append(f"sun changed by {change:.0f} W/m², limit 100")
    if not 10 <= hour < 14:
        broken.append(f"{hour:.1f} h by the sun, limits 10 to 14")
    boiling = last.water_c > min(HOTTEST_C, boil_c - NEAR_BOIL_C)
    if boiling:
        broken.append(f"water {last.water_c:.0f} °C, near the boil: left out")
    cool = first.water_c < COOLEST_C
    if cool:
        broken.append(f"water {first.water_c:.0f} °C, limit {COOLEST_C:.0f}: left out")
    discarded = (wind is not None and wind > 2.5) or boiling or cool or sun < 200
    return Interval(
        first.at,
        water,
        water - air,
        sun,
        power,
        power * 700 / sun,
        tuple(broken),
        not discarded,
    )


def _remarks(
    log: list[LogReading], used: list[Interval], r2: float, aperture_m2: float, water_kg: float
) -> tuple[str, ...]:
    out = []
    days = {i.at.date() for i in used}
    if len(used) < 30 or len(days) < 3:
        out.append(f"{len(used)} intervals on {len(days)} days; the standard wants 30 on 3 days")
    if r2 < 0.75:
        out.append(f"r² is {r2:.2f}; the standard notes it below 0.75")
    load = water_kg / aperture_m2
    if abs(load - 7) > 0.7:
        out.append(f"{load:.1f} kg of water for each m² of opening; the standard wants 7")
    if any(r.sun_w_m2 is None for r in log):
        out.append("the sun was not logged: a clear sky was computed for place and time")
    if all(r.wind_m_s is None for r in log):
        out.append("no wind was logged: its limits could not be looked at")
    marked = sum(bool(i.broken) for i in used)
    if marked:
        out.append(f"{marked} of {len(used)} intervals break a condition and were still used")
    return tuple(out)
