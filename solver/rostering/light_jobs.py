"""What the young do: light jobs, never at a cooker, each with a named adult beside them.

The adults' own work is settled before: an adult stands with the young where they have nothing
else to do, and never leaves a mirror without one who may work it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from events.model import Meal
from solver.plan import Job, JobKind
from solver.policy import SLOT_MIN, YOUNG_MOST
from solver.rostering.programme import Work
from solver.rostering.tasks import SunExposure
from solver.scheduling.formulation import person_of
from solver.scheduling.problem import Person
from solver.simulation.clock import ceil_to_slot, minute_at
from solver.simulation.day import Day
from solver.solar.irradiance import at_minute, minute_of

# Minutes that a job takes, and how much later than wanted it may begin: common practice, no
# published source.
MINUTES: dict[JobKind, int] = {
    "greet": 20,
    "read-board": 10,
    "write-temperatures": 10,
    "carry-plates": 30,
    "wash-up": 30,
}
LATER_MIN = 30
BOARD_BEFORE_MIN = 30  # before a meal the board is read aloud


@dataclass(frozen=True)
class _Wanted:
    kind: JobKind
    minute: int
    meal_id: str | None = None


def with_light_jobs(day: Day, work: Work, exposures: Sequence[SunExposure]) -> Work:
    """Return everybody's work with the young's, as far as an adult is free to stand with them."""
    return replace(work, jobs=(*work.jobs, *_light_jobs(day, work, exposures)))


def _light_jobs(day: Day, work: Work, exposures: Sequence[SunExposure]) -> list[Job]:
    slots = day.sky.beam_w_m2.size // SLOT_MIN
    people = [person_of(day, h, slots) for h in day.event.helpers]
    young = [p for p in people if not p.adult]
    if not young:
        return []
    free = _free_slots(day, people, work)
    mirrors = {
        s for one in exposures if one.cooker.nature.concentrates for s in range(one.start, one.end)
    }
    adults = sorted((p for p in people if p.adult), key=lambda p: (len(p.abilities), p.id))
    out: list[Job] = []
    for wanted in _wanted(day):
        for slot in range(wanted.minute // SLOT_MIN, (wanted.minute + LATER_MIN) // SLOT_MIN + 1):
            span = set(range(slot, slot + MINUTES[wanted.kind] // SLOT_MIN))
            group = [p for p in young if span <= free[p.id]][:YOUNG_MOST]
            beside = [
                a
                for a in adults
                if span <= free[a.id] and _is_spared(a, adults, free, span & mirrors)
            ]
            if group and beside:
                for p in (*group, beside[0]):
                    free[p.id] -= span
                out.append(_job(day, wanted, slot, beside[0], group))
                break
    return out


def _wanted(day: Day) -> list[_Wanted]:
    """Return what the young could do, in time order; what was done before now is left out."""
    first = min(h.start for h in day.event.helpers if not h.adult)
    opens = max(day.event.site.opens, first)
    wanted = [_Wanted("greet", ceil_to_slot(minute_at(day, opens)))]
    for meal in day.event.meals:
        wanted += _of_meal(day, meal)
    done = (
        {(j.kind, j.meal_id) for j in day.replan.plan.jobs if _is_past(day, j)}
        if day.replan
        else set()
    )
    return sorted(
        (w for w in wanted if (w.kind, w.meal_id) not in done), key=lambda w: (w.minute, w.kind)
    )


def _of_meal(day: Day, meal: Meal) -> list[_Wanted]:
    start, end = minute_at(day, meal.start), minute_at(day, meal.end)
    return [
        _Wanted("read-board", max(0, start - BOARD_BEFORE_MIN), meal.id),
        _Wanted("write-temperatures", start, meal.id),
        _Wanted("carry-plates", start + MINUTES["write-temperatures"], meal.id),
        _Wanted("wash-up", end, meal.id),
    ]


def _is_past(day: Day, job: Job) -> bool:
    return day.replan is not None and minute_of(day.sky, job.at) <= day.replan.minute


def _free_slots(day: Day, people: list[Person], work: Work) -> dict[str, set[int]]:
    """Return the slots in which each has nothing to do."""
    free = {p.id: {s for s, is_free in enumerate(p.free) if is_free} for p in people}
    busy = [(h, j.at, j.minutes) for j in work.jobs for h in j.helper_ids]
    busy += [(w.helper_id, w.at, w.minutes) for w in work.walks]
    for helper_id, at, minutes in busy:
        start = minute_of(day.sky, at)
        free[helper_id] -= set(range(start // SLOT_MIN, -(-(start + minutes) // SLOT_MIN)))
    return free


def _is_spared(
    adult: Person, adults: list[Person], free: dict[str, set[int]], mirrors_on_sun: set[int]
) -> bool:
    """Return whether, while mirrors are on the sun, another is free who may work them."""
    if "mirrors" not in adult.abilities or not mirrors_on_sun:
        return True
    return any(
        a is not adult and "mirrors" in a.abilities and mirrors_on_sun <= free[a.id] for a in adults
    )


def _job(day: Day, wanted: _Wanted, slot: int, adult: Person, group: list[Person]) -> Job:
    minute = slot * SLOT_MIN
    meal = f"-{wanted.meal_id}" if wanted.meal_id else ""
    return Job(
        id=f"{wanted.kind}{meal}-{minute // 60:02d}{minute % 60:02d}",
        kind=wanted.kind,
        at=at_minute(day.sky, minute),
        minutes=MINUTES[wanted.kind],
        helper_ids=(*(p.id for p in group), adult.id),
        meal_id=wanted.meal_id,
    )
