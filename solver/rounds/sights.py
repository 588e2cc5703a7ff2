"""What there is to see at a cooker by the plan: work of hands, and heats by the expected curve."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from events.rounds import HandMoment, StopMoment
from solver.plan import CurvePoint, Job, JobKind, Placement, Turn
from solver.policy import BOIL_WITHIN_K, FIRST_STEAM_K, LAST_LOOK_MIN, LASTING_MIN, SETTLE_MIN
from solver.simulation.day import Day
from solver.solar.irradiance import minute_of

SHOWN_BY: dict[JobKind, HandMoment] = {
    "load": "loading",
    "stir": "lid-opened",
    "probe": "lid-opened",
    "lift": "lifted",
    "insulate": "lifted",
    "move": "lifted",
}
OVER_C = 100.0


@dataclass(frozen=True)
class Sighting:
    """Something to see at a cooker between two minutes of the day; a work is at its first."""

    moment: StopMoment
    cooker_id: str
    start: int
    end: int
    lasts: bool = False

    def seen_at(self, start: int, end: int) -> int | None:
        """Return the minute at which a visit between two minutes sees it, if it does."""
        if self.lasts:
            first = max(self.start, start + SETTLE_MIN)
            return first if min(self.end, end) - first >= LASTING_MIN else None
        if self.moment == "loading":  # all of it is seen
            return self.start if start <= self.start and self.end <= end - LAST_LOOK_MIN else None
        inside = start + SETTLE_MIN <= self.start <= end - LAST_LOOK_MIN
        return self.start if inside else None


def sightings(
    day: Day, placements: Sequence[Placement], jobs: Sequence[Job], turns: Sequence[Turn]
) -> list[Sighting]:
    """Return everything there is to see at cookers, in order of time."""
    seen = [
        *(s for j in jobs for s in _of_job(day, j)),
        *(_of_turn(day, t) for t in turns),
        *(s for p in placements for s in _of_heat(day, p)),
    ]
    return sorted(seen, key=lambda s: (s.start, s.cooker_id, s.moment))


def _of_job(day: Day, job: Job) -> Iterator[Sighting]:
    if job.kind in SHOWN_BY and job.cooker_id is not None:
        start = minute_of(day.sky, job.at)
        yield Sighting(SHOWN_BY[job.kind], job.cooker_id, start, start + job.minutes)


def _of_turn(day: Day, turn: Turn) -> Sighting:
    start = minute_of(day.sky, turn.at)
    return Sighting("turn", turn.cooker_id, start, start)


def servings(day: Day, placements: Sequence[Placement]) -> list[Sighting]:
    """Return when there is food to taste: from when it is served until its last plate."""
    found = []
    for p in placements:
        start, end = (minute_of(day.sky, at) for at in (p.served_at, p.last_plate_at))
        out_of = p.then_cooker_id or p.cooker_id
        found.append(Sighting("served", out_of, start, end, lasts=True))
    return sorted(found, key=lambda s: (s.start, s.cooker_id))


def _of_heat(day: Day, p: Placement) -> Iterator[Sighting]:
    until = minute_of(day.sky, p.lifted_at)
    steam = _stretch(day, p.curve, until, day.boil_c - FIRST_STEAM_K, lambda q: q.food_c)
    if steam is not None:
        yield Sighting("first-steam", p.cooker_id, steam[0], steam[0])
    boil = _stretch(day, p.curve, until, day.boil_c - BOIL_WITHIN_K, lambda q: q.food_c)
    if boil is not None:
        yield Sighting("boil", p.cooker_id, *boil, lasts=True)
    if all(q.body_c is not None for q in p.curve):
        hot = _stretch(day, p.curve, until, OVER_C, lambda q: q.body_c or 0.0)
        if hot is not None:
            yield Sighting("over-100", p.cooker_id, *hot, lasts=True)


def _stretch(
    day: Day,
    curve: Sequence[CurvePoint],
    until: int,
    limit_c: float,
    of: Callable[[CurvePoint], float],
) -> tuple[int, int] | None:
    """Return from when to when a curve is at a limit or above, up to `until`; None: never.

    Between two points it is straight; the first stretch counts.
    """
    start: float | None = None
    last = 0.0
    for n, point in enumerate(curve):
        minute, value = float(minute_of(day.sky, point.at)), of(point)
        if minute > until:
            break
        if value >= limit_c and start is None:
            start = minute
            if n:
                before = of(curve[n - 1])
                was = float(minute_of(day.sky, curve[n - 1].at))
                start = was + (minute - was) * (limit_c - before) / (value - before)
        elif value < limit_c and start is not None:
            break
        last = minute
    return (-int(-start // 1), int(last)) if start is not None else None
