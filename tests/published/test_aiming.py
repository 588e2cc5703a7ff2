"""Who follows an order by hand keeps the sun, at any latitude and hour.

Source: pvlib's NREL positions. The card, the hands and the power kept are worked out here anew:
the hands move by the centimetres that are said, then until the shadow's tip lies on the ring and
the hour that are said.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
import pytest
from pvlib.solarposition import get_solarposition
from scipy.optimize import least_squares

from events.model import Cooker, Event
from events.reading.catalogue import resolve
from solver.plan import Turn
from solver.policy import RIM_MOST_CM, SLOT_MIN
from solver.solar.aiming import make_turn
from solver.solar.irradiance import Sky, at_minute, expected_sky
from solver.solar.tracking import declination_deg, interval_min
from tests.conftest import sample_event

LEAST_POWER = 0.97
PLACES: dict[str, tuple[float, float, str, date]] = {
    "equator, equinox": (0.0, 37.0, "Africa/Nairobi", date(2027, 3, 20)),
    "18.9 S, sun in the zenith": (-18.9, 47.5, "Indian/Antananarivo", date(2026, 11, 26)),
    "13 N, sun to the north": (13.0, 2.1, "Africa/Niamey", date(2027, 6, 21)),
    "34.6 S": (-34.6, 19.0, "Africa/Johannesburg", date(2026, 11, 28)),
    "38.9 N": (38.9, -104.2, "America/Denver", date(2027, 8, 14)),
    "60 N, midsummer": (60.0, 11.0, "Europe/Oslo", date(2027, 6, 21)),
}
COOKERS = ("mirror-140cm", "mirror-180cm", "box-large", "panel-deep")


@dataclass(frozen=True)
class Followed:
    """One order and what came of it."""

    turn: Turn
    hour: float  # local sun time: 12 when the sun is highest
    power: float  # mean share of full power until the aim has run out
    ruler_deg: float  # how far the cooker would point from the aim by the ruler alone
    was_mm: float  # how far the tip lay from where the plan says it lies before
    missed: float  # the tip could not be brought nearer than this to its place, in pins


def event_at(place: str) -> Event:
    latitude, longitude, zone, day = PLACES[place]
    event = sample_event("harvest-lunch")
    site = event.site.model_copy(
        update={"latitude_deg": latitude, "longitude_deg": longitude, "timezone": zone}
    )
    return event.model_copy(update={"date": day, "site": site})


def suns(event: Event, times: list[datetime]) -> Any:
    """Return the sun's unit vectors (east, north, up)."""
    site = event.site
    rows = get_solarposition(pd.DatetimeIndex(times), site.latitude_deg, site.longitude_deg, 0)
    a, e = np.radians(rows["azimuth"].to_numpy()), np.radians(rows["elevation"].to_numpy())
    return np.stack([np.cos(e) * np.sin(a), np.cos(e) * np.cos(a), np.sin(e)], axis=1)


def looks(pose: Any) -> Any:
    """Return what a cooker looks at that faces pose[0] and is tipped back by pose[1]."""
    f, t = np.radians(pose)
    return np.array([np.sin(f) * np.cos(t), np.cos(f) * np.cos(t), np.sin(t)])


def tip_of(pose: Any, sun: Any) -> Any:
    """Return where the shadow of a pin one long ends: (towards 3, towards 12) on the card.

    The card is looked at from its front: with the cooker facing south and upright, 12 is up and 3
    is east. Facing and tipping carry the card along.
    """
    f, t = math.radians(pose[0] - 180.0), math.radians(pose[1])
    c, s = math.cos(f), math.sin(f)
    three = np.array([c, -s, 0.0])
    twelve = np.array([s * math.sin(t), c * math.sin(t), math.cos(t)])
    shadow = looks(pose) - sun / (sun @ looks(pose))
    return np.array([shadow @ three, shadow @ twelve])


def place_of(ring_deg: float, clock_hour: float) -> Any:
    angle = math.radians(30.0 * clock_hour)
    return math.tan(math.radians(ring_deg)) * np.array([math.sin(angle), math.cos(angle)])


def by_the_ruler(cooker: Cooker, turn: Turn, pose: Any) -> Any:
    """Return the pose after the movements that are said, in whole centimetres or eighths."""
    side = math.sqrt(cooker.aperture_m2 or 0.0) * 100
    round_one = cooker.kind == "parabolic"
    rim = math.sqrt((cooker.aperture_m2 or 0.0) / math.pi) * 100 if round_one else side / 2
    lever = rim if round_one else side
    swing = math.degrees(round(turn.rim_cm) / rim)
    if turn.kind == "turn-round":
        swing = 45.0 * round(abs(turn.turn_deg) / 45.0)
    tilt = math.degrees(round(turn.tip_cm) / lever)
    return np.array(
        [
            pose[0] + math.copysign(swing, turn.turn_deg),
            pose[1] + math.copysign(tilt, turn.tilt_deg),
        ]
    )


def off_deg(a: Any, b: Any) -> Any:
    return np.degrees(np.arccos(np.clip(a @ b, -1.0, 1.0)))


def power_of(event: Event, cooker: Cooker, pose: Any, start: datetime, end: datetime) -> float:
    count = int((end - start).total_seconds() // 60)
    error = off_deg(
        suns(event, [start + timedelta(minutes=k) for k in range(count + 1)]), looks(pose)
    )
    fade = (cooker.lost_deg - error) / (cooker.lost_deg - cooker.acceptance_deg)
    return float(np.clip(fade, 0.0, 1.0).mean())


def orders(event: Event, cooker: Cooker) -> Iterator[Turn]:
    """Yield the turns of a whole day, as long as the sun is high enough to cook."""
    sky: Sky = expected_sky(event)
    every = interval_min(cooker, declination_deg=declination_deg(event.date))
    low, high = max(cooker.sun_low_deg, 20.0), cooker.sun_high_deg
    up = [m for m in range(0, sky.elevation_deg.size, SLOT_MIN) if sky.elevation_deg[m] >= low]
    pose = None
    for minute in range(up[0], up[-1] - every, every):
        if sky.elevation_deg[minute : minute + every].max() > high:
            pose = None  # it can't look so high: it is set on the sun again later
            continue
        turn, pose = make_turn(
            cooker,
            sky,
            id=f"{cooker.id}-{minute}",
            at=at_minute(sky, minute),
            holds_until=at_minute(sky, minute + every),
            before=pose,
        )
        yield turn


@cache
def followed(place: str, like: str) -> tuple[Followed, ...]:
    event = event_at(place)
    cooker = Cooker.model_validate(resolve("cooker", {"like": like, "id": like, "name": like}))
    turns = list(orders(event, cooker))
    noon = max(turns, key=lambda t: float(suns(event, [t.at])[0][2])).at
    out, pose = [], np.zeros(2)
    for turn in turns:
        (sun,) = suns(event, [turn.at])
        assert turn.ring_deg is not None
        assert turn.clock_hour is not None
        was_mm = 0.0
        if turn.first:  # anybody can turn a cooker so that it faces the sun, its upper edge behind
            pose = np.degrees([math.atan2(sun[0], sun[1]), math.asin(sun[2])])
        else:
            assert turn.was_ring_deg is not None
            assert turn.was_clock_hour is not None
            told = place_of(turn.was_ring_deg, turn.was_clock_hour)
            was_mm = 100 * float(np.hypot(*(tip_of(pose, sun) - told)))
            pose = by_the_ruler(cooker, turn, pose)
        (aim,) = suns(event, [turn.at + timedelta(minutes=turn.ring_min)])
        ruler = float(off_deg(aim, looks(pose)))
        wanted = place_of(turn.ring_deg, turn.clock_hour)
        found = least_squares(
            lambda p, s=sun, w=wanted: tip_of(p, s) - w, pose, xtol=1e-12, ftol=1e-12, gtol=1e-12
        )
        pose = found.x
        out.append(
            Followed(
                turn,
                12 + (turn.at - noon).total_seconds() / 3600,
                power_of(event, cooker, pose, turn.at, turn.holds_until),
                ruler,
                was_mm,
                float(np.abs(found.fun).max()),
            )
        )
    return tuple(out)


@pytest.mark.parametrize("like", COOKERS)
@pytest.mark.parametrize("place", PLACES)
def test_following_the_order_keeps_the_sun_morning_noon_and_afternoon(
    place: str, like: str
) -> None:
    day = followed(place, like)

    assert min(f.power for f in day) >= LEAST_POWER
    assert {"morning" if f.hour < 11 else "noon" if f.hour < 13 else "afternoon" for f in day} >= {
        "morning",
        "afternoon",
    }
    assert max(f.missed for f in day) < 0.01  # of the pin: 1 mm of 10 cm


@pytest.mark.parametrize("like", COOKERS)
@pytest.mark.parametrize("place", PLACES)
def test_no_order_asks_for_more_than_hands_can_measure(place: str, like: str) -> None:
    for f in followed(place, like):
        t = f.turn
        if t.kind not in ("aim", "turn-round"):
            assert t.rim_cm <= RIM_MOST_CM
            assert t.tip_cm <= RIM_MOST_CM
