"""Who turns a box that can't be tilted as the order says keeps the sun, at any latitude and hour.

Source: pvlib's positions, its angle of incidence on a tilted plane and its ASHRAE glass
(b = 0.1, from memory). The dial and the power are worked out here anew: the box is turned until the
shadow lies towards the hour that is said, and is then left until the order has run out.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
import pytest
from pvlib import iam, irradiance
from pvlib.solarposition import get_solarposition

from events.model import Cooker, Event
from solver.plan import Turn
from tests.published.runs import cooker_like
from tests.published.test_aiming import LEAST_POWER, PLACES, event_at, orders

LIKE = {
    "level glass": ("box-large", 0.0),
    "glass at 20°": ("box-plain", 20.0),
    "glass at 45°": ("box-large", 45.0),
}


@dataclass(frozen=True)
class Followed:
    """One order and what came of it."""

    turn: Turn
    hour: float  # local sun time: 12 when the sun is highest
    power: float  # share of what the best way to face all the while has
    of_always: float  # share of what it has that is turned all the while


def sun_at(event: Event, times: list[datetime]) -> Any:
    site = event.site
    return get_solarposition(pd.DatetimeIndex(times), site.latitude_deg, site.longitude_deg, 0)


def power(cooker: Cooker, sun: Any, facing: Any) -> float:
    """Return the mean share of the beam that it takes, facing one way or one for each minute."""
    aoi = irradiance.aoi(
        cooker.glass_tilt_deg, facing, sun["zenith"].to_numpy(), sun["azimuth"].to_numpy()
    )
    through = np.maximum(np.cos(np.radians(aoi)) * iam.ashrae(aoi, b=0.1), 0.0)
    high = np.radians(90.0 - sun["zenith"].to_numpy())
    aside = np.radians(sun["azimuth"].to_numpy() - facing)
    cosine = np.sin(high) ** 2 + np.cos(high) ** 2 * np.cos(aside)
    apart = np.degrees(np.arccos(np.minimum(cosine, 1.0)))
    kept = np.clip((cooker.lost_deg - apart) / (cooker.lost_deg - cooker.acceptance_deg), 0.0, 1.0)
    return float((through * kept).mean())


@cache
def followed(place: str, glass: str) -> tuple[Followed, ...]:
    like, tilt = LIKE[glass]
    event, cooker = event_at(place), cooker_like(like, glass_tilt_deg=tilt)
    turns = list(orders(event, cooker))
    noon = min(turns, key=lambda t: float(sun_at(event, [t.at])["zenith"].iloc[0])).at
    out = []
    for turn in turns:
        minutes = int((turn.holds_until - turn.at).total_seconds() // 60)
        sun = sun_at(event, [turn.at + timedelta(minutes=k) for k in range(minutes + 1)])
        # The shadow lies away from the sun, and 12 is away from where the box faces: seen from
        # above, both run clockwise.
        assert turn.clock_hour is not None
        facing = float(sun["azimuth"].iloc[0]) - 30.0 * turn.clock_hour
        kept = power(cooker, sun, facing)
        best = max(power(cooker, sun, float(a)) for a in range(0, 360, 2))
        always = power(cooker, sun, sun["azimuth"].to_numpy())
        hours = 12 + (turn.at - noon).total_seconds() / 3600
        out.append(Followed(turn, hours, kept / best, kept / always))
    return tuple(out)


@pytest.mark.parametrize("glass", LIKE)
@pytest.mark.parametrize("place", PLACES)
def test_following_the_order_keeps_the_sun_morning_noon_and_afternoon(
    place: str, glass: str
) -> None:
    day = followed(place, glass)

    assert min(f.power for f in day) >= LEAST_POWER
    assert min(f.of_always for f in day) >= 0.96  # least where the sun goes through the zenith
    assert {"morning" if f.hour < 11 else "noon" if f.hour < 13 else "afternoon" for f in day} == {
        "morning",
        "noon",
        "afternoon",
    }


@pytest.mark.parametrize("glass", LIKE)
@pytest.mark.parametrize("place", PLACES)
def test_no_order_tilts_it_or_names_a_ring(place: str, glass: str) -> None:
    for f in followed(place, glass):
        t = f.turn
        assert (t.tilt_deg, t.tip_cm, t.over) == (0.0, 0.0, False)
        assert (t.ring_min, t.ring_deg, t.was_ring_deg) == (None, None, None)
        assert t.kind in ("aim", "turn", "turn-round", "hold")
        assert t.clock_hour is not None
        assert t.clock_hour * 4 == int(t.clock_hour * 4)


@pytest.mark.parametrize("glass", LIKE)
@pytest.mark.parametrize("place", PLACES)
def test_the_ruler_brings_it_to_the_hour_of_the_dial(place: str, glass: str) -> None:
    """Half a side of a square box is its radius; a quarter hour of the dial is 7.5°."""
    like, tilt = LIKE[glass]
    event, cooker = event_at(place), cooker_like(like, glass_tilt_deg=tilt)
    radius_cm = 50 * (cooker.aperture_m2 or 0.0) ** 0.5
    faces = 0.0
    for f in followed(place, glass):
        sun = float(sun_at(event, [f.turn.at])["azimuth"].iloc[0])
        told = sun - 30.0 * (f.turn.clock_hour or 0.0)
        if f.turn.kind in ("aim", "turn-round"):
            faces = told
            continue
        faces += float(np.copysign(np.degrees(round(f.turn.rim_cm) / radius_cm), f.turn.turn_deg))
        off = (faces - told + 180.0) % 360.0 - 180.0
        assert abs(off) <= 7.5 / 2 + np.degrees(0.5 / radius_cm) + 0.2
        faces = told if f.turn.kind != "hold" else faces
