"""How far the sun runs from where a cooker points, and how to bring the cooker back by hand.

The sun moves 15°/h · cos(declination) along its great circle. A cooker aimed ahead, at where the
sun will be halfway, keeps the sun for twice as long as one aimed at the sun.
"""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, time
from functools import lru_cache

import numpy as np
from astral.julian import julianday, julianday_to_juliancentury
from astral.sun import sun_declination

from events.model import Cooker
from solver.policy import LONGEST_MIN, RING_STEP_MIN, RINGS_MIN, SLOT_MIN
from solver.solar.irradiance import Sky
from solver.solar.position import Array


@lru_cache(maxsize=1024)
def declination_deg(day: date) -> float:
    """Return the sun's declination at noon UTC of a day; it moves 0.4° a day at most.

    Source: astral, as for positions: within 0.01° of the NREL algorithm.
    """
    noon = datetime.combine(day, time(12), tzinfo=UTC)
    return float(sun_declination(julianday_to_juliancentury(julianday(noon))))


def travel_deg(minutes: float, *, declination_deg: float) -> float:
    """Return the sun's great-circle way in some minutes: 2 asin(cos d · sin(7.5°/h · t))."""
    half = math.radians(7.5 * minutes / 60)
    return math.degrees(2 * math.asin(math.cos(math.radians(declination_deg)) * math.sin(half)))


def longest_min(acceptance_deg: float, *, declination_deg: float) -> float:
    """Return the minutes a cooker aimed ahead keeps the sun within ±acceptance."""
    return 60 * 2 * acceptance_deg / (15 * math.cos(math.radians(declination_deg)))


def interval_min(cooker: Cooker, *, declination_deg: float) -> int:
    """Return the minutes between turns, aimed ahead: whole slots, 5 to 60."""
    longest = longest_min(cooker.acceptance_deg, declination_deg=declination_deg)
    return int(min(LONGEST_MIN, max(SLOT_MIN, longest // SLOT_MIN * SLOT_MIN)))


def factor(error_deg: Array | float, *, acceptance_deg: float, lost_deg: float) -> Array:
    """Return the share of full power at an aiming error: 1 inside acceptance, 0 from lost on.

    Straight between the two: measured curves were not found (typical, unmeasured).
    """
    error = np.asarray(error_deg, dtype=np.float64)
    return np.clip((lost_deg - error) / (lost_deg - acceptance_deg), 0.0, 1.0)


def worst_factor(cooker: Cooker, interval: int, declination_deg: float) -> float:
    """Return the share of power left at the worst moment of an interval, aimed ahead."""
    error = travel_deg(interval, declination_deg=declination_deg) / 2
    return float(factor(error, acceptance_deg=cooker.acceptance_deg, lost_deg=cooker.lost_deg))


def ring_for(interval: float) -> int:
    """Return the minutes that an aim is ahead of the sun: half its interval, as the card has it.

    A ring or halfway between two; what lies between those goes to the ring.
    """
    return min(RING_STEP_MIN * round(interval / 2 / RING_STEP_MIN), RINGS_MIN[-1])


def aim_position(sky: Sky, minute: int, holds: int) -> tuple[float, float]:
    """Return (azimuth_deg, elevation_deg) of the sun halfway to when the aim must hold until."""
    middle = min((minute + holds) // 2, sky.azimuth_deg.size - 1)
    return float(sky.azimuth_deg[middle]), float(sky.elevation_deg[middle])
