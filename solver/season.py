"""The year at a site: which dishes the sun can do by which hour, week by week, on a clear day.

Feasible means that some cooker gets some batch size done in time from some start; no timetable
is made, so dishes do not compete for cookers here.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, time, timedelta

import numpy as np
from pydantic import BaseModel, ConfigDict

from events.model import Event, Weather
from solver.batches import may_cook, minute_at, pools, pots_for, split
from solver.cooker import Load
from solver.estimate import SUN_KINDS, Day, body_start_c, expected_done, make_day

HOURS = tuple(range(11, 20))


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
    sky: str = "clear"
    weeks: tuple[Week, ...]


def season(event: Event, year: int, tell: Callable[[float], None] = lambda _: None) -> Season:
    """Return the year's map; `tell` hears how far it is, 0 to 1."""
    weeks = []
    shares = event.site.sunlit_pct
    start = date.fromisocalendar(year, 1, 1)
    for n in range(52):
        monday = start + timedelta(weeks=n)
        clear = event.model_copy(update={"date": monday, "weather": Weather()})
        day = make_day(clear)
        weeks.append(
            Week(
                monday=monday,
                ready_by={d.id: _earliest(day, d.id) for d in event.dishes},
                sunlit_pct=shares[monday.month - 1] if shares else None,
            )
        )
        tell((n + 1) / 52)
    return Season(title=event.title, weeks=tuple(weeks))


def _earliest(day: Day, dish_id: str) -> float | None:
    event = day.event
    dish = next(d for d in event.dishes if d.id == dish_id)
    best = np.inf
    for number in range(1, min(dish.batches_max, 4) + 1):
        batch = split(day, dish, number)[0]
        for cooker in event.cookers:
            if cooker.kind not in SUN_KINDS or cooker.id not in pools(day):
                continue
            pots = pots_for(event, cooker, dish, batch.litres)
            if may_cook(cooker, dish) is not None or not pots:
                continue
            before = max(dish.preheat_min, 90 if dish.needs_body_c else 0)
            load = Load((dish,), (batch.mass_kg,), (pots[0],), before)
            lit = np.flatnonzero(day.on_sun[cooker.id])
            opens = minute_at(day, event.site.opens)
            starts = lit[(lit >= opens + before) & (lit % 30 == 0)]
            starts = starts[day.on_sun[cooker.id][starts - before]]
            if dish.needs_body_c is not None and starts.size:
                starts = starts[body_start_c(day, cooker, load, starts) >= dish.needs_body_c]
            if not starts.size:
                continue
            done = expected_done(day, cooker, load, starts, until=int(lit.max()))
            best = min(best, float(np.min(starts + done + dish.rest_min)))
        if np.isfinite(best):
            break
    noon = minute_at(day, time(12))
    return round(12 + (best - noon) / 60, 2) if np.isfinite(best) else None
