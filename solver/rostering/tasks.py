"""The work that the chosen columns bring, before it has people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from events.kinds import Ability
from events.model import Cooker
from solver.plan import Job, JobKind
from solver.policy import SLOT_MIN
from solver.scheduling.batches import load_minutes, probe_minute, stir_minutes
from solver.scheduling.columns import Candidate
from solver.simulation.clock import next_slot_min
from solver.simulation.day import Day
from solver.simulation.day_state import ReplanState
from solver.solar.aiming import Pose, pose_of
from solver.solar.irradiance import at_minute, minute_of
from solver.solar.tracking import declination_deg, interval_min


@dataclass(frozen=True)
class SunExposure:
    """A cooker on the sun from one slot to another; it is aimed ahead at the first.

    Where it was on the sun before the day was planned again, `start` is its last aim, no turn
    comes before `now`, and it stands as the earlier plan left it.
    """

    cooker: Cooker
    start: int
    end: int
    every: int  # slots that one aim holds
    now: int = -1
    stands: Pose | None = None


@dataclass(frozen=True)
class Task:
    """A job before it has people: its first slot, and what each of its people must be allowed."""

    job: Job
    slot: int
    abilities: tuple[Ability | None, ...]
    covered_by: str | None = None  # the job of the one who stays at its cooker: they do it

    def slots(self) -> range:
        """Return the slots it takes."""
        return range(self.slot, self.slot + -(-self.job.minutes // SLOT_MIN))


@dataclass(frozen=True)
class _Work:
    """Work on a load at its cooker, or at its second one: when, and who may do it."""

    kind: JobKind
    minute: int
    abilities: tuple[Ability | None, ...]
    minutes: int = SLOT_MIN
    at_second: bool = False


def tasks_of(day: Day, chosen: Sequence[Candidate]) -> list[Task]:
    """Return the jobs that the chosen candidates bring, as far as they are still to come."""
    return [task for candidate in chosen for task in _tasks_of(day, candidate)]


def _tasks_of(day: Day, candidate: Candidate) -> Iterator[Task]:
    stay = _attendance(day, candidate)
    if stay is not None:
        yield stay
    column = candidate.column
    for work in _works(candidate):
        if day.replan is not None and work.minute <= day.replan.minute:
            continue
        cooker_id = column.then_cooker_id if work.at_second else column.cooker_id
        job = Job(
            id=f"{work.kind}-{cooker_id}-{_hhmm(work.minute)}-{column.batch_ids[0]}",
            kind=work.kind,
            at=at_minute(day.sky, work.minute),
            minutes=work.minutes,
            helper_ids=(),
            cooker_id=cooker_id,
            placement_ids=column.batch_ids,
        )
        if stay is not None and not work.at_second:
            yield Task(job, work.minute // SLOT_MIN, work.abilities[1:], stay.job.id)
        else:
            yield Task(job, work.minute // SLOT_MIN, work.abilities)


def _attendance(day: Day, candidate: Candidate) -> Task | None:
    """Return the job of staying at a cooker that is attended, as far as it is still to come."""
    cooker, column = candidate.load.cooker, candidate.column
    if not cooker.attended or _has_left(candidate):
        return None
    start = max(column.occupies[0] * SLOT_MIN, next_slot_min(day))
    end = column.lift_slot * SLOT_MIN + SLOT_MIN
    job = Job(
        id=f"attend-{cooker.id}-{_hhmm(start)}-{column.batch_ids[0]}",
        kind="attend",
        at=at_minute(day.sky, start),
        minutes=end - start,
        helper_ids=(),
        cooker_id=cooker.id,
        placement_ids=column.batch_ids,
    )
    return Task(job, start // SLOT_MIN, (cooker.ability or "lift",))  # whoever stays lifts, too


def _has_left(candidate: Candidate) -> bool:
    """Return whether a load in progress has left its first cooker."""
    return candidate.in_progress is not None and candidate.in_progress.stage != "cooking"


def _works(candidate: Candidate) -> Iterator[_Work]:
    """Yield the work of a load, from preheating to lifting it out of its last cooker."""
    column, load, batches = candidate.column, candidate.load, candidate.batches
    if candidate.in_progress is not None and candidate.in_progress.stage == "lifted":
        return
    ability = load.cooker.ability
    start, lift = column.load_slot * SLOT_MIN, column.lift_slot * SLOT_MIN
    if column.occupies[0] < column.load_slot:
        yield _Work("preheat", column.occupies[0] * SLOT_MIN, (ability,))
    yield _Work("load", start, (ability,), load_minutes(batches))
    for minute in stir_minutes(batches, start, min(max(load.done), lift)):
        yield _Work("stir", minute, (ability,))
    probe = probe_minute(batches, max(load.done), lift)
    if probe is not None:
        yield _Work("probe", probe, (ability,))
    # One who may work the cooker lifts; the others lend a hand.
    others = max(b.dish.lift_helpers for b in batches) - 1
    lend_a_hand: list[Ability | None] = ["lift"] * others
    yield _Work(_lifting(column.route), lift, (ability or "lift", *lend_a_hand))
    if column.route == "sun+burner" and column.then_occupies is not None:
        ring = candidate.second.ability if candidate.second else None
        off = column.then_occupies[1] * SLOT_MIN
        yield _Work("lift", off, (ring or "lift", *lend_a_hand), at_second=True)


def _lifting(route: str) -> JobKind:
    """Return what lifting a load out of its first cooker is called."""
    lifting: dict[str, JobKind] = {"sun+burner": "move", "sun+insulated": "insulate"}
    return lifting.get(route, "lift")


def exposures_of(day: Day, chosen: Sequence[Candidate]) -> list[SunExposure]:
    """Return when the chosen candidates have which cooker on the sun, in order of time."""
    exposures = [e for c in chosen for e in [_exposure(day, c)] if e is not None]
    return sorted(exposures, key=lambda e: (e.start, e.cooker.id))


def _exposure(day: Day, candidate: Candidate) -> SunExposure | None:
    cooker, column = candidate.load.cooker, candidate.column
    if not cooker.on_sun or _has_left(candidate):
        return None
    dec = declination_deg(day.event.date)
    every = interval_min(cooker, declination_deg=dec) // SLOT_MIN
    start, replan, begun = column.occupies[0], day.replan, candidate.in_progress is not None
    now = next_slot_min(day) // SLOT_MIN
    if replan is None or (not begun and start * SLOT_MIN > replan.minute):
        return SunExposure(cooker, start, column.lift_slot, every)
    if cooker.id in replan.unavailable or column.lift_slot <= now:
        return None  # it is out of action, or its load leaves at once
    last_aim = replan.aimed_at.get(cooker.id, 0) // SLOT_MIN
    start = max(last_aim, now - every)  # overdue: it is turned at once
    return SunExposure(cooker, start, column.lift_slot, every, now, _stands(day, replan, cooker))


def _stands(day: Day, replan: ReplanState, cooker: Cooker) -> Pose | None:
    """Return how the plan before left a cooker when it was last brought to the sun."""
    at = replan.aimed_at.get(cooker.id)
    own = [t for t in replan.plan.turns if t.cooker_id == cooker.id]
    if at is None or not own:
        return None
    return pose_of(min(own, key=lambda t: abs(minute_of(day.sky, t.at) - at)))


def _hhmm(minute: int) -> str:
    return f"{minute // 60:02d}{minute % 60:02d}"
