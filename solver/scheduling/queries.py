"""Which starts of a load are worth an estimate: hours, sun, preheating, the organiser's wishes."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

import numpy as np

from events.food_rules import rules_of
from events.model import Cooker, Dish
from solver.notices import Refusal
from solver.policy import PREHEAT_LONGEST_MIN, SLOT_MIN, oven_floor_c
from solver.scheduling.batches import (
    Batches,
    may_cook,
    pots_for,
    unwanted,
    usable_members,
)
from solver.scheduling.starts import possible_starts
from solver.simulation.clock import ceil_to_slot, minute_at, usable_hours
from solver.simulation.day import Day, body_start_c
from solver.simulation.durations import LATER_MIN
from solver.simulation.query import DurationQuery
from solver.thermal.energy_balance import Ints, Load

PREHEAT_STEP_MIN = 15
WARM_MIN = 20  # a pot out of a broken cooker goes into another this soon, or is cold again


def start_step_min(day: Day) -> int:
    """Return the grain of starts: coarser for large events."""
    size = len(day.event.dishes) * len(day.event.cookers)
    return SLOT_MIN if size <= 60 else 2 * SLOT_MIN if size <= 200 else 3 * SLOT_MIN


def starts_of(day: Day, cooker: Cooker, load: Load, last: int, grain_min: int) -> Ints:
    """Return the minutes of the day before `last` at which a load could go into a cooker."""
    empty_min = ceil_to_slot(load.preheat_min) if cooker.on_sun else 0
    starts = possible_starts(day, cooker, empty_min=empty_min, until=last, grain_min=grain_min)
    held_at = load.dishes[0].load_at
    if held_at is not None and len(load.dishes) == 1:
        starts = starts[starts == minute_at(day, held_at)]
    heating = day.replan.preheating.get(cooker.id) if day.replan else None
    opens, _ = usable_hours(day, cooker)
    if heating is not None and heating.for_min == empty_min and heating.end > opens:
        starts = np.union1d(starts, [heating.end])  # it stands empty on the sun already
    return starts


def queries_of(
    day: Day, batches: Batches, rivals: Mapping[str, int]
) -> tuple[list[DurationQuery], dict[str, Refusal]]:
    """Return what to estimate for one of a dish's equal batches, and the cookers that refuse it.

    `rivals` counts the batches that would best go into each kind of pot: where these are more
    than the pots, the next larger pot is tried too.
    """
    dish = batches[0].dish
    queries: list[DurationQuery] = []
    refusals: dict[str, Refusal] = {}
    for cooker in (c for c in day.event.cookers if c.id in day.pools):
        refusal = _never(day, cooker, batches)
        if refusal is not None:
            refusals[cooker.id] = refusal
            continue
        pots = pots_for(day.event, cooker, dish, batches[0].litres)
        scarce = rivals[pots[0].id] > pots[0].count
        for pot in pots[: 2 if scarce else 1]:
            reheat_c = rules_of(day.event).reheat_c
            load = Load((dish,), (batches[0].mass_kg,), (pot,), dish.preheat_min, reheat_c)
            asked = queries_in(day, cooker, load, batches)
            if isinstance(asked, Refusal):
                refusals[cooker.id] = asked
            else:
                queries += asked
    return queries, refusals


def _never(day: Day, cooker: Cooker, batches: Batches) -> Refusal | None:
    """Return why a cooker can't take a batch at any time, or None."""
    dish, litres = batches[0].dish, batches[0].litres
    if not usable_members(day, cooker.id):
        return Refusal(kind="out-of-action")
    refusal = may_cook(cooker, dish) or unwanted(day, cooker, dish)
    if refusal is None and not pots_for(day.event, cooker, dish, litres):
        return without_a_pot(day, cooker, dish, litres)
    return refusal


def without_a_pot(day: Day, cooker: Cooker, dish: Dish, litres: float) -> Refusal:
    """Return why no pot holds a batch: its cooker is too small for it, or the pots are."""
    batch_litres = round(litres, 1)
    if litres > cooker.litres + 1e-9:
        figures = {"batch_litres": batch_litres, "cooker_litres": cooker.litres}
        return Refusal(kind="no-pot", figures=figures)
    suited = [p for p in day.event.pots if cooker.kind in p.fits and dish.shape in p.holds]
    if not suited:
        return Refusal(kind="no-pot-for-it")
    figures = {"batch_litres": batch_litres, "pot_litres": max(p.litres for p in suited)}
    return Refusal(kind="pots-too-small", figures=figures)


def queries_in(
    day: Day, cooker: Cooker, load: Load, batches: Batches
) -> list[DurationQuery] | Refusal:
    """Return what to estimate for a lone pot in one cooker: of what is baked, after some preheats.

    Or why there is no start.
    """
    dish, last = load.dishes[0], max(b.serve_minute for b in batches)
    if dish.needs_body_c is not None:
        return _preheated(day, cooker, load, batches, last)
    starts = starts_of(day, cooker, load, last, start_step_min(day))
    if day.replan is not None and batches[0].id in day.replan.warm_c:
        starts = starts[starts <= day.replan.minute + WARM_MIN]  # it cools meanwhile
    if not len(starts):
        return Refusal(kind="no-sun")
    return [DurationQuery(cooker, load, starts, last + LATER_MIN, _last_plate(batches))]


def _last_plate(batches: Batches) -> int:
    return max(b.serve_end for b in batches)


def _preheated(
    day: Day, cooker: Cooker, load: Load, batches: Batches, last: int
) -> list[DurationQuery] | Refusal:
    """Return queries with the shortest preheat after which a dish bakes, and as hot as it asks.

    Between the two the oven is cooler than asked: it bakes slower and paler.
    """
    dish = load.dishes[0]
    floor_c, needed_c, reached_c = oven_floor_c(dish) or 0.0, dish.needs_body_c or 0.0, -np.inf
    preheats = [*range(ceil_to_slot(dish.preheat_min), PREHEAT_LONGEST_MIN + 1, PREHEAT_STEP_MIN)]
    heating = day.replan.preheating.get(cooker.id) if day.replan else None
    queries: list[DurationQuery] = []
    for preheat_min in preheats if heating is None else [heating.for_min, *preheats]:
        longer = dataclasses.replace(load, preheat_min=preheat_min)
        starts = starts_of(day, cooker, longer, last, start_step_min(day))
        if not len(starts):
            continue
        body_c = body_start_c(day, cooker, longer, starts)
        reached_c = max(reached_c, float(body_c.max()))
        bakes = body_c >= floor_c
        until, eaten = last + LATER_MIN, _last_plate(batches)
        if bakes.any():
            queries.append(
                DurationQuery(cooker, longer, starts[bakes], until, eaten, body_c[bakes])
            )
        # The hour before the meal is left to the baking: a start later than that is no use.
        if (body_c[starts <= last - LATER_MIN] >= needed_c).any():
            break
    if queries:
        return [queries[k] for k in sorted({0, len(queries) // 2, len(queries) - 1})]
    if not np.isfinite(reached_c):
        return Refusal(kind="no-sun")
    figures = {
        "reached_c": round(reached_c),
        "empty_min": PREHEAT_LONGEST_MIN,
        "needed_c": needed_c,
    }
    return Refusal(kind="oven-too-cool", figures=figures)
