"""What a load costs: how surely it comes as promised, how near its meal, and how long it is held.

All starts of one load are priced side by side; each of them as if it were priced alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from events.food_rules import clock_limit_min
from solver.policy import (
    HELD_WEIGHT,
    LATE_HANDS_MIN,
    PALE_BAND_C,
    PALE_WEIGHT,
    in_time_fraction,
    miss_steps,
)
from solver.scheduling.timed_load import TimedLoad, drawn_warm_min
from solver.simulation.day import Day
from solver.simulation.holding import too_long_warm
from solver.simulation.query import DurationQuery
from solver.thermal.energy_balance import Array, Ints


@dataclass(frozen=True)
class Costs:
    """What a load costs, summed over its batches, in minutes."""

    missed: int = 0  # in steps of a dish (policy)
    short: int = 0
    stale: int = 0


def costs_of(day: Day, load: TimedLoad, ends: int | None) -> Costs:
    """Return what a load costs: expected misses, short of the wanted margin, stale."""
    return costs_side_by_side(day, [load], [ends])[0]


def costs_side_by_side(
    day: Day, loads: Sequence[TimedLoad], ends: Sequence[int | None]
) -> list[Costs]:
    """Return what each of some starts of the same load costs, its heat ending as given."""
    if not loads:
        return []
    wanted = day.event.wanted_margin_min
    missed = [0] * len(loads)
    short, stale = np.zeros(len(loads), dtype=np.int64), np.zeros(len(loads), dtype=np.int64)
    for pot, b in enumerate(loads[0].batches):
        shares = _missed_fractions(day, loads, pot, ends)
        missed = [a + miss_steps(share) for a, share in zip(missed, shares.tolist(), strict=True)]
        done = np.asarray([load.done[pot] for load in loads])
        margin = b.serve_minute - done - b.dish.rest_min
        stale += np.maximum(margin - b.dish.fresh_min, 0)
        short += np.maximum(wanted - margin, 0)
    return [Costs(*of) for of in zip(missed, short.tolist(), stale.tolist(), strict=True)]


def missed_fraction(day: Day, load: TimedLoad, pot: int, ends: int | None) -> float:
    """Return how much of a batch is expected not to come as promised, over the drawn days.

    A day counts by how surely the batch is ready before its heat `ends`, or it is served, and less
    the longer it is held past fresh, or, served cold, is lukewarm past half of what it may be; past
    either limit it is lost.
    """
    return float(_missed_fractions(day, [load], pot, [ends])[0])


def _missed_fractions(
    day: Day, loads: Sequence[TimedLoad], pot: int, ends: Sequence[int | None]
) -> Array:
    """Return `missed_fraction` of several starts: a row of drawn days for each of them."""
    batch, durations, rested_by = loads[0].batches[pot], loads[0].durations, loads[0].rested_by
    dish, index = batch.dish, np.asarray([load.index for load in loads])
    took_min = np.ascontiguousarray(durations.drawn_min(pot).T[index])
    start = durations.query.starts[index]
    slack_min = (batch.serve_minute - dish.rest_min - start)[:, None]
    ends_at = np.asarray([np.inf if end is None else end for end in ends])
    heated_min = np.minimum(slack_min, (ends_at - start)[:, None])
    done = np.isfinite(took_min)
    usual_min = np.where(done, took_min, 0.0)
    in_time = in_time_fraction(heated_min - LATE_HANDS_MIN - usual_min, took_min)
    held_min = np.maximum(slack_min - usual_min, 0.0)
    span_min = max(dish.holding_max_min - dish.fresh_min, 1)
    past_fresh = np.minimum(np.maximum((held_min - dish.fresh_min) / span_min, 0.0), 1.0)
    lost = np.where(held_min > dish.holding_max_min, 1.0, HELD_WEIGHT * past_fresh)
    lifts = [rested_by if end is None else end for end in ends]
    warm_min, limit_min = drawn_warm_min(day, loads, pot, lifts), clock_limit_min(day.event, dish)
    if not dish.serve_hot:
        # Nothing until half of its limit, when people are warned; at its limit all of it.
        half_min = limit_min / 2
        past_half = np.minimum(np.maximum((warm_min - half_min) / half_min, 0.0), 1.0)
        lost = np.minimum(lost + past_half, 1.0)
    lost = np.where(too_long_warm(day, dish, warm_min), 1.0, lost)
    missed = 1.0 - np.mean(in_time * (1.0 - lost), axis=1)
    whole: Array = 1.0 - (1.0 - missed) * (
        1.0 - PALE_WEIGHT * _pale_fractions(durations.query, index)
    )
    return whole


def _pale_fractions(query: DurationQuery, index: Ints) -> Array | float:
    """Return how far ovens are under what their dish asks, as a share of what still bakes."""
    needed_c = query.load.dishes[0].needs_body_c
    if query.oven_c is None or needed_c is None:
        return 0.0
    under: Array = np.clip((needed_c - query.oven_c[index]) / PALE_BAND_C, 0.0, 1.0)
    return under
