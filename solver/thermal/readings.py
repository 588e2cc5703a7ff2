"""Strength and losses of a cooker from readings: two of some water, or a whole log."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, time

import numpy as np

from events.errors import WHOLE_FILE, FaultyEvent
from events.model import Cooker, Event
from events.reading.cooker_log import LogReading
from events.site import Weather, WeatherHour
from events.table import changed
from solver.solar.irradiance import beam_at, expected_sky, minute_of
from solver.thermal import energy_balance as heat
from solver.thermal.calibration import calibrated
from solver.thermal.energy_balance import Forcing, Load
from solver.thermal.food import boiling_c
from solver.thermal.light import heating_w
from solver.thermal.measurement import black_pot, clear_light_w, water
from solver.thermal.water_test import NEAR_BOIL_C, WATER_J_KG_K, suns_w_m2

READING_C, HAZE, MASS = 1.0, 0.05, 0.02  # how sure a reading, the sky and a litre are: judgement


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

    The cooker's own model is run with many strengths at once, from a cold start; the one that
    ends at `to_c` is taken. Raises FaultyEvent where no strength from 0.1 to 4 times does.
    """
    cooker = calibrated(cooker)
    hour = WeatherHour(start=time(0), cloud_pct=cloud_pct, air_c=air_c, wind_m_s=1.0)
    there = changed(event, date=day, weather=Weather(hours=(hour,)))
    sky = expected_sky(there)
    start = minute_of(sky, event.instant(at, day=day))
    strengths = np.linspace(0.1, 4.0, 157)
    light = heating_w(cooker, beam_at(sky, ()), sky.diffuse_w_m2, elevation_deg=sky.elevation_deg)
    boil_c = boiling_c(event.site.altitude_m)
    state = heat.ensemble(
        cooker,
        Load((water(litres, from_c),), (litres,), (black_pot(litres),)),
        minutes=np.full(strengths.size, float(start)),
        row=np.zeros(strengths.size, dtype=np.int64),
        body_c=np.full(strengths.size, air_c),
        strength=strengths,
        boil_c=boil_c,
    )
    forcing = Forcing(light[None, :], sky.air_c, sky.wind_m_s)
    for _ in range(minutes * 2):
        heat.step(state, forcing, dt_s=30.0, boil_c=boil_c)
    ends = state.pot_c[0]
    sun = float((sky.beam_w_m2 + sky.diffuse_w_m2)[start : start + minutes].mean())
    fault = None
    if minutes < 5 or to_c - from_c < 5:
        fault = WHOLE_FILE.fault("to_c", to_c, "rise-too-small", rise_kelvin=5, least_min=5)
    elif to_c > boil_c - NEAR_BOIL_C:
        fault = WHOLE_FILE.fault("to_c", to_c, "near-the-boil", boil_c=round(boil_c))
    elif not ends[0] <= to_c <= ends[-1] or sun < 200:
        low_c, high_c = round(float(ends[0])), round(float(ends[-1]))
        fault = WHOLE_FILE.fault(
            "to_c", to_c, "out-of-reach", sun_w_m2=round(sun), low_c=low_c, high_c=high_c
        )
    if fault is not None:
        raise FaultyEvent("litre test", [fault])
    factor = float(np.interp(to_c, ends, strengths))
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

    The loss factor multiplies the cooker's own loss. A grid of lanes is run at once, then a
    finer one round the best.
    """
    cooker = calibrated(cooker)
    suns = suns_w_m2(log, event)
    first = log[0].at
    minutes = np.asarray([(r.at - first).total_seconds() / 60 for r in log])
    whole = np.arange(int(minutes[-1]) + 2)
    light = np.interp(whole, minutes, suns)
    air = np.interp(whole, minutes, [r.air_c for r in log])
    wind = np.interp(whole, minutes, [r.wind_m_s or 0.0 for r in log])
    strength, loss, wide = 1.0, 1.0, 3.0
    rms = math.inf
    for _ in range(4):
        strengths = strength * np.geomspace(1 / wide, wide, 25)
        losses = loss * np.geomspace(1 / wide, wide, 25)
        g, u = (a.ravel() for a in np.meshgrid(strengths, losses))
        state = heat.ensemble(
            cooker,
            Load((water(litres, log[0].water_c),), (litres,), (black_pot(litres),)),
            minutes=np.zeros(g.size),
            row=np.zeros(g.size, dtype=np.int64),
            body_c=np.full(g.size, log[0].air_c),
            strength=g,
            boil_c=boiling_c(event.site.altitude_m),
        )
        state.loss = u
        forcing = Forcing(clear_light_w(cooker, light)[None, :], air, wind)
        track = [state.pot_c[0].copy()]
        for _ in range(whole.size - 1):
            heat.step(state, forcing, dt_s=60.0, boil_c=boiling_c(event.site.altitude_m))
            track.append(state.pot_c[0].copy())
        path = np.asarray(track)
        at = np.clip(np.round(minutes).astype(int), 0, whole.size - 1)
        seen = np.asarray([r.water_c for r in log])[:, None]
        error = np.sqrt(((path[at] - seen) ** 2).mean(0))
        best = int(error.argmin())
        strength, loss, rms = float(g[best]), float(u[best]), float(error[best])
        wide = wide**0.25
    return strength * cooker.optical_efficiency, loss, rms
