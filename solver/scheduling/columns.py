"""One load in one cooker at one start, turned into a column of the timetable with its costs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from events.model import Cooker, Pot
from solver.plan import Route
from solver.policy import CLOCK_LIMIT_MIN, LATE_CAP_MIN, SLOT_MIN, TURN_WORK_MIN
from solver.scheduling.batches import (
    Batches,
    load_minutes,
    probe_minute,
    stir_minutes,
)
from solver.scheduling.problem import Column, Need
from solver.scheduling.two_stage import TwoStageLoad
from solver.simulation.clock import ceil_to_slot, usable_hours
from solver.simulation.day import Day
from solver.simulation.day_state import LoadInProgress
from solver.simulation.holding import hot_when_insulated, hot_when_standing
from solver.simulation.query import DurationEstimate
from solver.solar.horizon import station_of
from solver.solar.tracking import declination_deg, interval_min
from solver.thermal.energy_balance import Array, Bools, Ints

SPARE_STARTS = 6  # earlier starts kept beside the best, so that helpers' clashes can be avoided
FINE_MIN = 60  # starts up to this much before the last are kept on the grain, then thinned
COARSE_MIN = 15


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
    def melts(self) -> bool:
        """Whether something in it would burn if it were left in."""
        return any(b.dish.done_mode.burns_if_left for b in self.batches)

    def cautious(self) -> int:
        """Return when all of it is done on the slower side."""
        return ceil_to_slot(self.start + float(self.durations.cautious_min[:, self.index].max()))


@dataclass(frozen=True)
class Second:
    """The second cooker of a load, and the minute at which the load leaves it."""

    cooker: Cooker
    off: int


@dataclass(frozen=True)
class Costs:
    """What a load costs, summed over its batches, in minutes."""

    late: int = 0
    short: int = 0
    stale: int = 0


@dataclass(frozen=True)
class Candidate:
    """One column with the load and the estimate behind it."""

    column: Column
    load: TimedLoad
    second: Cooker | None = None
    in_progress: LoadInProgress | None = None  # it is in its cooker already, or out of it

    @property
    def batches(self) -> Batches:
        """The batches that it places."""
        return self.load.batches


def timed_load(batches: Batches, durations: DurationEstimate, index: int) -> TimedLoad:
    """Return a load from one of the starts of its estimate."""
    start = int(durations.query.starts[index])
    done = tuple(ceil_to_slot(start + float(m)) for m in durations.expected_min[:, index])
    return TimedLoad(batches, durations, index, start, done)


def in_time(day: Day, batches: Batches, starts: Ints, expected: Array, clock: Array) -> Bools:
    """Return by start whether all are ready, not held too long, not too long from 5 to 60 °C."""
    good: Bools = np.asarray(np.isfinite(expected).all(axis=0))
    for p, b in enumerate(batches):
        done = np.ceil((starts + np.where(good, expected[p], 0.0)) / SLOT_MIN - 1e-9) * SLOT_MIN
        good = good & (done + ceil_to_slot(b.dish.rest_min) <= b.serve_minute)
        good &= b.serve_minute - done <= b.dish.holding_max_min
        if b.dish.hazardous:
            good &= clock[p] + day.spent(b.id) <= CLOCK_LIMIT_MIN - SLOT_MIN
    return good


def loads_in_time(day: Day, batches: Batches, durations: DurationEstimate) -> list[TimedLoad]:
    """Return the load from every start from which it comes out as promised, in order of time."""
    starts = durations.query.starts
    good = in_time(day, batches, starts, durations.expected_min, durations.clock_min)
    return [timed_load(batches, durations, int(k)) for k in np.flatnonzero(good)]


def candidates_of(day: Day, batches: Batches, durations: DurationEstimate) -> Iterator[Candidate]:
    """Yield every column of one load in one cooker, the latest start first."""
    shown = bool({t.dish for t in day.event.talks} & {b.dish.id for b in batches})
    loads = loads_in_time(day, batches, durations)
    spare = 0
    for load in reversed(loads):
        if loads[-1].start - load.start > FINE_MIN and load.start % COARSE_MIN and not shown:
            continue
        costs = costs_of(day, load)
        if (spare <= SPARE_STARTS or shown) and not load.melts:
            yield from _placed(day, load, lift=load.rested_by, costs=costs)
        spare += costs.late == 0 and costs.short == 0
        slow = load.cautious()
        lift = slow if slow <= load.rested_by and not load.melts else max(load.done)
        if lift < load.rested_by:
            yield from _lifted_early(day, load, lift=lift, costs=costs)


def _lifted_early(day: Day, load: TimedLoad, *, lift: int, costs: Costs) -> Iterator[Candidate]:
    """Yield the columns of a load that stands lid on until it is served, or in an insulated box."""
    if stands_hot(day, load, load.serve - lift):
        yield from _placed(day, load, lift=lift, costs=costs)
    elif load.cooker.on_sun:
        for hay in insulated_boxes(day, load):
            if stays_hot_in(day, load, hay, load.serve - lift):
                second = Second(hay, load.serve)
                yield from _placed(day, load, lift=lift, second=second, costs=costs)


def stands_hot(day: Day, load: TimedLoad, for_min: int) -> bool:
    """Return whether every pot of a load, lid on, is hot enough after standing for minutes."""
    return all(
        hot_when_standing(day, b.dish, b.mass_kg, pot, serve=b.serve_minute, for_min=for_min)
        for b, pot in zip(load.batches, load.pots, strict=True)
    )


def insulated_boxes(day: Day, load: TimedLoad) -> list[Cooker]:
    """Return the insulated boxes that take each pot of a load."""
    return [
        c
        for c in day.event.cookers
        if c.keeps_heat_only
        and all(c.kind in pot.fits for pot in load.pots)
        and all(b.litres <= c.litres for b in load.batches)
    ]


def stays_hot_in(day: Day, load: TimedLoad, hay: Cooker, for_min: int) -> bool:
    """Return whether every pot of a load is hot enough after minutes in an insulated box."""
    return all(
        hot_when_insulated(day, b.dish, b.mass_kg, hay, serve=b.serve_minute, for_min=for_min)
        for b in load.batches
    )


def costs_of(day: Day, load: TimedLoad) -> Costs:
    """Return what a load costs: late on the slower side, short of the wanted margin, stale."""
    late = short = stale = 0
    for p, (b, done) in enumerate(zip(load.batches, load.done, strict=True)):
        slow = ceil_to_slot(load.start + float(load.durations.cautious_min[p, load.index]))
        late += min(max(0, slow + b.dish.rest_min - b.serve_minute), LATE_CAP_MIN)
        margin = b.serve_minute - done - b.dish.rest_min
        short += max(0, day.event.wanted_margin_min - margin)
        stale += max(0, margin - b.dish.fresh_min)
    return Costs(late, short, stale)


def _placed(
    day: Day, load: TimedLoad, *, lift: int, costs: Costs, second: Second | None = None
) -> Iterator[Candidate]:
    """Yield the column of a load lifted at a minute, if hours and wind allow it."""
    _, closes = usable_hours(day, load.cooker)
    limit = load.cooker.wind_limit_m_s
    used = slice(load.start - load.empty_min, lift)
    windy = limit is not None and bool((day.sky.wind_m_s[used] > limit).any())
    if load.start < lift <= closes and not windy:
        column = make_column(day, load, lift=lift, costs=costs, second=second)
        yield Candidate(column, load, second.cooker if second else None)


def two_stage_candidates(day: Day, batches: Batches, moved: TwoStageLoad) -> Iterator[Candidate]:
    """Yield the columns of a lone pot that is moved on before it is done."""
    for load in loads_in_time(day, batches, moved.durations):
        off = int(moved.off[load.index])
        if not stands_hot(day, load, load.serve - off):
            off = load.serve
        second, lift = Second(moved.second, off), int(moved.lift[load.index])
        yield from _placed(day, load, lift=lift, second=second, costs=costs_of(day, load))


def make_column(
    day: Day, load: TimedLoad, *, lift: int, costs: Costs, second: Second | None = None
) -> Column:
    """Return the column of a load that is lifted at a minute, and moved on to a second cooker."""
    cooker, start = load.cooker, load.start
    needs = _needs(load, lift=lift, second=second)
    if day.replan is not None:
        needs = tuple(n for n in needs if n.slot * SLOT_MIN > day.replan.minute)
    wash_min = max(p.wash_min for p in load.pots)
    return Column(
        batch_ids=tuple(b.id for b in load.batches),
        pot_ids=tuple(p.id for p in load.pots),
        cooker_id=cooker.id,
        route=_route(cooker, second),
        then_cooker_id=second.cooker.id if second else None,
        load_slot=start // SLOT_MIN,
        occupies=((start - load.empty_min) // SLOT_MIN, lift // SLOT_MIN),
        then_occupies=(lift // SLOT_MIN, second.off // SLOT_MIN) if second else None,
        pots_busy=(start // SLOT_MIN, ceil_to_slot(load.serve + wash_min) // SLOT_MIN),
        needs=needs,
        watched=_watched(day, cooker),
        late_min=costs.late,
        short_min=costs.short,
        stale_min=costs.stale,
        work_min=SLOT_MIN * sum(n.people for n in needs) + _turning_min(day, load, lift),
        done_slot=max(load.done) // SLOT_MIN,
        lift_slot=lift // SLOT_MIN,
        serve_slot=load.serve // SLOT_MIN,
        gas_min=_gas_min(load, lift, second),
        changed=sum(day.changes(b.dish.id, b.id, cooker.id, start, lift) for b in load.batches),
    )


def _route(cooker: Cooker, second: Second | None) -> Route:
    if cooker.on_gas:
        return "burner"
    if second is None:
        return "sun"
    return "sun+burner" if second.cooker.on_gas else "sun+insulated"


def _gas_min(load: TimedLoad, lift: int, second: Second | None) -> int:
    if second is not None:
        return second.off - lift if second.cooker.on_gas else 0
    return (lift - load.start) * len(load.batches) if load.cooker.on_gas else 0


def _turning_min(day: Day, load: TimedLoad, lift: int) -> int:
    if load.cooker.on_gas:
        return 0
    every = interval_min(load.cooker, declination_deg=declination_deg(day.event.date))
    return TURN_WORK_MIN * ((lift - load.start + load.empty_min) // every)


def _watched(day: Day, cooker: Cooker) -> str | None:
    """Return where a cooker must be watched from, or None if it may be left alone."""
    if not cooker.nature.concentrates:
        return None
    station = station_of(day.event, cooker)
    return station.sight if station else "yard"


def _needs(load: TimedLoad, *, lift: int, second: Second | None) -> tuple[Need, ...]:
    """Return the hands that a load needs, slot by slot."""
    cooker, start, batches = load.cooker, load.start, load.batches
    ability = cooker.ability
    lend_a_hand = max(b.dish.lift_helpers for b in batches) - 1
    # One who may work the cooker lifts; the others only lend a hand.
    helping = [Need(lift // SLOT_MIN, "lift", lend_a_hand)] if lend_a_hand else []
    if cooker.attended:  # one stays at it, and does what is to be done there
        stay = range((start - load.empty_min) // SLOT_MIN, lift // SLOT_MIN + 1)
        needs = [Need(slot, ability, 1) for slot in stay]
    else:
        minutes = [start - load.empty_min] if load.empty_min else []
        minutes += range(start, start + load_minutes(batches), SLOT_MIN)
        minutes += stir_minutes(batches, start, min(max(load.done), lift))
        probe = probe_minute(batches, max(load.done), lift)
        minutes += [] if probe is None else [probe]
        needs = [Need(m // SLOT_MIN, ability, 1) for m in minutes]
        needs.append(Need(lift // SLOT_MIN, ability or "lift", 1))
    needs += helping
    if second is not None and second.cooker.on_gas:
        needs.append(Need(second.off // SLOT_MIN, second.cooker.ability or "lift", 1))
        needs += [Need(second.off // SLOT_MIN, "lift", lend_a_hand)] if lend_a_hand else []
    return tuple(needs)
