"""The year at a site: by which hour the sun has each dish ready, and how likely in time.

Feasible means that some cooker gets some batch size done in time from some start; no timetable
is made, so dishes do not compete for cookers here. The hours are a clear day's. A chance is the
share of the month's days with no more cloud than everything can bear.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Literal

import numpy as np
from pydantic import BaseModel, ConfigDict

from events.food_rules import rules_of
from events.model import Dish, Event
from events.site import Weather
from events.table import changed
from solver.plan import MealChance
from solver.policy import SKIES_MOST, oven_floor_c
from solver.scheduling.batches import may_cook, pots_for, split
from solver.scheduling.starts import possible_starts, usual_empty_min
from solver.simulation.clock import minute_at
from solver.simulation.day import Day, body_start_c, catch_of, loaded, make_day
from solver.simulation.query import DurationQuery
from solver.simulation.run import join, run
from solver.solar.cloud_climate import CloudClimate, climate_of, cloud_of_days, share_under
from solver.solar.irradiance import cloudy_w_m2
from solver.thermal.energy_balance import Array, Forcing, Load

GRAIN_MIN = 30
SPLITS_MOST = 4
WHOLE_YEAR = range(52)
LEVELS = (0.0, 0.3, 0.6, 0.9)  # of cloud, at which each day is tried
SHOWN = 5  # chances are told to the nearest five


class Week(BaseModel):
    """One week: for each dish the earliest hour by which the sun has it ready, and the chances."""

    model_config = ConfigDict(frozen=True)

    monday: date
    day: date  # of the event's own weekday: where it could be moved to
    ready_by: dict[str, float | None]  # local hour; None: not by the sun that day
    most_cloud: dict[str, float]  # by dish, 0 to 1: under more it is late; -1: late on a clear day
    meals: tuple[MealChance, ...]  # every dish of a meal in time, but those that never are
    all_of_100: int  # every dish of the day
    sunlit_pct: int  # of daylight in that month


class Season(BaseModel):
    """A year of weeks for an event's dishes and cookers."""

    model_config = ConfigDict(frozen=True)

    title: str
    sky: Literal["clear"] = "clear"
    sunlit_source: Literal["given", "typical"]  # the site's own figures, or its latitude's
    sunlit_pct: tuple[int, ...]  # by month
    never: tuple[str, ...]  # dishes that the sun has in time in none of these weeks
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
    climate = climate_of(event.site)
    start = date.fromisocalendar(year, 1, 1)
    found: dict[date, dict[str, _Found]] = {}
    for done, week in enumerate(weeks, 1):
        monday = start + timedelta(weeks=week)
        found[monday] = _found(make_day(changed(event, date=monday, weather=Weather())))
        report_progress(done / len(weeks))
    never = {d.id for d in event.dishes if all(f[d.id].most_cloud < 0 for f in found.values())}
    dishes = [d for d in event.dishes if d.id not in never]
    return Season(
        title=event.title,
        sunlit_source=climate.source,
        sunlit_pct=climate.sunlit_pct,
        never=tuple(sorted(never)),
        weeks=tuple(_week(event, dishes, monday, f, climate) for monday, f in found.items()),
    )


def usual_of_100(event: Event) -> int | None:
    """Return how likely all is in time under the month's cloud, as the year has it for that week.

    None where some dish never is in that week: the sun alone does not do the day.
    """
    year, week, _ = event.date.isocalendar()
    found = season(event, year, weeks=(week - 1,))
    return None if found.never else found.weeks[0].all_of_100


def _week(
    event: Event,
    dishes: Sequence[Dish],
    monday: date,
    found: Mapping[str, _Found],
    climate: CloudClimate,
) -> Week:
    sunlit_pct = climate.sunlit_pct[monday.month - 1]
    days = cloud_of_days(sunlit_pct)

    def of_100(some: Sequence[Dish]) -> int:
        most = min((found[d.id].most_cloud for d in some), default=-1.0)
        return min(SKIES_MOST, round(100 * share_under(days, most) / SHOWN) * SHOWN)

    meals = {m.id: [d for d in dishes if d.meal == m.id] for m in event.meals}
    return Week(
        monday=monday,
        day=monday + timedelta(days=event.date.weekday()),
        ready_by={name: f.ready_by for name, f in found.items()},
        most_cloud={name: round(f.most_cloud, 2) for name, f in found.items()},
        meals=tuple(MealChance(meal_id=m, of_100=of_100(ds)) for m, ds in meals.items() if ds),
        all_of_100=of_100(dishes),
        sunlit_pct=sunlit_pct,
    )


@dataclass(frozen=True)
class _Found:
    """Of a dish: its earliest local hour on a clear day, and the most cloud that it can bear."""

    ready_by: float | None
    most_cloud: float


def _found(day: Day) -> dict[str, _Found]:
    """Return what the sun can do for each dish; it is split further until a clear day is enough."""
    event, noon = day.event, minute_at(day, time(12))
    skies = _skies(day)
    serve = {d.id: minute_at(day, event.meal(d.meal).start) for d in event.dishes}
    earliest = {d.id: np.full(len(LEVELS), np.inf) for d in event.dishes}
    for number in range(1, SPLITS_MOST + 1):
        waiting = [
            d
            for d in event.dishes
            if earliest[d.id][0] > serve[d.id]
            and min(d.batches_least, SPLITS_MOST) <= number <= d.batches_max
        ]
        queries = [q for dish in waiting for q in _queries(day, dish, number)]
        for query, ready in zip(queries, _ready_minutes(skies, queries), strict=True):
            dish = query.load.dishes[0]
            best = ready.min(axis=1) + dish.rest_min
            earliest[dish.id] = np.minimum(earliest[dish.id], best)
    return {
        d.id: _Found(
            ready_by=round(12 + (float(earliest[d.id][0]) - noon) / 60, 2)
            if np.isfinite(earliest[d.id][0])
            else None,
            most_cloud=_most_cloud(earliest[d.id], serve[d.id]),
        )
        for d in event.dishes
    }


def _most_cloud(ready: Array, serve: int) -> float:
    """Return the most cloud under which a dish is in time, from its minutes at each level."""
    spare = serve - ready
    if spare[0] < 0:
        return -1.0
    for k in range(1, len(LEVELS)):
        if spare[k] < 0:
            part = spare[k - 1] / (spare[k - 1] - spare[k]) if np.isfinite(spare[k]) else 0.5
            return float(LEVELS[k - 1] + part * (LEVELS[k] - LEVELS[k - 1]))
    return 1.0


def _skies(day: Day) -> list[Day]:
    """Return the day under each level of cloud, the same from morning to evening."""
    catch = catch_of(day.event, day.sky)
    days = []
    for level in LEVELS:
        cloud = np.full((1, 1), level)
        beam, diffuse = cloudy_w_m2(day.event, day.sky, cloud, np.ones((1, 1)))
        sky = dataclasses.replace(day.sky, beam_w_m2=beam[0], diffuse_w_m2=diffuse[0])
        forcing = Forcing(catch.watts(sky), sky.air_c, sky.wind_m_s)
        days.append(dataclasses.replace(day, forcing=forcing))
    return days


def _queries(day: Day, dish: Dish, number: int) -> Iterator[DurationQuery]:
    """Yield one query for each sun cooker that may cook a dish, split into `number` batches."""
    batch = split(day, dish, number)[0]
    representatives = day.pools
    empties = sorted({dish.preheat_min, usual_empty_min(dish)})
    for cooker, empty_min in itertools.product(day.event.cookers, empties):
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


def _ready_minutes(skies: Sequence[Day], queries: Sequence[DurationQuery]) -> list[Array]:
    """Return the minute at which each query's load is done, by (level, start); inf if never."""
    if not queries:
        return []
    cookers = len(skies[0].event.cookers)
    states, warm = [], []
    for level, day in enumerate(skies):
        for q in queries:
            state = loaded(day, q.cooker, q.load, q.starts)
            floor_c = oven_floor_c(q.load.dishes[0])
            warm.append(state.body_c >= floor_c if floor_c is not None else state.body_c > -np.inf)
            state.row = state.row + level * cookers
            states.append(state)
    state = join(states)
    loaded_minute = state.minute.copy()
    until = np.concatenate([np.full(q.starts.size, float(q.until)) for q in queries] * len(skies))
    sky = skies[0].sky
    forcing = Forcing(np.concatenate([day.forcing.watts for day in skies]), sky.air_c, sky.wind_m_s)
    done_min = run(state, forcing, until=until, boil_c=skies[0].boil_c).done_min[0]
    ready = np.where(np.concatenate(warm), loaded_minute + done_min, np.inf)
    counts = [q.starts.size for q in queries] * len(skies)
    parts = np.split(ready, np.cumsum(counts)[:-1])
    return [np.asarray(parts[n :: len(queries)]) for n in range(len(queries))]
