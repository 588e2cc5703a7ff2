"""What the young do: light jobs, never at a cooker, each with a named adult beside them.

The adults' own work is settled before: an adult stands with the young where they have nothing
else to do, and never leaves a mirror without one who may work it. Young and adults are chosen by
who had least of it so far.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from events.model import Meal
from events.reading.foods import foods
from solver.plan import Job, JobKind
from solver.policy import SLOT_MIN, YOUNG_MOST
from solver.rostering.programme import Work
from solver.rostering.tasks import SunExposure
from solver.scheduling.batches import dish_id_of
from solver.scheduling.formulation import person_of
from solver.scheduling.problem import Person
from solver.simulation.clock import ceil_to_slot, minute_at
from solver.simulation.day import Day
from solver.solar.irradiance import at_minute, minute_of

# Minutes that a job takes, how many of the young it is for, and how much later than wanted it may
# begin: common practice, no published source.
MINUTES: dict[JobKind, int] = {
    "greet": 20,
    "read-board": 10,
    "write-temperatures": 10,
    "carry-plates": 30,
    "wash-up": 30,
    "wash-vegetables": 20,
    "call-turns": 20,
    "write-sky": 5,
    "set-table": 20,
}
YOUNG: dict[JobKind, int] = {
    "greet": 2,
    "carry-plates": YOUNG_MOST,
    "wash-up": YOUNG_MOST,
    "wash-vegetables": 2,
    "set-table": 2,
}  # of all else one
LATER_MIN = 30
GREET_LEAST_MIN = 10
BOARD_BEFORE_MIN = 30  # before a meal the board is read aloud
TABLE_BEFORE_MIN = 60  # and the table is set: it stands when the meal begins
WASH_BEFORE_MIN = 60  # before a load its vegetables are washed
SKY_EVERY_MIN = 60  # sun and cloud are written down
TURNS_EVERY_MIN, TURNS_BEFORE_MIN = 60, 5  # stints of calling, the first before the first turn


@dataclass(frozen=True)
class _Wanted:
    kind: JobKind
    minute: int
    meal_id: str | None = None
    later_min: int = LATER_MIN
    can_wait: bool = False  # what else the young do comes first


def with_light_jobs(day: Day, work: Work, exposures: Sequence[SunExposure]) -> Work:
    """Return everybody's work with the young's, as far as an adult is free to stand with them."""
    return replace(work, jobs=(*work.jobs, *_light_jobs(day, work, exposures)))


def _light_jobs(day: Day, work: Work, exposures: Sequence[SunExposure]) -> list[Job]:
    slots = day.sky.beam_w_m2.size // SLOT_MIN
    people = [person_of(day, h, slots) for h in day.event.helpers]
    young = [p for p in people if not p.adult]
    if not young:
        return []
    free = free_slots(day, people, work)
    mirrors = {
        s for one in exposures if one.cooker.nature.concentrates for s in range(one.start, one.end)
    }
    adults = [p for p in people if p.adult]
    had_min: Counter[str] = Counter()
    out: list[Job] = []
    for wanted in _wanted(day, work, exposures):
        last = (wanted.minute + wanted.later_min) // SLOT_MIN
        begins = range(wanted.minute // SLOT_MIN, last + 1)
        for slot, minutes in itertools.product(begins, _lengths_min(wanted.kind)):
            span = set(range(slot, slot + minutes // SLOT_MIN))
            there = [p for p in young if span <= free[p.id]]
            there.sort(key=lambda p: had_min[p.id])
            beside = [
                a
                for a in adults
                if span <= free[a.id] and _is_spared(a, adults, free, span & mirrors)
            ]
            if there and beside:
                adult = min(beside, key=lambda a: (had_min[a.id], len(a.abilities), a.id))
                group = there[: YOUNG.get(wanted.kind, 1)]
                for p in (*group, adult):
                    free[p.id] -= span
                    had_min[p.id] += minutes
                out.append(_job(day, wanted, slot, minutes, adult, group))
                break
    return sorted(out, key=lambda j: (j.at, j.kind))


def _wanted(day: Day, work: Work, exposures: Sequence[SunExposure]) -> list[_Wanted]:
    """Return what the young could do; what was done before now is left out."""
    first = minute_at(day, min(h.start for h in day.event.helpers if not h.adult))
    wanted = [*_of_the_sun(day, work, exposures), *_of_vegetables(day, work, first)]
    if day.event.site.visitors_from is not None:  # without visitors there is nobody to greet
        comes = minute_at(day, day.event.site.visitors_from)
        wanted.append(_Wanted("greet", ceil_to_slot(max(comes, first))))
    for meal in day.event.meals:
        wanted += _of_meal(day, meal)
    past = [j for j in day.replan.plan.jobs if _is_past(day, j)] if day.replan else []
    return sorted(
        (w for w in wanted if not any(_is_of(day, j, w) for j in past)),
        key=lambda w: (w.can_wait, w.minute, w.kind),
    )


def _is_of(day: Day, job: Job, wanted: _Wanted) -> bool:
    """Return whether a job is what is wanted, then or so much later as it may be."""
    late_min = minute_of(day.sky, job.at) - wanted.minute
    same = (job.kind, job.meal_id) == (wanted.kind, wanted.meal_id)
    return same and 0 <= late_min <= wanted.later_min


def _of_the_sun(day: Day, work: Work, exposures: Sequence[SunExposure]) -> Iterator[_Wanted]:
    """Yield what is to be done while cookers are on the sun: call the turns, write the sky down."""
    if not exposures:
        return
    first, last = min(e.start for e in exposures), max(e.end for e in exposures)
    for minute in range(first * SLOT_MIN, last * SLOT_MIN, SLOT_MIN):
        if minute % SKY_EVERY_MIN == 0:
            later_min = SKY_EVERY_MIN // 4
            yield _Wanted("write-sky", minute, later_min=later_min, can_wait=True)
    turned = sorted(minute_of(day.sky, w.at) // SLOT_MIN * SLOT_MIN for w in work.walks)
    if turned:
        for minute in range(turned[0] - TURNS_BEFORE_MIN, turned[-1], TURNS_EVERY_MIN):
            yield _Wanted("call-turns", minute, can_wait=True)


def _of_vegetables(day: Day, work: Work, first: int) -> Iterator[_Wanted]:
    """Yield washing what is to be washed, an hour before its load or once the young are there."""
    washed = {d.id for d in day.event.dishes if any(_is_washed(i.food) for i in d.ingredients)}
    loads = [j for j in work.jobs if j.kind == "load"]
    minutes = set()
    for job in loads:
        if washed.intersection(dish_id_of(p) for p in job.placement_ids):
            loaded = minute_of(day.sky, job.at)
            begins = max(loaded - WASH_BEFORE_MIN, ceil_to_slot(first))
            if begins + MINUTES["wash-vegetables"] <= loaded:
                minutes.add(begins)
    for minute in sorted(minutes):
        yield _Wanted("wash-vegetables", minute, later_min=0)


def _is_washed(food: str) -> bool:
    known = foods().get(food)
    return known is not None and known.washed


def _of_meal(day: Day, meal: Meal) -> list[_Wanted]:
    start, end = minute_at(day, meal.start), minute_at(day, meal.end)
    table_min = TABLE_BEFORE_MIN - MINUTES["set-table"]
    return [
        _Wanted("set-table", max(0, start - TABLE_BEFORE_MIN), meal.id, later_min=table_min),
        _Wanted("read-board", max(0, start - BOARD_BEFORE_MIN), meal.id),
        _Wanted("write-temperatures", start, meal.id),
        _Wanted("carry-plates", start + MINUTES["write-temperatures"], meal.id),
        _Wanted("wash-up", end, meal.id),
    ]


def _is_past(day: Day, job: Job) -> bool:
    return day.replan is not None and minute_of(day.sky, job.at) <= day.replan.minute


def free_slots(day: Day, people: list[Person], work: Work) -> dict[str, set[int]]:
    """Return the slots in which each has nothing to do."""
    free = {p.id: {s for s, is_free in enumerate(p.free) if is_free} for p in people}
    busy = [(h, j.at, j.minutes) for j in work.jobs for h in j.helper_ids]
    busy += [(w.helper_id, w.at, w.minutes) for w in work.walks]
    for helper_id, at, minutes in busy:
        if helper_id in free:
            free[helper_id] -= slots_of(day, at, minutes)
    return free


def slots_of(day: Day, at: datetime, minutes: int) -> set[int]:
    """Return the slots that some work takes."""
    start = minute_of(day.sky, at)
    return set(range(start // SLOT_MIN, -(-(start + minutes) // SLOT_MIN)))


def _is_spared(
    adult: Person, adults: list[Person], free: dict[str, set[int]], mirrors_on_sun: set[int]
) -> bool:
    """Return whether, while mirrors are on the sun, another is free who may work them."""
    if "mirrors" not in adult.abilities or not mirrors_on_sun:
        return True
    return any(
        a is not adult and "mirrors" in a.abilities and mirrors_on_sun <= free[a.id] for a in adults
    )


def _lengths_min(kind: JobKind) -> range:
    """Return how long a job may take, best first: visitors are greeted as they come, if briefly."""
    full = MINUTES[kind]
    return range(full, (GREET_LEAST_MIN if kind == "greet" else full) - 1, -SLOT_MIN)


def _job(
    day: Day, wanted: _Wanted, slot: int, minutes: int, adult: Person, group: list[Person]
) -> Job:
    minute = slot * SLOT_MIN
    meal = f"-{wanted.meal_id}" if wanted.meal_id else ""
    return Job(
        id=f"{wanted.kind}{meal}-{minute // 60:02d}{minute % 60:02d}",
        kind=wanted.kind,
        at=at_minute(day.sky, minute),
        minutes=minutes,
        helper_ids=(*(p.id for p in group), adult.id),
        meal_id=wanted.meal_id,
    )
