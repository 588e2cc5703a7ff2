"""The planner's table, quick enough to follow typing: each dish's minutes in each cooker.

No timetable is made: dishes do not compete here. The start shown is the latest on a half-hour
grain from which the dish is ready when its meal begins.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np
from pydantic import BaseModel, ConfigDict

from events.model import Dish, Event
from solver.scheduling.batches import ceil_to_slot, clock, hours, may_cook, pots_for, split
from solver.simulation.durations import LATER_MIN, Day, body_start_c, estimate, make_day
from solver.simulation.query import DurationEstimate, DurationQuery
from solver.solar.irradiance import at_minute
from solver.thermal.energy_balance import Load

GRAIN_MIN = 30
CUTS_MOST = 4
OVEN_EMPTY_MIN = 90  # how long an oven is taken to stand empty before baked goods


class Cell(BaseModel):
    """One dish in one cooker: minutes, or why not."""

    model_config = ConfigDict(frozen=True)

    dish_id: str
    cooker_id: str
    batches: int
    expected_min: int | None
    fast_min: int | None
    cautious_min: int | None
    load_by: datetime | None
    late: bool  # it gets done, but not by its meal
    reason: str


def table(event: Event, dishes: Sequence[Dish] | None = None) -> list[Cell]:
    """Return the minutes of every dish (or of some) in every cooker but insulated boxes."""
    day = make_day(event)
    cells: list[Cell] = []
    asks: list[tuple[Dish, int, DurationQuery]] = []
    for dish in dishes if dishes is not None else event.dishes:
        for cooker in event.cookers:
            if cooker.keeps_heat_only:
                continue
            asked = _ask(day, dish, cooker.id)
            if isinstance(asked, str):
                cells.append(_no(dish, cooker.id, asked))
            else:
                asks.append((dish, *asked))
    told = estimate(day, [a for _, _, a in asks])
    for (dish, number, _), one in zip(asks, told, strict=True):
        cells.append(_cell(day, dish, number, one))
    order = {c.id: n for n, c in enumerate(event.cookers)}
    return sorted(cells, key=lambda c: order[c.cooker_id])


def _no(dish: Dish, cooker_id: str, why: str) -> Cell:
    return Cell(
        dish_id=dish.id,
        cooker_id=cooker_id,
        batches=1,
        expected_min=None,
        fast_min=None,
        cautious_min=None,
        load_by=None,
        late=False,
        reason=why,
    )


def _ask(day: Day, dish: Dish, cooker_id: str) -> tuple[int, DurationQuery] | str:
    event = day.event
    cooker = event.cooker(cooker_id)
    why = may_cook(cooker, dish)
    if why is not None:
        return why
    for number in range(1, min(dish.batches_max, CUTS_MOST, dish.portions) + 1):
        batch = split(day, dish, number)[0]
        pots = pots_for(event, cooker, dish, batch.litres)
        if pots:
            break
    else:
        return "no pot that holds it fits"
    empty = max(dish.preheat_min, OVEN_EMPTY_MIN if dish.needs_body_c else 0)
    load = Load((dish,), (batch.mass_kg,), (pots[0],), empty)
    opens, closes = hours(day, cooker)
    last = batch.serve_minute
    starts = np.arange(ceil_to_slot(opens + empty), min(last, closes), GRAIN_MIN, dtype=np.int64)
    if cooker.on_sun:
        lit = day.on_sun[cooker.id]
        starts = starts[lit[starts] & lit[starts - empty]] if starts.size else starts
    if not starts.size:
        return "no usable sun before the meal"
    if dish.needs_body_c is not None:
        body = body_start_c(day, cooker, load, starts)
        if not (body >= dish.needs_body_c).any():
            return f"its oven gets to {body.max():.0f} °C; this needs {dish.needs_body_c:.0f} °C"
        starts = starts[body >= dish.needs_body_c]
    return number, DurationQuery(cooker, load, starts, last + LATER_MIN)


def _cell(day: Day, dish: Dish, number: int, told: DurationEstimate) -> Cell:
    ready = told.ask.starts + told.expected_min[0]
    serve = told.ask.until - LATER_MIN
    good = np.flatnonzero(ready + dish.rest_min <= serve)
    if not np.isfinite(ready).any():
        return _no(dish, told.ask.cooker.id, f"{told.peak_c.max():.0f} °C at most")
    k = int(good.max()) if good.size else int(np.argmin(ready))

    def whole(value: float) -> int | None:
        return int(np.ceil(value)) if np.isfinite(value) else None

    return Cell(
        dish_id=dish.id,
        cooker_id=told.ask.cooker.id,
        batches=number,
        expected_min=whole(float(told.expected_min[0, k])),
        fast_min=whole(float(told.fast_min[0, k])),
        cautious_min=whole(float(told.cautious_min[0, k])),
        load_by=at_minute(day.sky, int(told.ask.starts[k])),
        late=not good.size,
        reason=""
        if good.size
        else f"done at {clock(day, ceil_to_slot(float(ready[k])))}, too late",
    )
