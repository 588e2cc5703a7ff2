"""The year at a site: which dishes the sun can do by which hour, week by week, on a clear day.

Feasible means that some cooker gets some batch size done in time from some start; no timetable
is made, so dishes do not compete for cookers here.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, time, timedelta

import numpy as np
from pydantic import BaseModel, ConfigDict

from events.model import Dish, Event, Weather, changed
from solver.scheduling.batches import may_cook, minute_at, pools, pots_for, split
from solver.simulation.durations import Day, _lanes, body_start_c, join, make_day, run
from solver.simulation.query import DurationQuery
from solver.thermal.energy_balance import Array, Ensemble, Load

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
        clear = changed(event, date=monday, weather=Weather())
        day = make_day(clear)
        weeks.append(
            Week(
                monday=monday,
                ready_by=_earliest(day),
                sunlit_pct=shares[monday.month - 1] if shares else None,
            )
        )
        tell((n + 1) / 52)
    return Season(title=event.title, weeks=tuple(weeks))


def _earliest(day: Day) -> dict[str, float | None]:
    """Return each dish's earliest hour; all dishes are walked side by side, cut by cut."""
    event = day.event
    best = {d.id: np.inf for d in event.dishes}
    heads = pools(day)
    opens = minute_at(day, event.site.opens)
    for number in range(1, 5):
        owners: list[Dish] = []
        parts: list[Ensemble] = []
        until: list[Array] = []
        for dish in event.dishes:
            if np.isfinite(best[dish.id]) or number > dish.batches_max:
                continue
            batch = split(day, dish, number)[0]
            for cooker in event.cookers:
                if not cooker.on_sun or cooker.id not in heads:
                    continue
                pots = pots_for(event, cooker, dish, batch.litres)
                if may_cook(cooker, dish) is not None or not pots:
                    continue
                before = max(dish.preheat_min, 90 if dish.needs_body_c else 0)
                load = Load((dish,), (batch.mass_kg,), (pots[0],), before)
                lit = np.flatnonzero(day.on_sun[cooker.id])
                starts = lit[(lit >= opens + before) & (lit % 30 == 0)]
                starts = starts[day.on_sun[cooker.id][starts - before]]
                if dish.needs_body_c is not None and starts.size:
                    starts = starts[body_start_c(day, cooker, load, starts) >= dish.needs_body_c]
                if not starts.size:
                    continue
                ask = DurationQuery(cooker, load, starts, int(lit.max()))
                parts.append(_lanes(day, ask, starts, row=day.rows[cooker.id], strength=1.0))
                until.append(np.full(starts.size, float(lit.max())))
                owners.append(dish)
        if not parts:
            continue
        state = join(parts)
        begun = state.minute.copy()
        done = run(state, day.forcing, until=np.concatenate(until), boil_c=day.boil_c).done_min[0]
        ready, at = begun + done, 0
        for dish, part in zip(owners, until, strict=True):
            cut = ready[at : at + part.size]
            best[dish.id] = min(best[dish.id], float(cut.min()) + dish.rest_min)
            at += part.size
    noon = minute_at(day, time(12))
    return {d: round(12 + (m - noon) / 60, 2) if np.isfinite(m) else None for d, m in best.items()}
