"""The year at a site: which dishes the sun can do by which hour, week by week, on a clear day.

Feasible means that some cooker gets some batch size done in time from some start; no timetable
is made, so dishes do not compete for cookers here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, time, timedelta
from typing import Literal

import numpy as np
from pydantic import BaseModel, ConfigDict

from events.food_rules import rules_of
from events.model import Dish, Event
from events.site import Weather
from events.table import changed
from solver.policy import oven_floor_c
from solver.scheduling.batches import may_cook, pots_for, split
from solver.scheduling.starts import possible_starts, usual_empty_min
from solver.simulation.clock import minute_at
from solver.simulation.day import Day, body_start_c, loaded, make_day
from solver.simulation.query import DurationQuery
from solver.simulation.run import join, run
from solver.thermal.energy_balance import Array, Load

GRAIN_MIN = 30
SPLITS_MOST = 4
WHOLE_YEAR = range(52)


class Week(BaseModel):
    """One week: for each dish the earliest hour of the day by which the sun has it ready."""

    model_config = ConfigDict(frozen=True)

    monday: date
    ready_by: dict[str, float | None]  # local hour; None: not by the sun that day
    sunlit_pct: int | None = None  # of daylight in that month, where the site has it


class Season(BaseModel):
    """A year of weeks for an event's dishes and cookers."""

    model_config = ConfigDict(frozen=True)

    title: str
    sky: Literal["clear"] = "clear"
    weeks: tuple[Week, ...]


def season(
    event: Event,
    year: int,
    *,
    weeks: Sequence[int] = WHOLE_YEAR,
    report_progress: Callable[[float], None] = lambda _: None,
) -> Season:
    """Return the map of a year, or of some weeks of it (0 is the first).

    `report_progress` is called with how far it is, 0 to 1.
    """
    maps = []
    shares = event.site.sunlit_pct
    start = date.fromisocalendar(year, 1, 1)
    for done, week in enumerate(weeks, 1):
        monday = start + timedelta(weeks=week)
        day = make_day(changed(event, date=monday, weather=Weather()))
        sunlit_pct = shares[monday.month - 1] if shares else None
        maps.append(Week(monday=monday, ready_by=_ready_by(day), sunlit_pct=sunlit_pct))
        report_progress(done / len(weeks))
    return Season(title=event.title, weeks=tuple(maps))


def _ready_by(day: Day) -> dict[str, float | None]:
    """Return each dish's earliest local hour; a dish is split further until the sun can do it."""
    earliest = {d.id: np.inf for d in day.event.dishes}
    for number in range(1, SPLITS_MOST + 1):
        waiting = [
            d
            for d in day.event.dishes
            if not np.isfinite(earliest[d.id]) and number <= d.batches_max
        ]
        queries = [q for dish in waiting for q in _queries(day, dish, number)]
        for query, ready in zip(queries, _ready_minutes(day, queries), strict=True):
            dish = query.load.dishes[0]
            earliest[dish.id] = min(earliest[dish.id], float(ready.min()) + dish.rest_min)
    noon = minute_at(day, time(12))
    return {
        dish_id: round(12 + (minute - noon) / 60, 2) if np.isfinite(minute) else None
        for dish_id, minute in earliest.items()
    }


def _queries(day: Day, dish: Dish, number: int) -> Iterator[DurationQuery]:
    """Yield one query for each sun cooker that may cook a dish, split into `number` batches."""
    batch = split(day, dish, number)[0]
    representatives = day.pools
    empty_min = usual_empty_min(dish)
    for cooker in day.event.cookers:
        pots = pots_for(day.event, cooker, dish, batch.litres)
        if cooker.id not in representatives or may_cook(cooker, dish) is not None or not pots:
            continue
        lit = np.flatnonzero(day.on_sun[cooker.id]) if cooker.on_sun else np.asarray([])
        if not lit.size:
            continue
        last = int(lit.max())
        starts = possible_starts(day, cooker, empty_min=empty_min, until=last, grain_min=GRAIN_MIN)
        load = Load((dish,), (batch.mass_kg,), (pots[0],), empty_min, rules_of(day.event).reheat_c)
        floor_c = oven_floor_c(dish)
        if floor_c is not None and starts.size:
            starts = starts[body_start_c(day, cooker, load, starts) >= floor_c]
        if starts.size:
            yield DurationQuery(cooker, load, starts, last)


def _ready_minutes(day: Day, queries: Sequence[DurationQuery]) -> list[Array]:
    """Return the minute of the day at which each query's load is done, by start; inf if never."""
    if not queries:
        return []
    state = join([loaded(day, q.cooker, q.load, q.starts) for q in queries])
    loaded_minute = state.minute.copy()
    until = np.concatenate([np.full(q.starts.size, float(q.until)) for q in queries])
    done_min = run(state, day.forcing, until=until, boil_c=day.boil_c).done_min[0]
    return np.split(loaded_minute + done_min, np.cumsum([q.starts.size for q in queries])[:-1])
