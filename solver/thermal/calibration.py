"""What a cooker really does: the one-litre test, the standard water test, a fit to a log.

Sources
[S580] ASAE/ASABE S580.1 (JAN03 text): intervals of ten minutes, P_i = (T2 - T1) M 4186 / 600,
       P_s = P_i 700 / I, T_d = mean water - mean air, regression of P_s on T_d, P_s(50).
       Conditions: wind under 1.0 m/s (over 2.5 m/s: the interval is discarded), air 20 to 35 °C,
       450 to 1100 W/m² with no change over 100 in an interval, 10:00 to 14:00 solar time, 7 kg of
       water for each m², at least 30 intervals over 3 days, r² over 0.75.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from events.errors import Fault, FaultyEvent
from events.model import Composition, Cooker, Dish, Event, Pot, Weather, WeatherHour, changed
from events.reading.cooker_log import LogReading
from solver.solar.irradiance import beam_at, clear_w_m2, expected_sky, minute_of
from solver.solar.position import position, positions
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Array, Forcing, Load
from solver.thermal.food import boiling_c

WATER_J_KG_K = 4186.0  # [S580]
INTERVAL_MIN = 10
NEAR_BOIL_C = 5.0  # closer to the boil the water's rise says nothing of the power
READING_C, HAZE, MASS = 1.0, 0.05, 0.02  # how sure a reading, the sky and a litre are: judgement


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
    sun_w_m2: float  # mean of the intervals used
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
        zone = ZoneInfo(site.timezone)
        shown = f"{dark[0].at.astimezone(zone):%Y-%m-%d %H:%M}"
        do = "Are the zone and the coordinates those of the test?"
        raise FaultyEvent(source, [Fault("", "time", shown, "is night there", do)])
    suns = _suns(log, event)
    boil_c = boiling_c(site.altitude_m)
    found = []
    for start, end in _tens(log):
        mine = [k for k, r in enumerate(log) if start <= r.at <= end]
        found.append(_interval(log, suns, mine, event, boil_c=boil_c, water_kg=water_kg))
    used = [i for i in found if i.used]
    if len(used) < 3:
        limit = "are too few for a line: 3 at least"
        do = "Log from cold water on, every minute or two, without gaps."
        raise FaultyEvent(source, [Fault("", "", f"{len(used)} intervals", limit, do)])
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
        _remarks(log, used, r2, aperture_m2, water_kg),
    )


def _suns(log: list[LogReading], event: Event) -> Array:
    clear = clear_global_w_m2(event, [r.at for r in log])
    return np.asarray(
        [c if r.sun_w_m2 is None else r.sun_w_m2 for r, c in zip(log, clear, strict=True)]
    )


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
    boiling = last.water_c > boil_c - NEAR_BOIL_C
    if boiling:
        broken.append(f"water {last.water_c:.0f} °C, near the boil: left out")
    discarded = (wind is not None and wind > 2.5) or boiling or sun < 200
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


@dataclass(frozen=True)
class CalibrationResult:
    """What a short test says of a cooker: how strong against what was assumed, and how sure."""

    factor: float
    optical_efficiency: float
    band_fraction: float
    power_w: float  # into the water, mean
    sun_w_m2: float


def litre_test(
    event: Event,
    cooker: Cooker,
    *,
    day: date,
    at: time,
    minutes: int,
    from_c: float,
    to_c: float,
    litres: float = 1.0,
    air_c: float = 25.0,
    cloud_pct: float = 0.0,
) -> CalibrationResult:
    """Return a cooker's strength from two readings of some water.

    The cooker's own model is walked with many strengths at once, from a cold start; the one that
    ends at `to_c` is taken. Raises FaultyEvent where no strength from 0.1 to 4 times does.
    """
    hour = WeatherHour(start=time(0), cloud_pct=cloud_pct, air_c=air_c, wind_m_s=1.0)
    there = changed(event, date=day, weather=Weather(hours=(hour,)))
    sky = expected_sky(there)
    zone = ZoneInfo(event.site.timezone)
    start = minute_of(sky, datetime.combine(day, at, tzinfo=zone).astimezone(UTC))
    gains = np.linspace(0.1, 4.0, 157)
    light = heat.watts(cooker, beam_at(sky, ()), sky.diffuse_w_m2)
    boil_c = boiling_c(event.site.altitude_m)
    state = heat.ensemble(
        cooker,
        Load((water(litres, from_c),), (litres,), (black_pot(litres),)),
        minutes=np.full(gains.size, float(start)),
        row=np.zeros(gains.size, dtype=np.int64),
        body_c=np.full(gains.size, air_c),
        strength=gains,
        boil_c=boil_c,
    )
    forcing = Forcing(light[None, :], sky.air_c, sky.wind_m_s)
    for _ in range(minutes * 2):
        heat.step(state, forcing, dt_s=30.0, boil_c=boil_c)
    ends = state.pot_c[0]
    sun = float((sky.beam_w_m2 + sky.diffuse_w_m2)[start : start + minutes].mean())
    fault = None
    if minutes < 5 or to_c - from_c < 5:
        fault = ("the water must get 5 °C warmer, in 5 minutes or more", "Wait longer.")
    elif to_c > boil_c - NEAR_BOIL_C:
        fault = (f"is near the boil, {boil_c:.0f} °C: the power can't be told", "Read it earlier.")
    elif not ends[0] <= to_c <= ends[-1] or sun < 200:
        span = (
            f"with {sun:.0f} W/m² this cooker could bring it to {ends[0]:.0f} to {ends[-1]:.0f} °C"
        )
        fault = (span, "Look at time, place, litres and sky again.")
    if fault is not None:
        raise FaultyEvent("litre test", [Fault("", "to_c", f"{to_c:g}", *fault)])
    factor = float(np.interp(to_c, ends, gains))
    rise = to_c - from_c
    band = math.sqrt((READING_C * math.sqrt(2) / rise) ** 2 + HAZE**2 + MASS**2)
    if cloud_pct > 0:
        band = math.hypot(band, 0.3 * min(cloud_pct / 100, 1 - cloud_pct / 100) + 0.05)
    power = litres * WATER_J_KG_K * rise / (minutes * 60)
    return CalibrationResult(factor, factor * cooker.optical_efficiency, round(band, 3), power, sun)


def fit(
    log: list[LogReading], event: Event, cooker: Cooker, *, litres: float
) -> tuple[float, float, float]:
    """Return (optical efficiency, loss factor, rms °C) that follow a log best.

    The loss factor multiplies the cooker's own loss. A grid of lanes is walked at once, then a
    finer one round the best.
    """
    suns = _suns(log, event)
    first = log[0].at
    minutes = np.asarray([(r.at - first).total_seconds() / 60 for r in log])
    whole = np.arange(int(minutes[-1]) + 2)
    light = np.interp(whole, minutes, suns)
    air = np.interp(whole, minutes, [r.air_c for r in log])
    wind = np.interp(whole, minutes, [r.wind_m_s or 0.0 for r in log])
    gain, loss, wide = 1.0, 1.0, 3.0
    rms = math.inf
    for _ in range(4):
        gains = gain * np.geomspace(1 / wide, wide, 25)
        losses = loss * np.geomspace(1 / wide, wide, 25)
        g, u = (a.ravel() for a in np.meshgrid(gains, losses))
        state = heat.ensemble(
            cooker,
            Load((water(litres, log[0].water_c),), (litres,), (black_pot(litres),)),
            minutes=np.zeros(g.size),
            row=np.zeros(g.size, dtype=np.int64),
            body_c=np.full(g.size, log[0].air_c),
            strength=g,
            boil_c=boiling_c(event.site.altitude_m),
        )
        state.body_loss, state.pot_loss = state.body_loss * u, state.pot_loss * u
        watts = cooker.optical_efficiency * (cooker.aperture_m2 or 0.0) * light
        forcing = Forcing(watts[None, :], air, wind)
        track = [state.pot_c[0].copy()]
        for _ in range(whole.size - 1):
            heat.step(state, forcing, dt_s=60.0, boil_c=boiling_c(event.site.altitude_m))
            track.append(state.pot_c[0].copy())
        path = np.asarray(track)
        at = np.clip(np.round(minutes).astype(int), 0, whole.size - 1)
        seen = np.asarray([r.water_c for r in log])[:, None]
        error = np.sqrt(((path[at] - seen) ** 2).mean(0))
        best = int(error.argmin())
        gain, loss, rms = float(g[best]), float(u[best]), float(error[best])
        wide = wide**0.25
    return gain * cooker.optical_efficiency, loss, rms


def water(litres: float, start_c: float) -> Dish:
    """Return plain water as a dish."""
    return Dish(
        id="water",
        name="Water",
        meal="test",
        portions=1,
        portion_kg=min(litres, 5.0),
        composition=Composition(water=1.0),
        done="boil",
        hold_min=600,
        start_c=start_c,
        hazardous=False,
    )


def black_pot(litres: float) -> Pot:
    """Return the black pot that water is tested in: a kilogram of steel for each five litres."""
    return Pot(id="test", name="Test pot", litres=max(litres * 1.3, 0.5), mass_kg=0.2 + litres / 5)
