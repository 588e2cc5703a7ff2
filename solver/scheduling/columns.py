"""One load in one cooker at one start, turned into a column of the timetable with its costs."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from events.model import Cooker
from solver.plan import Route
from solver.policy import HOLD_SPARE_K, SLOT_MIN, TURN_WORK_MIN, gas_steps
from solver.scheduling.batches import (
    Batch,
    Batches,
    load_minutes,
    probe_minute,
    stir_minutes,
)
from solver.scheduling.pricing import Costs, costs_side_by_side
from solver.scheduling.problem import Column, Need
from solver.scheduling.timed_load import (
    TimedLoad,
    come_hot,
    insulated_boxes,
    loads_in_time,
    slower_done,
    surest_done,
    usual_c,
)
from solver.scheduling.two_stage import TwoStageLoad
from solver.simulation.clock import ceil_to_slot, usable_hours
from solver.simulation.day import Day
from solver.simulation.day_state import LoadInProgress
from solver.simulation.holding import (
    hot_holding_c,
    standing_c,
)
from solver.simulation.query import DurationEstimate
from solver.solar.horizon import station_of
from solver.solar.tracking import declination_deg, interval_min

SPARE_STARTS = 6  # starts before the surest that are kept, so that helpers' clashes can be avoided
FINE_MIN = 60  # starts up to this much before the last are kept on the grain, then thinned
COARSE_MIN = 15
SURER_MIN = 10  # a lift so much later is worth a column of its own


@dataclass(frozen=True)
class Second:
    """The second cooker of a load, and the minute at which the load leaves it."""

    cooker: Cooker
    off: int


@dataclass(frozen=True)
class _Way:
    """A load that is lifted at a minute of the day, and may be moved on to a second cooker."""

    load: TimedLoad
    lift: int
    second: Second | None = None
    costs: Costs | None = None  # where they are known already


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


def candidates_of(day: Day, batches: Batches, durations: DurationEstimate) -> Iterator[Candidate]:
    """Yield every column of one load in one cooker, the latest start first."""
    yield from _columns(day, list(_ways(day, loads_in_time(day, batches, durations))))


def _ways(day: Day, loads: Sequence[TimedLoad]) -> Iterator[_Way]:
    """Yield the ways to use starts of a load that are worth a column."""
    if not loads:
        return
    shown = bool({t.dish for t in day.event.talks} & {b.dish.id for b in loads[0].batches})
    last = loads[-1].start
    tried = [
        load
        for load in reversed(loads)
        if shown or last - load.start <= FINE_MIN or not load.start % COARSE_MIN
    ]
    rested = [heat_ends(load, load.rested_by, None) for load in tried]
    costs = costs_side_by_side(day, tried, rested)
    early = [
        [lift for lift in lifts if lift < load.rested_by]
        for load, lifts in zip(tried, _early_lifts(tried), strict=True)
    ]
    lifted = _lifted_early(
        day,
        [load for load, lifts in zip(tried, early, strict=True) for _ in lifts],
        list(itertools.chain(*early)),
    )
    spare, least = 0, None
    for cost, lifts, left_in in zip(costs, early, _left_in(day, tried), strict=True):
        if (spare <= SPARE_STARTS or shown or not lifts) and left_in is not None:
            as_rested = left_in.lift == left_in.load.rested_by
            yield replace(left_in, costs=cost) if as_rested else left_in
        if least is None or cost.missed < least:
            spare, least = 0, cost.missed
        spare += cost.short == 0
        for _ in lifts:
            yield from next(lifted)


def _early_lifts(loads: Sequence[TimedLoad]) -> Iterator[list[int]]:
    """Yield when each load may leave its cooker: done on the slower days, or on nearly all.

    Where that is too late, it may leave when it is expected to be done, for others' sake.
    """
    rested_by, burns = loads[0].rested_by, loads[0].burns_if_left
    for load, slow, sure in zip(loads, slower_done(loads), surest_done(loads), strict=True):
        if burns or slow > rested_by:
            yield [max(load.done)]
        else:
            yield [slow] if sure - slow < SURER_MIN else [slow, sure]


def _left_in(day: Day, loads: Sequence[TimedLoad]) -> list[_Way | None]:
    """Return how each load can stay in its cooker until it is served, or served out.

    Nobody is served out of a mirror: its pot is lifted before. What would burn never stays.
    """
    first = loads[0]
    moments = [] if first.burns_if_left else [first.rested_by, first.serve_end]
    ways: list[_Way | None] = [None] * len(loads)
    for lift in moments[:1] if first.cooker.nature.concentrates else moments:
        if None in ways:
            hot = come_hot(day, loads, [lift] * len(loads))
            ways = [
                way or (_Way(load, lift) if is_hot else None)
                for way, load, is_hot in zip(ways, loads, hot, strict=True)
            ]
    return ways


def _lifted_early(
    day: Day, loads: Sequence[TimedLoad], lifts: Sequence[int]
) -> Iterator[list[_Way]]:
    """Yield the ways of each load that stands lid on until served, or in an insulated box."""
    standing = come_hot(day, loads, lifts)
    boxes = insulated_boxes(day, loads[0]) if loads and loads[0].cooker.on_sun else []
    in_box = [(hay, come_hot(day, loads, lifts, hay=hay)) for hay in boxes if not all(standing)]
    for k, (load, lift) in enumerate(zip(loads, lifts, strict=True)):
        if standing[k]:
            yield [_Way(load, lift)]
        else:
            yield [_Way(load, lift, Second(hay, load.serve_end)) for hay, hot in in_box if hot[k]]


def heat_ends(load: TimedLoad, lift: int, second: Second | None) -> int | None:
    """Return when a load gets no more heat, done or not; None if not before it is served."""
    if load.burns_if_left or (second is not None and second.cooker.keeps_heat_only):
        return None
    return lift if second is None else second.off


def _columns(day: Day, ways: Sequence[_Way]) -> Iterator[Candidate]:
    """Yield the columns of ways to use one estimate, where hours and wind allow them."""
    closes = usable_hours(day, ways[0].load.cooker)[1] if ways else 0
    ways = [w for w in ways if w.load.start < w.lift <= closes and not _is_windy(day, w)]
    ways = [w for w in ways if second_is_usable(day, w.second, w.lift)]
    unpriced = [w for w in ways if w.costs is None]
    ends = [heat_ends(w.load, w.lift, w.second) for w in unpriced]
    priced = iter(costs_side_by_side(day, [w.load for w in unpriced], ends))
    for w in ways:
        costs = w.costs or next(priced)
        column = make_column(day, w.load, lift=w.lift, costs=costs, second=w.second)
        yield Candidate(column, w.load, w.second.cooker if w.second else None)


def _is_windy(day: Day, way: _Way) -> bool:
    """Return whether the wind is over a cooker's limit while it is used."""
    load, limit = way.load, way.load.cooker.wind_limit_m_s
    used = slice(load.start - load.empty_min, way.lift)
    return limit is not None and bool((day.sky.wind_m_s[used] > limit).any())


def second_is_usable(day: Day, second: Second | None, lift: int) -> bool:
    """Return whether a pot's ring is open, and in no stronger wind than it stands, all its time."""
    if second is None or not second.cooker.on_gas:
        return True
    opens, closes = usable_hours(day, second.cooker)
    limit = second.cooker.wind_limit_m_s
    blows = limit is not None and bool((day.sky.wind_m_s[lift : second.off] > limit).any())
    return opens <= lift and second.off <= closes and not blows


def two_stage_candidates(day: Day, batches: Batches, moved: TwoStageLoad) -> Iterator[Candidate]:
    """Yield the columns of a lone pot that is moved on before it is done."""
    yield from _columns(day, list(_moved_on(day, batches, moved)))


def _moved_on(day: Day, batches: Batches, moved: TwoStageLoad) -> Iterator[_Way]:
    hot_c = hot_holding_c(day, batches[0].dish) + HOLD_SPARE_K
    for load in loads_in_time(day, batches, moved.durations):
        lift, off = int(moved.lift[load.index]), load.serve_end
        coldest_c = float(moved.coldest_c[load.index])
        if moved.second.on_gas:
            off = ring_off(day, load, int(moved.off[load.index]))
            coldest_c = served_from_ring_c(day, load, off)
        if coldest_c >= hot_c:
            yield _Way(load, lift, Second(moved.second, off))


def renamed(day: Day, candidate: Candidate, batch: Batch) -> Candidate:
    """Return a lone pot's candidate for an equal batch that is served when its own is."""
    column, load = candidate.column, candidate.load
    lift = column.lift_slot * SLOT_MIN
    changed = day.changes(batch.dish.id, batch.id, column.cooker_id, load.start, lift)
    column = replace(column, batch_ids=(batch.id,), changed=changed)
    return replace(candidate, column=column, load=replace(load, batches=(batch,)))


def ring_off(day: Day, load: TimedLoad, ready: int) -> int:
    """Return when a pot leaves a ring: when it is ready, or when it is served, or served out.

    The first of these after which it is hot to its last plate.
    """
    hot_c = hot_holding_c(day, load.batches[0].dish) + HOLD_SPARE_K
    moments = (ready, load.serve)
    return next((m for m in moments if served_from_ring_c(day, load, m) >= hot_c), load.serve_end)


def served_from_ring_c(day: Day, load: TimedLoad, off: int) -> float:
    """Return how warm a pot that left a ring is at its last plate."""
    b, pot = load.batches[0], load.pots[0]
    from_c = usual_c(day, b.dish)
    return float(standing_c(day, b.dish, b.mass_kg, pot, from_c=from_c, start=off, end=b.serve_end))


def make_column(
    day: Day, load: TimedLoad, *, lift: int, costs: Costs, second: Second | None = None
) -> Column:
    """Return the column of a load that is lifted at a minute, and moved on to a second cooker."""
    cooker, start = load.cooker, load.start
    needs = _needs(load, lift=lift, second=second)
    if day.replan is not None:
        needs = tuple(n for n in needs if n.slot * SLOT_MIN > day.replan.minute)
    wash_min = max(p.wash_min for p in load.pots)
    gas_min = _gas_min(load, lift, second)
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
        missed=costs.missed + gas_steps(gas_min, day.event.gas_price_dishes_h),
        short_min=costs.short,
        stale_min=costs.stale,
        work_min=SLOT_MIN * sum(n.people for n in needs) + _turning_min(day, load, lift),
        done_slot=max(load.done) // SLOT_MIN,
        lift_slot=lift // SLOT_MIN,
        serve_slot=load.serve // SLOT_MIN,
        gas_min=gas_min,
        changed=0
        if day.replan is None
        else sum(day.changes(b.dish.id, b.id, cooker.id, start, lift) for b in load.batches),
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
    if cooker.attended:  # one stays at it, and does what is to be done there, lifting too
        stay = range((start - load.empty_min) // SLOT_MIN, lift // SLOT_MIN + 1)
        needs = [Need(slot, ability or "lift", 1) for slot in stay]
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
