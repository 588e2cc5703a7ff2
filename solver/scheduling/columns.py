"""One load in one cooker at one start, turned into a column of the timetable with its costs."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from events.model import Cooker, Pot
from solver.plan import Route
from solver.policy import CLOCK_LIMIT_MIN, LATE_CAP_MIN, SLOT_MIN, TURN_WORK_MIN
from solver.scheduling.batches import (
    Batch,
    ceil_to_slot,
    hot_when_insulated,
    hot_when_standing,
    hours,
    load_minutes,
    probe_minute,
    stir_minutes,
)
from solver.scheduling.problem import Column, Need
from solver.scheduling.two_stage import TwoStageLoad
from solver.simulation.day_state import LoadInProgress
from solver.simulation.durations import Day, station_of
from solver.simulation.query import DurationEstimate
from solver.solar.tracking import declination_deg, interval_min
from solver.thermal.energy_balance import Array, Bools, Ints

SPARE_STARTS = 6  # earlier starts kept beside the best, so that helpers' clashes can be avoided
FINE_MIN = 60  # starts up to this much before the last are kept on the grain, then thinned
COARSE_MIN = 15


@dataclass(frozen=True)
class Candidate:
    """One option with the estimate behind it."""

    column: Column
    told: DurationEstimate
    index: int
    batches: tuple[Batch, ...]
    in_progress: LoadInProgress | None = None  # it is in its cooker already, or out of it
    then: Cooker | None = None  # the second cooker

    def done_minutes(self) -> tuple[int, ...]:
        """Return each batch's expected done minute, rounded up to a slot."""
        start = int(self.told.ask.starts[self.index])
        return tuple(ceil_to_slot(start + m) for m in self.told.expected_min[:, self.index])


@dataclass
class CandidateSet:
    """All options, and for each dish and cooker the reason there is none."""

    ways: list[Candidate] = field(default_factory=list)
    batches: dict[str, tuple[Batch, ...]] = field(default_factory=dict)
    also: dict[str, tuple[Batch, ...]] = field(default_factory=dict)  # another cut
    reasons: dict[str, dict[str, str]] = field(default_factory=dict)


def add_columns(
    day: Day, batches: tuple[Batch, ...], told: DurationEstimate, found: CandidateSet
) -> int:
    """Add every option of one load in one cooker; return how many there are."""
    made = spare = latest = 0
    talked = bool({t.dish for t in day.event.talks} & {b.dish.id for b in batches})
    serve = batches[0].serve_minute
    keep = serve - max(ceil_to_slot(b.dish.rest_min) for b in batches)
    good = in_time(day, batches, told.ask.starts, told.expected_min, told.clock_min)
    for k in reversed(range(len(told.ask.starts))):
        start = int(told.ask.starts[k])
        if not good[k]:
            continue
        done = [ceil_to_slot(start + m) for m in told.expected_min[:, k]]
        latest = max(latest, start)
        if latest - start > FINE_MIN and start % COARSE_MIN and not talked:
            continue
        costs = costs_of(day, batches, told, k, done)
        burns = any(b.dish.done_mode.burns_if_left for b in batches)
        if (spare <= SPARE_STARTS or talked) and not burns:
            made += _put(day, batches, told, k, lift=keep, then=None, costs=costs, found=found)
        spare += costs[0] == 0 and costs[1] == 0
        slow = ceil_to_slot(start + float(min(told.cautious_min[:, k].max(), 1e6)))
        lift = slow if slow <= keep and not burns else max(done)
        if lift >= keep:
            continue
        pairs = zip(batches, told.ask.load.pots, strict=True)
        if all(hot_when_standing(day, b, pot, serve - lift) for b, pot in pairs):
            made += _put(day, batches, told, k, lift=lift, then=None, costs=costs, found=found)
        elif told.ask.cooker.on_sun:
            for hay in day.event.cookers:
                kept = all(hot_when_insulated(day, b, hay, b.serve_minute - lift) for b in batches)
                if hay.keeps_heat_only and _fits(hay, batches, told.ask.load.pots) and kept:
                    made += _put(
                        day,
                        batches,
                        told,
                        k,
                        lift=lift,
                        then=(hay, serve),
                        costs=costs,
                        found=found,
                    )
    return made


def add_two_stage(
    day: Day, batches: tuple[Batch, ...], moved: TwoStageLoad, found: CandidateSet
) -> int:
    """Add every option of a lone pot that is moved on before it is done; return how many."""
    made, told, batch = 0, moved.told, batches[0]
    good = in_time(day, batches, told.ask.starts, told.expected_min, told.clock_min)
    for k in range(len(told.ask.starts)):
        if not good[k]:
            continue
        done = [ceil_to_slot(int(told.ask.starts[k]) + float(told.expected_min[0, k]))]
        off = int(moved.off[k])
        if not hot_when_standing(day, batch, told.ask.load.pots[0], batch.serve_minute - off):
            off = batch.serve_minute
        costs = costs_of(day, batches, told, k, done)
        made += _put(
            day,
            batches,
            told,
            k,
            lift=int(moved.lift[k]),
            then=(moved.then, off),
            costs=costs,
            found=found,
        )
    return made


def _fits(hay: Cooker, batches: tuple[Batch, ...], pots: tuple[Pot, ...]) -> bool:
    return all(hay.kind in p.fits for p in pots) and all(b.litres <= hay.litres for b in batches)


def in_time(
    day: Day, batches: tuple[Batch, ...], starts: Ints, expected: Array, clock: Array
) -> Bools:
    """Return by start whether all are ready, not held too long, not too long from 5 to 60 °C."""
    good: Bools = np.asarray(np.isfinite(expected).all(axis=0))
    for p, b in enumerate(batches):
        done = np.ceil((starts + np.where(good, expected[p], 0.0)) / SLOT_MIN - 1e-9) * SLOT_MIN
        good = good & (done + ceil_to_slot(b.dish.rest_min) <= b.serve_minute)
        good &= b.serve_minute - done <= b.dish.holding_max_min
        if b.dish.hazardous:
            good &= clock[p] + day.spent(b.id) <= CLOCK_LIMIT_MIN - SLOT_MIN
    return good


def costs_of(
    day: Day, batches: tuple[Batch, ...], told: DurationEstimate, k: int, done: list[int]
) -> tuple[int, int, int]:
    """Return (late, short, stale) minutes summed over the load's batches."""
    start = int(told.ask.starts[k])
    late = short = stale = 0
    for p, b in enumerate(batches):
        slow = float(told.cautious_min[p, k])
        over = (
            ceil_to_slot(start + slow) + b.dish.rest_min - b.serve_minute
            if np.isfinite(slow)
            else 1e9
        )
        late += int(min(max(0, over), LATE_CAP_MIN))
        margin = b.serve_minute - done[p] - b.dish.rest_min
        short += max(0, day.event.wanted_margin_min - margin)
        stale += max(0, margin - b.dish.fresh_min)
    return late, short, stale


def _put(
    day: Day,
    batches: tuple[Batch, ...],
    told: DurationEstimate,
    k: int,
    *,
    lift: int,
    then: tuple[Cooker, int] | None,
    costs: tuple[int, int, int],
    found: CandidateSet,
) -> int:
    """Add one option; `then` is the second cooker, and the minute at which the pot leaves it."""
    cooker, start = told.ask.cooker, int(told.ask.starts[k])
    before = ceil_to_slot(told.ask.load.preheat_min) if cooker.on_sun else 0
    _, closes = hours(day, cooker)
    windy = (
        cooker.wind_limit_m_s is not None
        and (day.sky.wind_m_s[start - before : lift] > cooker.wind_limit_m_s).any()
    )
    if lift > closes or lift <= start or windy:
        return 0
    column = make_column(day, batches, told, k, lift=lift, then=then, costs=costs)
    found.ways.append(Candidate(column, told, k, batches, then=then[0] if then else None))
    return 1


def make_column(
    day: Day,
    batches: tuple[Batch, ...],
    told: DurationEstimate,
    k: int,
    *,
    lift: int,
    then: tuple[Cooker, int] | None,
    costs: tuple[int, int, int],
) -> Column:
    """Return the option of a load from its start `k`; (late, short, stale) minutes are given."""
    cooker, start = told.ask.cooker, int(told.ask.starts[k])
    before = ceil_to_slot(told.ask.load.preheat_min) if cooker.on_sun else 0
    serve = batches[0].serve_minute
    needs = _needs(
        cooker, batches, start=start, before=before, lift=lift, told=told, k=k, then=then
    )
    if day.replan is not None:
        needs = tuple(n for n in needs if n.slot * SLOT_MIN > day.replan.minute)
    gas = (lift - start) * len(batches) if cooker.on_gas else 0
    route: Route = "burner" if cooker.on_gas else "sun"
    if then is not None:
        route = "sun+burner" if then[0].on_gas else "sun+insulated"
        gas = then[1] - lift if then[0].on_gas else 0
    work = SLOT_MIN * sum(n.people for n in needs)
    if route != "burner":
        every = interval_min(cooker, declination_deg=declination_deg(day.event.date))
        work += TURN_WORK_MIN * ((lift - start + before) // every)
    watched = None
    if cooker.nature.concentrates:
        station = station_of(day.event, cooker)
        watched = station.sight if station else "yard"
    wash = max(p.wash_min for p in told.ask.load.pots)
    return Column(
        batch_ids=tuple(b.id for b in batches),
        pot_ids=tuple(p.id for p in told.ask.load.pots),
        cooker_id=cooker.id,
        route=route,
        then_cooker_id=then[0].id if then else None,
        load_slot=start // SLOT_MIN,
        occupies=((start - before) // SLOT_MIN, lift // SLOT_MIN),
        then_occupies=(lift // SLOT_MIN, then[1] // SLOT_MIN) if then else None,
        pots_busy=(start // SLOT_MIN, ceil_to_slot(serve + wash) // SLOT_MIN),
        needs=needs,
        watched=watched,
        late_min=costs[0],
        short_min=costs[1],
        stale_min=costs[2],
        work_min=work,
        done_slot=ceil_to_slot(start + min(float(told.expected_min[:, k].max()), 1e6)) // SLOT_MIN,
        lift_slot=lift // SLOT_MIN,
        serve_slot=serve // SLOT_MIN,
        gas_min=gas,
        changed=sum(day.changes(b.dish.id, b.id, cooker.id, start, lift) for b in batches),
    )


def _needs(
    cooker: Cooker,
    batches: tuple[Batch, ...],
    *,
    start: int,
    before: int,
    lift: int,
    told: DurationEstimate,
    k: int,
    then: tuple[Cooker, int] | None,
) -> tuple[Need, ...]:
    ability = cooker.ability
    people = max(b.dish.lift_helpers for b in batches)
    done = ceil_to_slot(start + min(float(told.expected_min[:, k].max()), 1e6))
    out = [Need((start - before) // SLOT_MIN, ability, 1)] if before else []
    for m in range(start, start + load_minutes(batches), SLOT_MIN):
        out.append(Need(m // SLOT_MIN, ability, 1))
    for m in stir_minutes(batches, start, min(done, lift)):
        out.append(Need(m // SLOT_MIN, ability, 1))
    probe = probe_minute(batches, done, lift)
    if probe is not None:
        out.append(Need(probe // SLOT_MIN, ability, 1))
    # One who may work the cooker lifts; the others only lend a hand.
    out.append(Need(lift // SLOT_MIN, ability or "lift", 1))
    if people > 1:
        out.append(Need(lift // SLOT_MIN, "lift", people - 1))
    if cooker.attended:  # one stays at it, and does what is to be done there
        extra = [Need(lift // SLOT_MIN, "lift", people - 1)] if people > 1 else []
        stays = range((start - before) // SLOT_MIN, lift // SLOT_MIN + 1)
        out = [Need(s, ability, 1) for s in stays] + extra
    if then is not None and then[0].on_gas:
        out.append(Need(then[1] // SLOT_MIN, then[0].ability or "lift", 1))
        if people > 1:
            out.append(Need(then[1] // SLOT_MIN, "lift", people - 1))
    return tuple(out)
