"""Who does what, and the fewest walks that keep every cooker on the sun.

Jobs stand at fixed slots; the timetable has made sure that enough people are there. Walks are
put as late as the most urgent cooker allows, into a slot in which somebody who may is free; that
is the known best way to hit all intervals with the fewest points.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from events.errors import PlanBroken
from events.model import Cooker, Event, Helper
from solver.plan import Job, Turn, Walk
from solver.pointing import declination_deg, interval_min, make_turn
from solver.sky import Sky, at_minute, minute_of
from solver.timetable.question import SLOT_MIN

TURNS_A_WALK = 3  # under two minutes each: a walk fits one slot (common practice)


@dataclass(frozen=True)
class OnSun:
    """A cooker set on the sun from one minute to another, by the job that sets it there."""

    cooker: Cooker
    start: int
    end: int


@dataclass
class Roster:
    """Who is free in which slot; work is taken out as it is given."""

    helpers: tuple[Helper, ...]
    free: dict[str, np.ndarray]  # type: ignore[type-arg]  # bool by slot
    minutes: dict[str, int]

    def take(self, helper_id: str, slots: range) -> None:
        """Give a helper work in these slots."""
        self.free[helper_id][list(slots)] = False
        self.minutes[helper_id] += SLOT_MIN * len(slots)

    def able(self, ability: str | None, slots: range) -> list[Helper]:
        """Return who may and is free: fewest abilities first, then least work so far."""
        fit = [
            h
            for h in self.helpers
            if (ability is None or ability in h.may) and self.free[h.id][list(slots)].all()
        ]
        return sorted(fit, key=lambda h: (len(h.may), self.minutes[h.id], h.id))


@dataclass(frozen=True)
class Task:
    """A job before it has people: what it needs, and when."""

    job: Job
    ability: str | None
    people: int
    minute: int


def share_out(roster: Roster, tasks: list[Task]) -> tuple[Job, ...]:
    """Return the jobs with their people; scarce abilities and long jobs are served first."""

    def urgency(task: Task) -> tuple[int, int, int, str]:
        scarce = sum(task.ability is None or task.ability in h.may for h in roster.helpers)
        return (scarce, -task.job.minutes, task.minute, task.job.id)

    done: list[Job] = []
    for task in sorted(tasks, key=urgency):
        first = task.minute // SLOT_MIN
        slots = range(first, first + -(-task.job.minutes // SLOT_MIN))
        able = roster.able(task.ability, slots)
        if len(able) < task.people:
            raise PlanBroken([f"{task.job.id}: {task.people} people needed, {len(able)} free"])
        chosen = able[: task.people]
        for helper in chosen:
            roster.take(helper.id, slots)
        done.append(task.job.model_copy(update={"helper_ids": tuple(h.id for h in chosen)}))
    return tuple(sorted(done, key=lambda j: (j.at, j.id)))


def walk_the_sun(
    event: Event, sky: Sky, roster: Roster, stretches: list[OnSun]
) -> tuple[tuple[Turn, ...], tuple[Walk, ...]]:
    """Return every turn and the walks they are done on.

    Each cooker is aimed ahead when it is set on the sun and again before its interval is over.
    Raises PlanBroken where nobody who may is free inside an interval.
    """
    dec = declination_deg(event.date)
    every = {s.cooker.id: interval_min(s.cooker, declination_deg=dec) for s in stretches}
    aims: dict[int, list[int]] = {k: [s.start] for k, s in enumerate(stretches)}
    trips: dict[tuple[int, str], list[int]] = {}
    while True:
        due = [
            (aims[k][-1] + every[s.cooker.id], k)
            for k, s in enumerate(stretches)
            if aims[k][-1] + every[s.cooker.id] < s.end
        ]
        if not due:
            break
        deadline, first = min(due)
        slot, helper = _latest(roster, stretches[first], aims[first][-1], deadline)
        minute = slot * SLOT_MIN
        may = [
            (d, k)
            for d, k in sorted(due)
            if stretches[k].start < minute
            and aims[k][-1] < minute
            and (not stretches[k].cooker.trained or "mirrors" in helper.may)
        ][:TURNS_A_WALK]
        roster.take(helper.id, range(slot, slot + 1))
        trips[(minute, helper.id)] = [k for _, k in may]
        for _, k in may:
            aims[k].append(minute)
    _drop_needless(stretches, every, aims, trips)
    return _tell(sky, stretches, every, aims, trips)


def _latest(roster: Roster, stretch: OnSun, after: int, deadline: int) -> tuple[int, Helper]:
    ability = "mirrors" if stretch.cooker.trained else None
    for slot in range(deadline // SLOT_MIN, after // SLOT_MIN, -1):
        able = roster.able(ability, range(slot, slot + 1))
        if able:
            return slot, able[0]
    raise PlanBroken([f"nobody is free to turn {stretch.cooker.name} within its interval"])


def _drop_needless(
    stretches: list[OnSun],
    every: dict[str, int],
    aims: dict[int, list[int]],
    trips: dict[tuple[int, str], list[int]],
) -> None:
    """Leave out turns whose neighbours hold the sun without them, latest first."""
    for minute, who in sorted(trips, reverse=True):
        kept = []
        for k in trips[(minute, who)]:
            at = aims[k].index(minute)
            after = aims[k][at + 1] if at + 1 < len(aims[k]) else stretches[k].end
            if after - aims[k][at - 1] <= every[stretches[k].cooker.id]:
                aims[k].remove(minute)
            else:
                kept.append(k)
        trips[(minute, who)] = kept


def _tell(
    sky: Sky,
    stretches: list[OnSun],
    every: dict[str, int],
    aims: dict[int, list[int]],
    trips: dict[tuple[int, str], list[int]],
) -> tuple[tuple[Turn, ...], tuple[Walk, ...]]:
    turns: list[Turn] = []
    names: dict[tuple[int, int], str] = {}
    number: dict[str, int] = {}
    order = sorted(range(len(stretches)), key=lambda k: (stretches[k].start, k))
    for k in order:
        s = stretches[k]
        aim: tuple[float, float] | None = None
        for n, minute in enumerate(aims[k]):
            number[s.cooker.id] = number.get(s.cooker.id, 0) + 1
            names[(k, minute)] = f"{s.cooker.id}-turn-{number[s.cooker.id]}"
            until = aims[k][n + 1] if n + 1 < len(aims[k]) else s.end
            holds = min(minute + every[s.cooker.id], max(until, minute + SLOT_MIN), s.end)
            turns.append(
                make_turn(
                    s.cooker,
                    sky,
                    id=names[(k, minute)],
                    at=at_minute(sky, minute),
                    holds_until=at_minute(sky, holds),
                    previous_aim=aim,
                    first=n == 0,
                )
            )
            aim = aim_position(sky, minute, holds)
    walks = [
        Walk(
            id=f"walk-{n + 1}",
            at=at_minute(sky, minute),
            minutes=SLOT_MIN,
            helper_id=who,
            turn_ids=tuple(names[(k, minute)] for k in trips[(minute, who)]),
        )
        for n, (minute, who) in enumerate(sorted(t for t in trips if trips[t]))
    ]
    return tuple(sorted(turns, key=lambda t: (t.at, t.id))), tuple(walks)


def aim_position(sky: Sky, minute: int, holds: int) -> tuple[float, float]:
    """Return (azimuth_deg, elevation_deg) of the sun halfway to when the aim must hold until."""
    middle = min((minute + holds) // 2, sky.azimuth_deg.size - 1)
    return float(sky.azimuth_deg[middle]), float(sky.elevation_deg[middle])


def minutes_of(sky: Sky, turn: Turn) -> tuple[int, int]:
    """Return a turn's minute and the minute it holds until."""
    return minute_of(sky, turn.at), minute_of(sky, turn.holds_until)
