"""How many hours of a day the sun stands high enough, by latitude and date alone.

Geometry on a level horizon: no cloud, no haze, no hills. It says which months can be good, not
how many of their days are.

Sources:
    [DB13] J. A. Duffie, W. A. Beckman, Solar Engineering of Thermal Processes, 4th ed., 2013.
"""

from __future__ import annotations

import math
from datetime import date

from solver.solar.noon import noon_sun

# Lower, the light is weaker and shadows are long. Common practice, no published source.
HIGH_SUN_DEG = 30.0
MIDDLE_DEG = 45.0


def high_sun_h(latitude_deg: float, day: date) -> float:
    """Return how many hours the sun stands over `HIGH_SUN_DEG` on a day."""
    return hours_above(HIGH_SUN_DEG, latitude_deg=latitude_deg, declination_deg=_declination(day))


def hours_above(height_deg: float, *, latitude_deg: float, declination_deg: float) -> float:
    """Return how many hours of a day the sun stands over a height, 0 to 24.

    Source: [DB13] eq. 1.6.5, solved for the hour angle.
    """
    latitude, declination = math.radians(latitude_deg), math.radians(declination_deg)
    wanted = math.sin(math.radians(height_deg)) - math.sin(latitude) * math.sin(declination)
    most = math.cos(latitude) * math.cos(declination)
    hour_angle = math.acos(min(max(wanted / max(most, 1e-12), -1.0), 1.0))
    return 2 * math.degrees(hour_angle) / 15


def _declination(day: date) -> float:
    """Return the sun's declination: its height at noon at 45° north, less 45°."""
    noon = noon_sun(day, latitude_deg=MIDDLE_DEG, longitude_deg=0.0, altitude_m=0.0)
    return noon.elevation_deg - MIDDLE_DEG
