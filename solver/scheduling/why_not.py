"""Why no start of a lone pot in one cooker comes out as promised."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from events.food_rules import clock_limit_min
from solver.notices import Refusal
from solver.policy import HOLD_SPARE_K
from solver.scheduling.batches import Batches
from solver.scheduling.timed_load import (
    TimedLoad,
    in_time,
    last_plate_c,
    latest_lift,
    loads_in_time,
    warm_till_eaten_min,
)
from solver.simulation.clock import ceil_to_slot, usable_hours
from solver.simulation.day import Day
from solver.simulation.durations import LATER_MIN
from solver.simulation.holding import hot_holding_c
from solver.simulation.query import DurationEstimate
from solver.solar.irradiance import at_minute


def why_not(day: Day, batches: Batches, durations: DurationEstimate) -> Refusal:
    """Return why no start of a lone pot in one cooker comes out as promised."""
    query, dish = durations.query, batches[0].dish
    ready, serve = query.starts + durations.expected_min[0], query.until - LATER_MIN
    if not np.isfinite(ready).any():
        reached_c = float(round(float(durations.peak_c.max())))
        until_at = at_minute(day.sky, query.until)
        return Refusal(
            kind="never-done", figures={"reached_c": reached_c}, instants={"until_at": until_at}
        )
    best = int(np.argmin(ready))
    if ready[best] + dish.rest_min > serve:
        instants = {
            "loaded_at": at_minute(day.sky, int(query.starts[best])),
            "done_at": at_minute(day.sky, ceil_to_slot(float(ready[best]))),
            "meal_at": at_minute(day.sky, serve),
            "first_at": at_minute(day.sky, int(query.starts[0])),
        }
        if query.load.preheat_min:
            empty_from = int(query.starts[0]) - ceil_to_slot(query.load.preheat_min)
            instants["heating_from_at"] = at_minute(day.sky, empty_from)
        return Refusal(kind="too-late", figures={"rest_min": dish.rest_min}, instants=instants)
    loads = loads_in_time(day, batches, durations)
    return _why_not_kept(day, loads) if loads else _why_not_fresh(day, batches, durations)


def nearest(known: Refusal | None, other: Refusal) -> Refusal:
    """Return the refusal of two of one cooker in which a dish comes nearest to its meal."""
    if known is None or other.kind != "too-late":
        return known or other
    is_nearer = known.kind == "never-done" or (
        known.kind == "too-late" and other.instants["done_at"] < known.instants["done_at"]
    )
    return other if is_nearer else known


def _why_not_fresh(day: Day, batches: Batches, durations: DurationEstimate) -> Refusal:
    """Return why what is ready in time is not good: too long warm before, or too long held."""
    dish, clock_min = batches[0].dish, durations.clock_min
    no_clock = np.full_like(clock_min, -np.inf)
    fresh = in_time(day, batches, durations.query.starts, durations.expected_min, no_clock)
    if not fresh.any():
        return Refusal(kind="held-too-long", figures={"limit_min": dish.holding_max_min})
    warm_min = round(float(clock_min[0][fresh].min()) + day.spent(batches[0].id))
    limit_min = clock_limit_min(day.event, dish)
    return Refusal(kind="too-long-warm", figures={"warm_min": warm_min, "limit_min": limit_min})


def _why_not_kept(day: Day, loads: Sequence[TimedLoad]) -> Refusal:
    """Return why no load that is ready in time can be lifted, and good to its last plate."""
    cooker, dish = loads[0].cooker, loads[0].batches[0].dish
    lifted = [(load, lift) for load in loads for lift in [latest_lift(day, load)] if lift]
    calm = [(load, lift) for load, lift in lifted if not _is_windy(day, load, lift)]
    if not lifted:
        _, closes = usable_hours(day, cooker)
        done = min(max(load.done) for load in loads)
        instants = {"done_at": at_minute(day.sky, done), "closes_at": at_minute(day.sky, closes)}
        return Refusal(kind="closes-first", instants=instants)
    if calm and dish.serve_hot:
        # Rounded down: a figure that looks like the limit must not be refused for it.
        reached_c = float(math.floor(max(last_plate_c(day, load, lift) for load, lift in calm)))
        limit_c = hot_holding_c(day, dish) + HOLD_SPARE_K
        return Refusal(kind="goes-cold", figures={"reached_c": reached_c, "limit_c": limit_c})
    if calm and dish.hazardous:
        warm_min = round(min(warm_till_eaten_min(day, load, lift) for load, lift in calm))
        limit_min = clock_limit_min(day.event, dish)
        figures = {"warm_min": warm_min, "limit_min": limit_min}
        return Refusal(kind="stands-too-long", figures=figures)
    return Refusal(kind="too-windy", figures={"limit_m_s": cooker.wind_limit_m_s or 0.0})


def _is_windy(day: Day, load: TimedLoad, lift: int) -> bool:
    """Return whether the wind is over a cooker's limit while a load is in it."""
    limit, used = load.cooker.wind_limit_m_s, slice(load.start - load.empty_min, lift)
    return limit is not None and bool((day.sky.wind_m_s[used] > limit).any())
