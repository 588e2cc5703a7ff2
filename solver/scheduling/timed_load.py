"""A load from one start: when it is done, and whether it is hot and safe to its last plate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from events.model import Cooker, Dish, Pot
from solver.policy import HOLD_SPARE_K, LATE_HANDS_MIN, SLOT_MIN
from solver.scheduling.batches import (
    Batches,
)
from solver.simulation.clock import ceil_to_slot, ceil_to_slots, usable_hours
from solver.simulation.day import Day
from solver.simulation.holding import (
    clock_to_plate_min,
    hot_from_min,
    hot_holding_c,
    insulated_c,
    standing_c,
    too_long_warm,
)
from solver.simulation.query import DurationEstimate
from solver.thermal.energy_balance import Array, Bools, Ints
from solver.thermal.safety import CLOCK_TO_C

SURELY_PCT = 95  # of the drawn days
USUAL_C = 95.0  # what has boiled is taken to be so warm


@dataclass(frozen=True)
class TimedLoad:
    """Batches put into a cooker together from one start, and when each is done.

    Minutes of the day, on the timetable's grain.
    """

    batches: Batches
    durations: DurationEstimate
    index: int  # of the start
    start: int
    done: tuple[int, ...]  # expected, by batch

    @property
    def cooker(self) -> Cooker:
        """The cooker it goes into first."""
        return self.durations.query.cooker

    @property
    def pots(self) -> tuple[Pot, ...]:
        """The pot of each batch."""
        return self.durations.query.load.pots

    @property
    def empty_min(self) -> int:
        """How long the cooker stands empty on the sun before."""
        preheat_min = self.durations.query.load.preheat_min
        return ceil_to_slot(preheat_min) if self.cooker.on_sun else 0

    @property
    def serve(self) -> int:
        """When it is served."""
        return self.batches[0].serve_minute

    @property
    def rested_by(self) -> int:
        """When it leaves its cooker at the latest, so that it can rest before it is served."""
        return self.serve - max(ceil_to_slot(b.dish.rest_min) for b in self.batches)

    @property
    def serve_end(self) -> int:
        """When its last plate is served."""
        return max(b.serve_end for b in self.batches)

    @property
    def burns_if_left(self) -> bool:
        """Whether something in it would burn if it were left in."""
        return any(b.dish.done_mode.burns_if_left for b in self.batches)

    def cautious(self) -> int:
        """Return when all of it is done on the slower side; far off if never."""
        return slower_done([self])[0]

    def surely(self) -> int:
        """Return when all of it is done on nearly every drawn day, hands late; far off if never."""
        return surest_done([self])[0]


def timed_load(batches: Batches, durations: DurationEstimate, index: int) -> TimedLoad:
    """Return a load from one of the starts of its estimate."""
    return _timed_loads(batches, durations, np.asarray([index]))[0]


def _timed_loads(batches: Batches, durations: DurationEstimate, index: Ints) -> list[TimedLoad]:
    starts = durations.query.starts[index]
    done = ceil_to_slots(starts + durations.expected_min[:, index])
    return [
        TimedLoad(batches, durations, *of)
        for of in zip(
            index.tolist(), starts.tolist(), zip(*done.tolist(), strict=True), strict=True
        )
    ]


def slower_done(loads: Sequence[TimedLoad]) -> list[int]:
    """Return `cautious` of loads that differ in their start alone."""
    slow_min = loads[0].durations.cautious_min.max(axis=0)
    return _after_start(loads, slow_min, 0.0)


def surest_done(loads: Sequence[TimedLoad]) -> list[int]:
    """Return `surely` of loads that differ in their start alone."""
    durations = loads[0].durations
    drawn = [durations.drawn_min(pot) for pot in range(len(loads[0].batches))]
    slowest_min = np.sort(np.max(drawn, axis=0), axis=0)
    nth = -(-len(slowest_min) * SURELY_PCT // 100) - 1
    return _after_start(loads, slowest_min[nth], LATE_HANDS_MIN)


def _after_start(loads: Sequence[TimedLoad], took_min: Array, late_min: float) -> list[int]:
    after: list[int] = ceil_to_slots(_starts(loads) + took_min[_indexes(loads)] + late_min).tolist()
    return after


def _indexes(loads: Sequence[TimedLoad]) -> Ints:
    return np.asarray([load.index for load in loads])


def _starts(loads: Sequence[TimedLoad]) -> Ints:
    return np.asarray([load.start for load in loads])


def in_time(day: Day, batches: Batches, starts: Ints, expected: Array, clock: Array) -> Bools:
    """Return by start whether all are ready, not held too long, not too long from 5 to 60 °C."""
    good: Bools = np.asarray(np.isfinite(expected).all(axis=0))
    for p, b in enumerate(batches):
        done = np.ceil((starts + np.where(good, expected[p], 0.0)) / SLOT_MIN - 1e-9) * SLOT_MIN
        good = good & (done + ceil_to_slot(b.dish.rest_min) <= b.serve_minute)
        good &= b.serve_minute - done <= b.dish.holding_max_min
        good &= ~too_long_warm(day, b.dish, clock[p] + day.spent(b.id), spare_min=SLOT_MIN)
    return good


def loads_in_time(day: Day, batches: Batches, durations: DurationEstimate) -> list[TimedLoad]:
    """Return the load from every start from which it comes out as promised, in order of time."""
    starts = durations.query.starts
    good = in_time(day, batches, starts, durations.expected_min, durations.clock_min)
    return _timed_loads(batches, durations, np.flatnonzero(good))


def lifted_c(day: Day, loads: Sequence[TimedLoad], pot: int, lifts: Ints) -> tuple[Array, Array]:
    """Return a pot's middle (°C) when it is lifted, and at its coldest since it was cooked.

    Of loads that differ in their start alone, each lifted at its minute of the day.
    """
    durations, index = loads[0].durations, _indexes(loads)
    taken_min = (lifts - _starts(loads)).astype(np.float64)
    if durations.core_c is None:
        usual = np.full(len(loads), usual_c(day, loads[0].batches[pot].dish))
        return usual, usual
    since_min = np.minimum(hot_from_min(day, durations, pot, index), taken_min)
    coldest_c = durations.coldest_c(pot, index, since_min=since_min, until_min=taken_min)
    return durations.middle_c(pot, index, taken_min), coldest_c


def warm_min(
    day: Day, loads: Sequence[TimedLoad], pot: int, lifts: Ints, from_c: Array | float
) -> Array:
    """Return a pot's minutes between 5 and 60 °C until its last plate, lifted at a minute.

    Of loads that differ in their start alone.
    """
    b, durations, index = loads[0].batches[pot], loads[0].durations, _indexes(loads)
    before_min = durations.clock_min[pot, index] + day.spent(b.id)
    before_min += durations.below_min(  # left in a cooker that cools: under cloud, at evening
        CLOCK_TO_C,
        pot,
        index,
        since_min=durations.expected_min[pot, index],
        until_min=(lifts - _starts(loads)).astype(np.float64),
    )
    return clock_to_plate_min(
        day,
        b.dish,
        b.mass_kg,
        loads[0].pots[pot],
        before_min=before_min,
        from_c=from_c,
        lift=lifts,
        last_plate=b.serve_end,
    )


def come_hot(
    day: Day, loads: Sequence[TimedLoad], lifts: Sequence[int], *, hay: Cooker | None = None
) -> list[bool]:
    """Return whether every pot of a load is hot, and safe, from done to its last plate.

    Of loads that differ in their start alone. Each is lifted at a minute of the day, and stands
    lid on, or in an insulated box, from then on.
    """
    if not loads:
        return []
    lifted_at = np.asarray(lifts)
    pots = range(len(loads[0].batches))
    hot: list[bool] = np.all(
        [_pots_come_hot(day, loads, pot, lifted_at, hay) for pot in pots], axis=0
    ).tolist()
    return hot


def _pots_come_hot(
    day: Day, loads: Sequence[TimedLoad], pot: int, lifts: Ints, hay: Cooker | None
) -> Bools:
    batch, vessel = loads[0].batches[pot], loads[0].pots[pot]
    dish, kg, until = batch.dish, batch.mass_kg, batch.serve_end
    from_c, coldest_c = lifted_c(day, loads, pot, lifts)
    if not dish.serve_hot:
        clock_min = warm_min(day, loads, pot, lifts, from_c)
        return ~too_long_warm(day, dish, clock_min, spare_min=SLOT_MIN)
    if hay is not None:
        end_c = insulated_c(day, hay, dish, kg, vessel, from_c=from_c, start=lifts, end=until)
    else:
        end_c = standing_c(day, dish, kg, vessel, from_c=from_c, start=lifts, end=until)
    hot: Bools = np.minimum(coldest_c, end_c) >= hot_holding_c(day, dish) + HOLD_SPARE_K
    return hot


def comes_hot(day: Day, load: TimedLoad, *, lift: int, hay: Cooker | None = None) -> bool:
    """Return `come_hot` of one load."""
    return come_hot(day, [load], [lift], hay=hay)[0]


def latest_lift(day: Day, load: TimedLoad) -> int | None:
    """Return the latest minute at which a plan would lift a load; None if its cooker closes before.

    It is left in until it is served, or lifted when it is done.
    """
    _, closes = usable_hours(day, load.cooker)
    slow, moments = load.cautious(), [max(load.done)]
    if not load.burns_if_left:
        moments = [slow if slow <= load.rested_by else moments[0], load.surely(), load.rested_by]
    return max((m for m in moments if m <= min(load.rested_by, closes)), default=None)


def last_plate_c(day: Day, load: TimedLoad, lift: int) -> float:
    """Return how warm the coldest pot of a load is at its last plate, lifted at a minute."""
    return min(
        min(
            float(coldest_c[0]),
            float(
                standing_c(
                    day, b.dish, b.mass_kg, v, from_c=float(c[0]), start=lift, end=b.serve_end
                )
            ),
        )
        for pot, (b, v) in enumerate(zip(load.batches, load.pots, strict=True))
        for c, coldest_c in [lifted_c(day, [load], pot, np.asarray([lift]))]
    )


def warm_till_eaten_min(day: Day, load: TimedLoad, lift: int) -> float:
    """Return the minutes between 5 and 60 °C of a load's first pot, lifted at a minute."""
    lifts = np.asarray([lift])
    from_c, _ = lifted_c(day, [load], 0, lifts)
    return float(warm_min(day, [load], 0, lifts, from_c)[0])


def insulated_boxes(day: Day, load: TimedLoad) -> list[Cooker]:
    """Return the insulated boxes that take each pot of a load."""
    return [
        c
        for c in day.event.cookers
        if c.keeps_heat_only
        and all(c.kind in pot.fits for pot in load.pots)
        and all(b.litres <= c.litres for b in load.batches)
    ]


def usual_c(day: Day, dish: Dish) -> float:
    """Return how warm a dish's middle is at least when it has just been cooked."""
    asked_c = dish.core_c if "core_c" in dish.done_mode.requires else None
    return min(day.boil_c - 2.0, asked_c or USUAL_C)


def drawn_warm_min(day: Day, loads: Sequence[TimedLoad], pot: int, lifts: Sequence[int]) -> Array:
    """Return by (load, drawn day) a pot's minutes between 5 and 60 °C to its last plate.

    The loads differ in their start alone, and are lifted at these minutes. A slower day has as much
    more of it as it takes longer; only what is served cold stands. What can't spoil has none.
    """
    b, durations = loads[0].batches[pot], loads[0].durations
    index = _indexes(loads)
    took_min = durations.drawn_min(pot).T[index]
    if not b.dish.hazardous:
        return np.zeros_like(took_min)
    usual_min = durations.clock_min[pot, index]
    expected_min = durations.expected_min[pot, index][:, None]
    # What is done at once, as in a load in progress, takes no longer on any day.
    longer = np.zeros_like(took_min)
    known = np.isfinite(took_min) & (expected_min > 0)
    np.divide(took_min - expected_min, expected_min, out=longer, where=known)
    if b.dish.serve_hot:
        clock_min = usual_min + day.spent(b.id)
    else:
        lifted_at = np.asarray(lifts)
        from_c, _ = lifted_c(day, loads, pot, lifted_at)
        clock_min = warm_min(day, loads, pot, lifted_at, from_c)
    drawn: Array = clock_min[:, None] + usual_min[:, None] * longer
    return drawn
