"""The clear sun when it is highest, at a place on a date: on a surface that faces it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

import numpy as np

from solver.solar.irradiance import air_mass, extraterrestrial_w_m2, ineichen
from solver.solar.position import positions

TURBIDITY = 3.0  # Linke, a clear sky: typical
AROUND_MIN, EVERY_MIN = 24, 4  # the equation of time is never more than 17 minutes


@dataclass(frozen=True)
class NoonSun:
    """The sun at its highest."""

    elevation_deg: float
    beam_w_m2: float
    diffuse_w_m2: float


def noon_sun(day: date, *, latitude_deg: float, longitude_deg: float, altitude_m: float) -> NoonSun:
    """Return the clear sun of a day at its highest; nothing where it stays below the horizon."""
    mean = datetime.combine(day, time(12), tzinfo=UTC) - timedelta(hours=longitude_deg / 15)
    tries = [mean + timedelta(minutes=m) for m in range(-AROUND_MIN, AROUND_MIN + 1, EVERY_MIN)]
    elevation, _ = positions(tries, latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    highest = float(elevation.max())
    if highest <= 0:
        return NoonSun(highest, 0.0, 0.0)
    zenith = np.full(1, 90.0 - highest)
    pressure = (1 - 2.25577e-5 * altitude_m) ** 5.25588
    _, beam, diffuse = ineichen(
        zenith,
        air_mass(zenith) * pressure,
        turbidity=TURBIDITY,
        altitude_m=altitude_m,
        extra_w_m2=extraterrestrial_w_m2(day.timetuple().tm_yday),
    )
    return NoonSun(highest, float(beam[0]), float(diffuse[0]))
