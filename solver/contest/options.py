"""When an entry can be tasted: for each possible time its best start, by the physics."""

from __future__ import annotations

import dataclasses
import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from events.contest import TASTING, Contest, Entry
from events.food_rules import clock_limit_min
from events.kitchen import Meal
from events.model import Event
from events.rounds import Rota
from events.table import changed
from solver.contest_plan import Draw, NotTasted, NotTastedKind
from solver.notices import Refusal, RefusalKind
from solver.policy import CHANGE_STEPS, HOLD_SPARE_K, SKIES_MOST
from solver.scheduling.batches import split
from solver.scheduling.queries import queries_of
from solver.simulation.clock import ceil_to_slot, minute_at
from solver.simulation.day import Day, make_day
from solver.simulation.drawn_load import DrawnDays, drawn_loads
from solver.simulation.durations import estimate
from solver.simulation.holding import hot_from_min, hot_holding_c, standing_c
from solver.simulation.query import DurationEstimate
from solver.thermal.energy_balance import Load

CHANCE_STEP = 5
MIDDLE_MIN = 10
REFUSED: Mapping[RefusalKind, NotTastedKind] = {
    "no-pot": "no-pot",
    "pots-too-small": "no-pot",
    "no-pot-for-it": "no-pot",
    "oven-too-cool": "oven-too-cool",
}


@dataclass(frozen=True)
class Option:
    """An entry tasted from a minute on: its best start, and what comes of it."""

    at: int
    cook_from: int
    load: int
    preheat_min: int
    ready: int
    cautious: int | None
    of_100: int
    held_min: int
    coolest_c: float
    middle_c: tuple[float, ...]  # every ten minutes from loading, and at the tasting's end
    warm_min: int  # between 5 and 60 °C, to the tasting's end
    pot_id: str
    cooks: Load | None  # None: it has begun, as an earlier plan said


@dataclass(frozen=True)
class EntryOptions:
    """Every time at which an entry can be tasted; with none, why."""

    entry: Entry
    options: tuple[Option, ...]
    refusal: NotTasted | None


def contest_day(event: Event, draw: Draw) -> Day:
    """Return the contest's own day: its cookers at their places, its dishes as one late meal."""
    contest = _contest(event)
    drawn = {p.entry_id: p for p in draw.places}
    cookers = {c.id: c for c in event.contest_cookers}
    entries = [e for e in event.entries if not e.withdrawn]
    placed = [
        changed(cookers[drawn[e.id].cooker_id], station=drawn[e.id].station_id) for e in entries
    ]
    dishes = [
        changed(e.dish, id=e.id, meal=TASTING, only_in=(drawn[e.id].cooker_id,)) for e in entries
    ]
    last = Meal(id=TASTING, name="Tasting", start=contest.end, end=contest.end, portions=1)
    return make_day(
        changed(
            event,
            cookers=tuple(placed),
            dishes=tuple(dishes),
            meals=(last,),
            talks=(),
            groups=(),
            stops=(),
            rota=Rota(),
        )
    )


def grid(day: Day, contest: Contest, span: int) -> list[int]:
    """Return the minutes of the day at which a tasting may begin: on its grid, over no break."""
    start, end = minute_at(day, contest.start), minute_at(day, contest.end)
    breaks = [(at := minute_at(day, b.at), at + b.minutes) for b in contest.closed]
    return [
        t
        for t in range(start, end - span + 1, contest.minutes)
        if all(t + span <= first or t >= last for first, last in breaks)
    ]


@dataclass(frozen=True)
class Before:
    """Where an earlier plan of the day has an entry: minutes of the day, and what time it is."""

    at: int
    load: int
    cook_from: int
    now: int

    @property
    def is_loaded(self) -> bool:
        """Whether it is on the sun: teams load as planned, nobody writes it down."""
        return self.load <= self.now

    def allows(self, load: int) -> bool:
        """Return whether a start is still to come, or is the one that it had."""
        return load == self.load if self.is_loaded else load > self.now


def entry_options(
    day: Day, event: Event, span: int, before: Mapping[str, Before] | None = None
) -> list[EntryOptions]:
    """Return, for every entry, the times at which it can be tasted; as before where it can be."""
    contest = _contest(event)
    times = grid(day, contest, span)
    refusals: dict[str, Refusal] = {}
    asked = []
    entries = [e for e in event.entries if not e.withdrawn]
    for entry, dish in zip(entries, day.event.dishes, strict=True):
        queries, refused = queries_of(day, split(day, dish, 1), Counter())
        if queries:
            asked.append((entry, dataclasses.replace(queries[0], last_plate=_latest(day, contest))))
        else:
            cooker = dish.only_in[0]
            refusals[entry.id] = next(
                r for c, r in refused.items() if cooker in day.pools.get(c, (c,))
            )
    durations = dict(
        zip([e.id for e, _ in asked], estimate(day, [q for _, q in asked]), strict=True)
    )
    results = []
    for entry in entries:
        if entry.id in refusals:
            why = _refused(entry, refusals[entry.id])
            results.append(EntryOptions(entry, (), why))
        else:
            was = (before or {}).get(entry.id)
            results.append(_of_entry(day, entry, durations[entry.id], contest, times, span, was))
    return results


def _of_entry(
    day: Day,
    entry: Entry,
    durations: DurationEstimate,
    contest: Contest,
    times: list[int],
    span: int,
    before: Before | None,
) -> EntryOptions:
    by_time: dict[int, Option] = {}
    for option in _all(day, durations, contest, times, span, before):
        best = by_time.get(option.at)
        if best is None or _cost(day, option, before) < _cost(day, best, before):
            by_time[option.at] = option
    options = tuple(by_time[t] for t in sorted(by_time))
    why = None if options else _why_never(day, entry, durations, contest, times, span, before)
    return EntryOptions(entry, options, why)


def _cost(day: Day, option: Option, before: Before | None) -> tuple[int, int, int]:
    """Return what makes one start worse than another: its chance, then how long it is held."""
    moved = before is not None and option.load != before.load
    unsure = unsure_steps(day.event, option.of_100) + CHANGE_STEPS * moved
    return unsure, option.held_min, option.load


def in_steps(share: float) -> int:
    """Return a share of drawn days as a chance in a hundred, to the nearest five."""
    return min(SKIES_MOST, int(share * 100 / CHANCE_STEP + 0.5) * CHANCE_STEP)


def told_of_100(days: DrawnDays, cooker_id: str, option: Option) -> int:
    """Return how surely an entry is ready at its tasting, on days that did not choose its time."""
    cooker = next(c for c in days.day.event.cookers if c.id == cooker_id)
    minutes = option.at - option.load
    assert option.cooks is not None
    ran = drawn_loads(days, cooker, option.cooks, np.asarray([option.load]), minutes)
    return in_steps(float(np.mean(ran.done[0, :, -1])))


def unsure_steps(event: Event, of_100: int) -> int:
    """Return by how many steps of five a chance falls short of the one that is wanted."""
    return max(0, -(-(event.chance_pct - of_100) // CHANCE_STEP))


def _all(
    day: Day,
    durations: DurationEstimate,
    contest: Contest,
    times: list[int],
    span: int,
    before: Before | None,
) -> Iterator[Option]:
    """Yield every start with every time at which it comes out as the rules ask.

    What is on the sun may cook on for longer when its tasting moves: it had its time to begin.
    """
    dish, query = durations.query.load.dishes[0], durations.query
    clock_limit = clock_limit_min(day.event, dish)
    drawn, hot_c = durations.drawn_min(0), hot_holding_c(day, dish) + HOLD_SPARE_K
    for k, load in enumerate(query.starts.tolist()):
        expected = float(durations.expected_min[0, k])
        if not np.isfinite(expected) or (before and not before.allows(load)):
            continue
        ready = ceil_to_slot(load + expected)
        cautious = float(durations.cautious_min[0, k])
        for t in times:
            held, cook_from = t + span - ready, cooking_from(day, contest, t)
            if before is not None and before.is_loaded:
                cook_from = before.cook_from
            if ready > t or held > contest.held_max_min or load < cook_from:
                continue
            # What is served cold may be under 60 °C as soon as it is ready.
            warm_min = float(durations.clock_min[0, k]) + (0 if dish.serve_hot else held)
            if dish.hazardous and warm_min > clock_limit:
                continue
            hot_from = min(float(hot_from_min(day, durations, 0, k)), ready - load)
            coolest_c = _coolest_c(day, durations, k, hot_from, t - load, span)
            if not coolest_c >= hot_c:  # unknown is not hot
                continue
            share = float(np.mean(load + drawn[:, k] <= t))
            yield Option(
                at=t,
                cook_from=cook_from,
                load=load,
                preheat_min=ceil_to_slot(query.load.preheat_min),
                ready=ready,
                cautious=ceil_to_slot(load + cautious) if np.isfinite(cautious) else None,
                of_100=in_steps(share),
                held_min=held,
                coolest_c=round(coolest_c, 1),
                middle_c=_middle_c(day, durations, k, t - load, span),
                warm_min=round(warm_min),
                pot_id=query.load.pots[0].id,
                cooks=query.load,
            )


def _coolest_c(
    day: Day, durations: DurationEstimate, k: int, since_min: float, lift_min: float, span: int
) -> float:
    """Return the coldest middle from a time after loading until the tasting ends.

    In its cooker until it is lifted, then standing.
    """
    on_heat = durations.coldest_c(0, k, since_min=since_min, until_min=lift_min)
    return min(float(on_heat), _standing_c(day, durations, k, lift_min, span))


def _standing_c(
    day: Day, durations: DurationEstimate, k: int, lift_min: float, stands_min: int
) -> float:
    """Return the middle of an entry that was lifted and has stood for some minutes."""
    load, lift = durations.query.load, int(durations.query.starts[k] + lift_min)
    stood_c = standing_c(
        day,
        load.dishes[0],
        load.masses_kg[0],
        load.pots[0],
        from_c=float(durations.middle_c(0, k, lift_min)),
        start=lift,
        end=lift + stands_min,
    )
    return float(stood_c)


def _middle_c(
    day: Day, durations: DurationEstimate, k: int, lift_min: int, span: int
) -> tuple[float, ...]:
    """Return an entry's middle every ten minutes from loading, and at its tasting's end."""
    end_min = lift_min + span
    moments = [*range(0, end_min, MIDDLE_MIN), end_min]
    return tuple(
        round(_standing_c(day, durations, k, min(at, lift_min), max(at - lift_min, 0)), 1)
        for at in moments
    )


def cooking_from(day: Day, contest: Contest, at: int) -> int:
    """Return from when an entry may be loaded that is tasted at `at`."""
    if contest.together_at is not None:
        return minute_at(day, contest.together_at)
    return at - contest.cook_min


def _why_never(
    day: Day,
    entry: Entry,
    durations: DurationEstimate,
    contest: Contest,
    times: list[int],
    span: int,
    before: Before | None,
) -> NotTasted:
    """Return why an entry has no time, loosening one rule after another."""
    best = float(np.min(durations.expected_min, initial=np.inf))
    loose = changed(contest, held_max_min=120)
    held = [o.held_min for o in _all(day, durations, loose, times, span, before)]
    if held:
        figures = {"held_min": min(held), "limit_min": contest.held_max_min}
        return NotTasted(entry_id=entry.id, kind="held-too-long", figures=figures)
    if not math.isfinite(best) or best > contest.cook_min:
        figures = {"cook_min": contest.cook_min}
        figures |= {"best_min": round(best)} if math.isfinite(best) else {}
        return NotTasted(entry_id=entry.id, kind="never-ready", figures=figures)
    dish = durations.query.load.dishes[0]
    too_warm = float(durations.clock_min.min()) > clock_limit_min(day.event, dish)
    if dish.hazardous and (too_warm or not dish.serve_hot):
        return NotTasted(entry_id=entry.id, kind="unsafe", figures={})
    hot_c = hot_holding_c(day, dish)
    return NotTasted(entry_id=entry.id, kind="goes-cold", figures={"limit_c": hot_c})


def _refused(entry: Entry, refusal: Refusal) -> NotTasted:
    kind = REFUSED.get(refusal.kind, "no-sun")
    return NotTasted(entry_id=entry.id, kind=kind, figures=dict(refusal.figures))


def _latest(day: Day, contest: Contest) -> int:
    return minute_at(day, contest.end)


def _contest(event: Event) -> Contest:
    assert event.contest is not None
    return event.contest
