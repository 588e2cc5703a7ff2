"""The planner's table, quick enough to follow typing: each dish's minutes in each cooker.

No timetable is made: dishes do not compete here. The start shown is the latest on the clock's half
hours from which the dish is ready when its meal begins. Where none is, it is looked at as a plan
looks at it: at a plan's own starts and preheats, cut smaller as long as that is too late.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from pydantic import BaseModel, ConfigDict

from events.food_rules import rules_of
from events.model import Cooker, Dish, Event
from solver.notices import Refusal
from solver.policy import PALE_FROM_C, oven_floor_c
from solver.scheduling.batches import Batch, may_cook, pots_for, split
from solver.scheduling.queries import queries_in, without_a_pot
from solver.scheduling.starts import possible_starts, usual_empty_min
from solver.simulation.clock import ceil_to_slot
from solver.simulation.day import Day, body_start_c, make_day
from solver.simulation.durations import LATER_MIN, estimate
from solver.simulation.query import DurationEstimate, DurationQuery
from solver.solar.irradiance import at_minute
from solver.thermal.energy_balance import Load

GRAIN_MIN = 30
SPLITS_MOST = 4
HARD = ("never-done", "oven-too-cool")  # what smaller parts or another preheat may lift


class Cell(BaseModel):
    """One dish in one cooker: minutes, or why not."""

    model_config = ConfigDict(frozen=True)

    dish_id: str
    cooker_id: str
    batches: int = 1
    expected_min: int | None = None
    fast_min: int | None = None
    cautious_min: int | None = None
    load_by: datetime | None = None
    done_at: datetime | None = None  # too late for its meal, when loaded at the best time
    pale_c: float | None = None  # its oven, where this is cooler than asked
    refusal: Refusal | None = None

    @property
    def late(self) -> bool:
        """Whether it gets done, but not by its meal."""
        return self.done_at is not None


@dataclass(frozen=True)
class Trial:
    """A dish in a cooker that may cook it: one of its equal batches, and what to estimate."""

    batch: Batch
    query: DurationQuery


def dish_matrix(
    event: Event, dishes: Sequence[Dish] | None = None, *, as_planned: bool = True
) -> list[Cell]:
    """Return the minutes of every dish (or of some) in every cooker but insulated boxes.

    Without `as_planned` at half hours and in the largest pots alone.
    """
    day = make_day(event)
    cells: list[Cell] = []
    trials: list[Trial] = []
    for dish in event.dishes if dishes is None else dishes:
        for cooker in (c for c in day.event.cookers if not c.keeps_heat_only):
            trial = _trial(day, dish, cooker)
            if isinstance(trial, Refusal):
                cells.append(Cell(dish_id=dish.id, cooker_id=cooker.id, refusal=trial))
            else:
                trials.append(trial)
    durations = estimate(day, [t.query for t in trials])
    cells += [_cell(day, t.batch, d) for t, d in zip(trials, durations, strict=True)]
    if as_planned:
        dish_of = {t.batch.dish.id: t.batch.dish for t in trials}
        cells = [
            _as_planned(day, dish_of[c.dish_id], c) if _is_hard(c) and c.dish_id in dish_of else c
            for c in cells
        ]
    order = {c.id: n for n, c in enumerate(event.cookers)}
    return sorted(cells, key=lambda c: order[c.cooker_id])


def _is_hard(cell: Cell) -> bool:
    return cell.late or (cell.refusal is not None and cell.refusal.kind in HARD)


def _as_planned(day: Day, dish: Dish, cell: Cell) -> Cell:
    """Return a cell as a plan has it: in the fewest parts that are in time, else in the most."""
    cooker = day.event.cooker(cell.cooker_id)
    found = cell
    for number in range(max(cell.batches, dish.batches_least), _parts_most(dish) + 1):
        batches = split(day, dish, number)
        pots = pots_for(day.event, cooker, dish, batches[0].litres)
        if not pots:
            continue
        reheat_c = rules_of(day.event).reheat_c
        load = Load((dish,), (batches[0].mass_kg,), (pots[0],), dish.preheat_min, reheat_c)
        queries = queries_in(day, cooker, load, batches)
        if isinstance(queries, Refusal):
            continue
        cells = [_cell(day, batches[0], d) for d in estimate(day, queries)]
        found = min(cells, key=_hardness)
        if not _is_hard(found):
            break
    return found


def _hardness(cell: Cell) -> tuple[bool, float]:
    return cell.expected_min is None, cell.done_at.timestamp() if cell.done_at else 0.0


def _parts_most(dish: Dish) -> int:
    return min(dish.batches_max, dish.portions)


def _trial(day: Day, dish: Dish, cooker: Cooker) -> Trial | Refusal:
    """Return a dish's largest batch that some pot in the cooker holds, and when it could start."""
    refusal = may_cook(cooker, dish)
    if refusal is not None:
        return refusal
    most = min(dish.batches_max, SPLITS_MOST, dish.portions)
    for number in range(min(dish.batches_least, most), most + 1):
        batch = split(day, dish, number)[0]
        pots = pots_for(day.event, cooker, dish, batch.litres)
        if pots:
            break
    else:
        return without_a_pot(day, cooker, dish, batch.litres)
    reheat_c = rules_of(day.event).reheat_c
    load = Load((dish,), (batch.mass_kg,), (pots[0],), usual_empty_min(dish), reheat_c)
    query = _query(day, cooker, load, batch.serve_minute)
    return query if isinstance(query, Refusal) else Trial(batch, query)


def _query(day: Day, cooker: Cooker, load: Load, last: int) -> DurationQuery | Refusal:
    starts = possible_starts(
        day, cooker, empty_min=load.preheat_min, until=last, grain_min=GRAIN_MIN
    )
    if not starts.size:
        return Refusal(kind="no-sun")
    needed_c, floor_c = load.dishes[0].needs_body_c, oven_floor_c(load.dishes[0])
    if needed_c is None or floor_c is None:
        return DurationQuery(cooker, load, starts, last + LATER_MIN)
    body_c = body_start_c(day, cooker, load, starts)
    bakes = body_c >= floor_c
    if not bakes.any():
        figures = {
            "reached_c": round(float(body_c.max())),
            "empty_min": load.preheat_min,
            "needed_c": needed_c,
        }
        return Refusal(kind="oven-too-cool", figures=figures)
    return DurationQuery(cooker, load, starts[bakes], last + LATER_MIN, oven_c=body_c[bakes])


def _cell(day: Day, batch: Batch, durations: DurationEstimate) -> Cell:
    query, expected_min = durations.query, durations.expected_min[0]
    ready = query.starts + expected_min
    in_time = np.flatnonzero(ready + batch.dish.rest_min <= batch.serve_minute)
    if not np.isfinite(ready).any():
        refusal = _never_done(day, durations)
        return Cell(dish_id=batch.dish.id, cooker_id=query.cooker.id, refusal=refusal)
    best = int(in_time.max()) if in_time.size else int(np.argmin(ready))
    return Cell(
        dish_id=batch.dish.id,
        cooker_id=query.cooker.id,
        batches=batch.of,
        expected_min=_whole(expected_min[best]),
        fast_min=_whole(durations.fast_min[0, best]),
        cautious_min=_whole(durations.cautious_min[0, best]),
        load_by=at_minute(day.sky, int(query.starts[best])),
        done_at=None if in_time.size else at_minute(day.sky, ceil_to_slot(float(ready[best]))),
        pale_c=_pale_c(query, best),
    )


def _pale_c(query: DurationQuery, start: int) -> float | None:
    """Return the oven's temperature from a start, where a loaf would come out paler."""
    needed_c = query.load.dishes[0].needs_body_c
    if query.oven_c is None or needed_c is None:
        return None
    oven_c = float(query.oven_c[start])
    return round(oven_c) if oven_c < needed_c - PALE_FROM_C else None


def _whole(minutes: float) -> int | None:
    return int(np.ceil(minutes)) if np.isfinite(minutes) else None


def _never_done(day: Day, durations: DurationEstimate) -> Refusal:
    return Refusal(
        kind="never-done",
        figures={"reached_c": round(float(durations.peak_c.max()))},
        instants={"until_at": at_minute(day.sky, durations.query.until)},
    )
