"""Where a cooker points, what the hands do to bring it there, and where the shadow's tip lies then.

A card with a pin lies flat in the cooker's opening, 12 at the upper edge, and goes with it. A
`Pose` is how the cooker stands: which way it faces and how far it is tipped back; over 90° it is
tipped past level, and the edge with 12 is the low one. Tipping past level goes on in the same
direction, so near the zenith it replaces half a turn; the card's hours are the cooker's own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from events.model import Cooker
from solver.plan import Turn, TurnKind
from solver.policy import (
    DIAL_STEP_DEG,
    RIM_MOST_CM,
    RING_STEP_MIN,
    RINGS_MIN,
    SAME_POWER,
    SWING_MOST_DEG,
)
from solver.solar.irradiance import Sky, minute_of
from solver.solar.position import Array
from solver.solar.tracking import factor, ring_for
from solver.solar.turned import choose_facing

NEAR_ZENITH_DEG = 75.0  # the sun's height from which azimuth runs faster than the hands should


@dataclass(frozen=True)
class Pose:
    """How a cooker stands: it faces `facing_deg` (from north), its opening looks up `tilt_deg`.

    0° of tilt looks at the horizon, 90° straight up, over 90° it is tipped past level.
    """

    facing_deg: float
    tilt_deg: float

    @property
    def over(self) -> bool:
        """Return whether it is tipped past level."""
        return self.tilt_deg > 90.0


@dataclass(frozen=True)
class Tip:
    """Where the shadow's tip lies on the card: the angle at the pin's top, and the clock hour."""

    ring_deg: float
    clock_hour: float  # 0 to 12, 12 towards the edge that is the upper one before level


def direction(azimuth_deg: Array | float, elevation_deg: Array | float) -> Array:
    """Return unit vectors (east, north, up) of directions; one row each."""
    a, e = np.radians(azimuth_deg), np.radians(elevation_deg)
    return np.stack([np.cos(e) * np.sin(a), np.cos(e) * np.cos(a), np.sin(e)], axis=-1)


def card_axes(pose: Pose) -> tuple[Array, Array]:
    """Return unit vectors from the pin's foot towards the card's 3 and its 12.

    Seen from the front, 12 is towards the upper edge and 3 to the right.
    """
    a, t = math.radians(pose.facing_deg), math.radians(pose.tilt_deg)
    to_12 = np.array([-math.sin(t) * math.sin(a), -math.sin(t) * math.cos(a), math.cos(t)])
    return np.array([-math.cos(a), math.sin(a), 0.0]), to_12


def shadow_tip(pose: Pose, sun: Array) -> Tip:
    """Return where the pin's shadow ends when the sun stands at a unit vector.

    With the sun behind the opening there is no shadow; the ring is then over 90°.
    """
    to_3, to_12 = card_axes(pose)
    right, up = -float(sun @ to_3), -float(sun @ to_12)
    front = float(sun @ direction(pose.facing_deg, pose.tilt_deg))
    hour = math.degrees(math.atan2(right, up)) % 360.0 / 30.0
    return Tip(math.degrees(math.atan2(math.hypot(right, up), front)), hour)


def swing_deg(before: Pose, after: Pose) -> float:
    """Return how far a cooker swings about its foot, clockwise from above, -180 to 180."""
    return (after.facing_deg - before.facing_deg + 180.0) % 360.0 - 180.0


def radius_cm(cooker: Cooker) -> float:
    """Return how far the middle of its side lies from a cooker's upright axis.

    A mirror is a disc; a box or a panel is taken as a square, 0.50 √A, unless its width is given.
    """
    return 50.0 * cooker.opening_width_m


def lever_cm(cooker: Cooker) -> float:
    """Return how far the upper edge lies from the axis that a cooker tips about.

    A mirror hangs in its middle; a box or a panel stands on its front edge.
    """
    return radius_cm(cooker) * (2 if cooker.nature.tips_about == "front-edge" else 1)


def most_swing_deg(cooker: Cooker) -> float:
    """Return how far a cooker is swung in one turn that is measured at its rim."""
    return min(SWING_MOST_DEG, math.degrees(RIM_MOST_CM / max(radius_cm(cooker), 1.0)))


def choose_pose(cooker: Cooker, sky: Sky, *, now: int, until: int, before: Pose | None) -> Pose:
    """Return the pose that keeps the sun from minute `now` to `until` without a long swing.

    It is the exact one, aimed ahead by a ring. Near the zenith, where azimuth runs round while the
    sun hardly moves, it is the one with the least swing that does as well: tipped, past level if
    need be. Only where nothing else keeps the sun is the cooker turned round.
    """
    last = sky.azimuth_deg.size - 1
    ahead = min(now + ring_for(until - now), last)
    exact = Pose(float(sky.azimuth_deg[ahead]), float(sky.elevation_deg[ahead]))
    if before is None:
        return exact
    most = most_swing_deg(cooker)
    same_side = _across(exact) if before.over else exact
    if exact.tilt_deg < NEAR_ZENITH_DEG and abs(swing_deg(before, same_side)) <= most:
        return same_side
    suns, rate = _suns(sky, now, min(until, last)), _sun_deg_min(sky, now)
    enough = _power(cooker, direction(exact.facing_deg, exact.tilt_deg), suns) - SAME_POWER
    for pose in sorted(_tries(before, exact), key=lambda p: abs(swing_deg(before, p))):
        aim = _as_ordered(pose, suns[0], rate)
        if (
            abs(swing_deg(before, pose)) <= most
            and (cooker.nature.tips_past_level or not pose.over)
            and aim is not None
            and _power(cooker, aim, suns) >= enough
        ):
            return pose
    return exact


def _across(pose: Pose) -> Pose:
    """Return the pose that looks the same way from the other side of level."""
    return Pose((pose.facing_deg + 180.0) % 360.0, 180.0 - pose.tilt_deg)


def _tries(before: Pose, exact: Pose) -> Iterator[Pose]:
    """Yield poses towards a direction: exact, exact past level, and nearly so with less swing."""
    yield from (exact, _across(exact))
    high = math.radians(exact.tilt_deg)
    for swing in range(-60, 61, 5):
        facing = (before.facing_deg + swing) % 360.0
        aside = math.radians(exact.facing_deg - facing)
        tilt = math.atan2(math.sin(high), math.cos(high) * math.cos(aside))
        yield Pose(facing, math.degrees(tilt))


def _as_ordered(pose: Pose, sun: Array, rate_deg_min: float) -> Array | None:
    """Return where a cooker looks once the tip lies on the ring and the half hour of its order.

    None where no swing and tilt bring it there: so near the zenith the tip can't be everywhere.
    """
    tip = shadow_tip(pose, sun)
    ring_min = _ring_min(tip, rate_deg_min)
    if ring_min > RINGS_MIN[-1]:
        return None
    ring, hour = (
        math.radians(ring_min * rate_deg_min),
        math.radians(30 * _half_hour(tip.clock_hour)),
    )
    zenith = math.hypot(float(sun[0]), float(sun[1]))  # sine of the sun's distance from it
    if math.sin(ring) * abs(math.sin(hour)) > 0.9 * zenith:
        return None
    to_3, to_12 = card_axes(pose)
    front = float(sun @ direction(pose.facing_deg, pose.tilt_deg))
    aim = sun / front + math.tan(ring) * (math.sin(hour) * to_3 + math.cos(hour) * to_12)
    looks: Array = aim / np.linalg.norm(aim)
    return looks


def _suns(sky: Sky, first: int, last: int) -> Array:
    """Return the sun's unit vector at each minute from the first to the last."""
    span = slice(first, last + 1)
    return direction(sky.azimuth_deg[span], sky.elevation_deg[span])


def _power(cooker: Cooker, looks: Array, suns: Array) -> float:
    """Return the mean share of full power that a cooker keeps under these suns."""
    error = np.degrees(np.arccos(np.clip(suns @ looks, -1.0, 1.0)))
    share = factor(error, acceptance_deg=cooker.acceptance_deg, lost_deg=cooker.lost_deg)
    return float(share.mean())


def _sun_deg_min(sky: Sky, minute: int) -> float:
    """Return how fast the sun runs across the sky, in degrees a minute."""
    before, after = _suns(sky, minute - 10, minute + 10)[[0, -1]]
    return math.degrees(math.acos(min(1.0, float(before @ after)))) / 20


def make_turn(
    cooker: Cooker,
    sky: Sky,
    *,
    id: str,
    at: datetime,
    holds_until: datetime,
    before: Pose | None,
) -> tuple[Turn, Pose]:
    """Return the turn that brings a cooker back to the sun until `holds_until`, and its new pose.

    `before` is how it stands; None: it is set on the sun now, 12 at the upper edge.
    """
    now, until = minute_of(sky, at), minute_of(sky, holds_until)
    stood = before or Pose(float(sky.azimuth_deg[now]), float(sky.elevation_deg[now]))
    if cooker.glass_tilt_deg is None:
        pose = choose_pose(cooker, sky, now=now, until=until, before=before)
    else:
        stood = Pose(_looks_deg(stood), 90.0 - cooker.glass_tilt_deg)
        stood_deg = stood.facing_deg if before else None
        facing = choose_facing(cooker, sky, now=now, until=until, stood_deg=stood_deg)
        pose = Pose(facing, stood.tilt_deg)
    swing, tilt = swing_deg(stood, pose), pose.tilt_deg - stood.tilt_deg
    rim_cm = math.radians(abs(swing)) * radius_cm(cooker)
    tip_cm = math.radians(abs(tilt)) * lever_cm(cooker)
    turn = Turn(
        id=id,
        cooker_id=cooker.id,
        at=at,
        holds_until=holds_until,
        kind=_kind(cooker, stood, pose, rim_cm=rim_cm, tip_cm=tip_cm) if before else "aim",
        **_shadow(cooker, sky, now, stood=stood if before else None, pose=pose),
        turn_deg=round(swing, 1),
        tilt_deg=round(tilt, 1),
        rim_cm=round(rim_cm, 1),
        tip_cm=round(tip_cm, 1),
        from_azimuth_deg=round(_looks_deg(stood), 1),
        to_azimuth_deg=round(_looks_deg(pose), 1),
        to_elevation_deg=round(min(pose.tilt_deg, 180.0 - pose.tilt_deg), 1),
        over=pose.over,
        first=before is None,
    )
    return turn, pose


def _shadow(
    cooker: Cooker, sky: Sky, now: int, *, stood: Pose | None, pose: Pose
) -> dict[str, float | None]:
    """Return where the shadow's tip goes and where it was, as a turn says it.

    Of a cooker that can't be tilted it is the hour of a level dial.
    """
    sun, rate = _suns(sky, now, now)[0], _sun_deg_min(sky, now)
    if cooker.glass_tilt_deg is not None:
        return {
            "ring_min": None,
            "clock_hour": _dial_hour(pose, sun),
            "was_clock_hour": _dial_hour(stood, sun) if stood else None,
        }
    tip, was = shadow_tip(pose, sun), shadow_tip(stood, sun) if stood else None
    ring_min = _ring_min(tip, rate)
    return {
        "ring_min": ring_min,
        "ring_deg": round(ring_min * rate, 2),
        "clock_hour": _half_hour(tip.clock_hour),
        "was_ring_deg": round(was.ring_deg, 2) if was else None,
        "was_clock_hour": _half_hour(was.clock_hour) if was else None,
    }


def _dial_hour(pose: Pose, sun: Array) -> float:
    """Return the quarter hour that the shadow lies nearest on a level dial, 12 at the back."""
    step = DIAL_STEP_DEG / 30.0
    hour = shadow_tip(Pose(pose.facing_deg, 90.0), sun).clock_hour
    return round(hour / step) * step % 12 or 12.0


def pose_of(turn: Turn) -> Pose | None:
    """Return how a turn leaves its cooker; None: kept before turns said so."""
    if turn.to_elevation_deg is None:
        return None
    if turn.over:
        return Pose((turn.to_azimuth_deg + 180.0) % 360.0, 180.0 - turn.to_elevation_deg)
    return Pose(turn.to_azimuth_deg, turn.to_elevation_deg)


def _kind(cooker: Cooker, before: Pose, after: Pose, *, rim_cm: float, tip_cm: float) -> TurnKind:
    if before.over != after.over and tip_cm >= 1:
        return "tip-over"
    if abs(swing_deg(before, after)) > most_swing_deg(cooker):
        return "turn-round"
    if max(rim_cm, tip_cm) < 1:
        return "hold"
    return "tilt" if tip_cm > rim_cm else "turn"


def _looks_deg(pose: Pose) -> float:
    """Return the azimuth of what a pose looks at: behind it once it is tipped past level."""
    return (pose.facing_deg + (180.0 if pose.over else 0.0)) % 360.0


def _ring_min(tip: Tip, rate_deg_min: float) -> int:
    """Return the ring, or the place halfway between two, that is nearest to a tip."""
    return RING_STEP_MIN * round(tip.ring_deg / rate_deg_min / RING_STEP_MIN)


def _half_hour(hour: float) -> float:
    """Return an hour of the clock face to the half, 12 rather than 0."""
    return round(2 * hour) / 2 % 12 or 12.0
