"""The turns of a roster, as instructions for hands, and the walks they are done on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from events.kinds import Ability
from solver.plan import Turn, Walk
from solver.policy import LAST_OVER_MIN, SLOT_MIN
from solver.rostering.tasks import SunExposure
from solver.scheduling.problem import Person
from solver.solar.aiming import Pose, make_turn
from solver.solar.irradiance import Sky, at_minute
from solver.solar.tracking import aim_position

LAST_OVER = LAST_OVER_MIN // SLOT_MIN


@dataclass(frozen=True, order=True)
class Trip:
    """One walk of a helper: its slot, and the sun exposures (by index) that are turned on it."""

    slot: int
    helper_id: str
    exposures: tuple[int, ...]


def may(person: Person, ability: Ability | None) -> bool:
    """Return whether a person may do what asks for an ability."""
    return ability is None or ability in person.abilities


def turner(exposure: SunExposure) -> Ability | None:
    """Return what one must be trained in to turn a cooker."""
    return "mirrors" if exposure.cooker.trained else None


def _hhmm(slot: int) -> str:
    return f"{slot * SLOT_MIN // 60:02d}{slot * SLOT_MIN % 60:02d}"


def walk_id(slot: int, helper_id: str) -> str:
    """Return a walk's name: the same walk of the same helper has it in every plan."""
    return f"walk-{_hhmm(slot)}-{helper_id}"


def _turn_id(exposure: SunExposure, slot: int) -> str:
    return f"{exposure.cooker.id}-turn-{_hhmm(slot)}"


def turns_of(sky: Sky, exposures: Sequence[SunExposure], trips: Sequence[Trip]) -> tuple[Turn, ...]:
    """Return every turn with its hand instructions, in order of time."""
    turns = [
        turn
        for k in sorted(range(len(exposures)), key=lambda k: (exposures[k].start, k))
        for turn in _turns(sky, exposures[k], [t.slot for t in trips if k in t.exposures])
    ]
    return tuple(sorted(turns, key=lambda t: (t.at, t.id)))


def _turns(sky: Sky, exposure: SunExposure, slots: Sequence[int]) -> Iterator[Turn]:
    """Yield the turns of one exposure: the first aiming, if it is still to come, and each trip."""
    goes_on = exposure.now >= 0
    aims = [*slots] if goes_on else [exposure.start, *slots]
    pose: Pose | None = None
    if goes_on:
        holds = exposure.start + exposure.every
        aim = aim_position(sky, exposure.start * SLOT_MIN, holds * SLOT_MIN)
        pose = exposure.stands or Pose(*aim)
    for n, slot in enumerate(aims):
        following = aims[n + 1] if n + 1 < len(aims) else exposure.end
        over = LAST_OVER if following == exposure.end else 0
        holds = min(slot + exposure.every + over, following)
        turn, pose = make_turn(
            exposure.cooker,
            sky,
            id=_turn_id(exposure, slot),
            at=at_minute(sky, slot * SLOT_MIN),
            holds_until=at_minute(sky, holds * SLOT_MIN),
            before=pose,
        )
        yield turn


def walks_of(sky: Sky, exposures: Sequence[SunExposure], trips: Sequence[Trip]) -> tuple[Walk, ...]:
    """Return the walks, each with its turns."""
    return tuple(
        Walk(
            id=walk_id(trip.slot, trip.helper_id),
            at=at_minute(sky, trip.slot * SLOT_MIN),
            minutes=SLOT_MIN,
            helper_id=trip.helper_id,
            turn_ids=tuple(_turn_id(exposures[k], trip.slot) for k in trip.exposures),
        )
        for trip in trips
    )
