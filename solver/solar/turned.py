"""An opening that is turned but can't be tilted: what it takes of the sun, and where it faces.

Its mirrors may point aside only: an error is the angle to a sun of the same height straight ahead.

Sources
[ASH] Incidence through glass, 1 - 0.1 (1 / cos - 1): ASHRAE 93 with its usual coefficient, from
      memory.
"""

from __future__ import annotations

import numpy as np

from events.model import Cooker
from solver.policy import DIAL_STEP_DEG, SAME_POWER
from solver.solar.irradiance import Sky
from solver.solar.position import Array
from solver.solar.tracking import factor, interval_min, worst_factor

GLASS_B0 = 0.1


def through_glass(tilt_deg: float, elevation_deg: Array, aside_deg: Array | float = 0.0) -> Array:
    """Return the share of the beam that an opening of fixed tilt takes.

    `aside_deg` is how far the sun stands beside where it faces. 0° of tilt is level glass; the
    share is 1 where the sun stands square on it. Source: cosine, and [ASH].
    """
    high, tilt = np.radians(elevation_deg), np.radians(tilt_deg)
    ahead = np.cos(high) * np.sin(tilt) * np.cos(np.radians(aside_deg))
    cosine = np.maximum(np.sin(high) * np.cos(tilt) + ahead, 1e-6)
    share: Array = cosine * np.clip(1.0 - GLASS_B0 * (1.0 / cosine - 1.0), 0.0, 1.0)
    return share


def turned_share(cooker: Cooker, elevation_deg: Array, aside_deg: Array) -> Array:
    """Return the share of power left with the sun aside, against the sun straight ahead."""
    tilt = cooker.glass_tilt_deg or 0.0
    sine = np.cos(np.radians(elevation_deg)) * np.sin(np.radians(aside_deg) / 2)
    apart = np.degrees(2 * np.arcsin(np.clip(np.abs(sine), 0.0, 1.0)))
    kept = factor(apart, acceptance_deg=cooker.acceptance_deg, lost_deg=cooker.lost_deg)
    ahead = through_glass(tilt, elevation_deg)
    part = through_glass(tilt, elevation_deg, aside_deg)
    return kept * np.divide(part, ahead, out=np.ones_like(part), where=ahead > 0)


def worst_share(cooker: Cooker, sky: Sky, declination_deg: float) -> Array:
    """Return, by minute, the share of power left where an aim begins or ends: the least of it."""
    interval, minutes = interval_min(cooker, declination_deg=declination_deg), sky.azimuth_deg.size
    if cooker.glass_tilt_deg is None:
        return np.full(minutes, worst_factor(cooker, interval, declination_deg))
    middles = np.arange(minutes) + np.array([[-interval // 2], [interval // 2]])
    facing = sky.azimuth_deg[np.clip(middles, 0, minutes - 1)]
    least: Array = turned_share(
        cooker, np.broadcast_to(sky.elevation_deg, facing.shape), sky.azimuth_deg - facing
    ).min(axis=0)
    return least * (1.0 - SAME_POWER)  # which an order gives away to spare a turn


def choose_facing(
    cooker: Cooker, sky: Sky, *, now: int, until: int, stood_deg: float | None
) -> float:
    """Return the azimuth that keeps the most of the sun from minute `now` to `until`.

    It faces so that the shadow lies on a mark of the dial now, or stays as it stood (`stood_deg`;
    None: it is set on the sun). Of what does equally well it is what is turned the least.
    """
    span = slice(now, min(until, sky.azimuth_deg.size - 1) + 1)
    marks = sky.azimuth_deg[now] + np.arange(0.0, 360.0, DIAL_STEP_DEG)
    facings = marks if stood_deg is None else np.concatenate([[stood_deg], marks])
    height = np.broadcast_to(sky.elevation_deg[span], (facings.size, sky.azimuth_deg[span].size))
    full = through_glass(cooker.glass_tilt_deg or 0.0, height)
    power = (full * turned_share(cooker, height, sky.azimuth_deg[span] - facings[:, None])).sum(
        axis=1
    )
    stood = sky.azimuth_deg[now] if stood_deg is None else stood_deg
    swing = np.abs((facings - stood + 180.0) % 360.0 - 180.0)
    good = power >= power.max() * (1.0 - SAME_POWER)
    return float(facings[np.argmin(np.where(good, swing, np.inf))]) % 360.0
