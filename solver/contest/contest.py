"""The contest's plan: places offered, the draw, tastings, and how alike the sun is."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from events.contest import Contest, Entry, Judge
from events.model import Event
from events.reading.foods import contents
from events.table import changed
from solver.contest.lot import draw, lists_sha256
from solver.contest.options import (
    Before,
    EntryOptions,
    Option,
    contest_day,
    cooking_from,
    entry_options,
    told_of_100,
    unsure_steps,
)
from solver.contest.question import Choice, Question
from solver.contest.sunshine import most_unlike, sun_totals, water_minutes
from solver.contest_plan import (
    ContestPlan,
    Draw,
    EntrySun,
    JudgeAt,
    NotTasted,
    Tasting,
)
from solver.policy import NOTICE_MIN, SLOT_MIN
from solver.simulation.clock import minute_at
from solver.simulation.day import Day, scaled
from solver.simulation.drawn_load import DrawnDays
from solver.solar.irradiance import at_minute, minute_of
from solver.thermal.energy_balance import Array

ALMOST = 0.98  # of the forecast's sun: less of it, and a contest is planned again
TELLING_SEED = 71  # of the days from which chances are told


def contest_plan(crowd: Day, before: ContestPlan | None = None) -> ContestPlan | None:
    """Return the contest's plan; None where there is no contest.

    On the day itself (`before`) it stays as it is, unless its tables were changed or today's sun
    is another: then as few tastings move as can be, none that has begun or soon begins.
    """
    event = crowd.event
    contest = event.contest
    if contest is None or not event.entries:
        return None
    totals = sun_totals(event)
    left_out = _left_out(crowd, contest, totals)
    base = ContestPlan(
        left_out=left_out,
        lists_sha256=lists_sha256(event, left_out),
        draw=None,
        tastings=(),
        sun=(),
        not_tasted=(),
        levels=(),
    )
    if contest.seed is None:
        return base
    drawn = draw(event, contest.seed, left_out)
    day = contest_day(event, drawn)
    if before is None or before.draw is None:
        return _with_tastings(day, event, drawn, totals, base, ())
    today = _today(crowd)
    if before.draw == drawn and _same_tables(event, before) and np.all(today > ALMOST):
        return before
    day = scaled(day, {c.id: today for c in day.event.cookers})
    now = crowd.replan.minute if crowd.replan else 0
    stay = tuple(_staying(crowd, event, drawn, before, now))
    return _with_tastings(day, event, drawn, totals, base, stay, _Earlier(before, now))


@dataclass(frozen=True)
class _Earlier:
    """An earlier plan of the day, and the minute at which it is planned again."""

    plan: ContestPlan
    now: int


def _today(crowd: Day) -> Array:
    """Return, by minute, what today leaves of the sun: as most of the crowd's sun cookers have it.

    Teams write no diary of their own.
    """
    size = crowd.sky.air_c.size
    on_sun = [crowd.availability[c.id] for c in crowd.event.cookers if c.on_sun]
    share: Array = np.median(on_sun, axis=0) if on_sun else np.ones(size)
    return share


def _staying(
    day: Day, event: Event, drawn: Draw, before: ContestPlan, now: int
) -> Iterator[Tasting]:
    """Yield the tastings that have begun or soon begin, where entry and rules are as they were."""
    assert event.contest is not None
    span, _ = event.contest.span_and_lanes(len(event.judges))
    places = {p.entry_id: p.cooker_id for p in drawn.places}
    judges = {j.id for j in event.judges}
    for t in before.tastings:
        at = minute_of(day.sky, t.at)
        if at >= now + NOTICE_MIN or places.get(t.entry_id) != t.cooker_id:
            continue
        if at <= now:
            yield changed(t, judges=tuple(j for j in t.judges if j.judge_id in judges))
        elif t.minutes == span:
            tasting = _judges(day, event, event.entry(t.entry_id), at, t.lane)
            yield changed(t, judges=tuple(tasting))


def _same_tables(event: Event, before: ContestPlan) -> bool:
    """Return whether an earlier plan is of the same entries and judges."""
    tasted = {t.entry_id for t in before.tastings} | {n.entry_id for n in before.not_tasted}
    judges = {j.judge_id for t in before.tastings for j in t.judges}
    return tasted == {e.id for e in event.entries if not e.withdrawn} and judges <= {
        j.id for j in event.judges
    }


def _left_out(day: Day, contest: Contest, totals: Mapping[str, Array]) -> tuple[str, ...]:
    """Return the places that are not drawn: their sun in the middle is least like the others'."""
    entries = [e for e in day.event.entries if not e.withdrawn]
    fixed = {e.station for e in entries}
    places = [s for s in contest.stations if s not in fixed]
    middle = (minute_at(day, contest.start) + minute_at(day, contest.end)) // 2
    hours = slice(cooking_from(day, contest, middle), middle)
    return most_unlike(totals, places, sum(e.station is None for e in entries), hours)


def _with_tastings(
    day: Day,
    event: Event,
    drawn: Draw,
    totals: Mapping[str, Array],
    base: ContestPlan,
    stay: Sequence[Tasting],
    earlier: _Earlier | None = None,
) -> ContestPlan:
    from solver.contest.timetable import solve_tastings  # noqa: PLC0415  ortools takes 0.8 s

    times = _Times.of(day, event, drawn, totals, stay, earlier)
    answer = solve_tastings(times.question())
    chosen = sorted((times.pairs[k] for k in answer.chosen), key=lambda p: (p.option.at, p.entry))
    stations = {p.entry_id: p.station_id for p in drawn.places}
    starts = [(stations[p.id], p.option.cook_from) for p in chosen]
    waters = water_minutes(event, starts)
    suns = tuple(
        EntrySun(entry_id=p.id, sun_min=p.sun_min, water_min=water)
        for p, water in zip(chosen, waters, strict=True)
    )
    return changed(
        base,
        draw=drawn,
        tastings=tuple(_moved(_tastings(day, event, times, chosen), stay, earlier)),
        sun=suns,
        not_tasted=tuple(_not_tasted(times, {p.entry for p in chosen})),
        levels=answer.levels,
    )


@dataclass(frozen=True)
class _Pair:
    """An entry, by number and id, at one of its times, with the sun of its place until then."""

    entry: int
    id: str
    cooker_id: str
    option: Option
    sun_min: int
    moved: bool


@dataclass(frozen=True)
class _Times:
    """Every entry at each of its times."""

    event: Event
    entries: tuple[EntryOptions, ...]
    pairs: tuple[_Pair, ...]
    span: int
    lanes: int

    @classmethod
    def of(
        cls,
        day: Day,
        event: Event,
        drawn: Draw,
        totals: Mapping[str, Array],
        stay: Sequence[Tasting],
        earlier: _Earlier | None,
    ) -> _Times:
        """Return them by the physics of a contest's day; those that stay have their time only."""
        assert event.contest is not None
        span, lanes = event.contest.span_and_lanes(len(event.judges))
        before = {
            t.entry_id: Before(
                at=minute_of(day.sky, t.at),
                load=minute_of(day.sky, t.loaded_at),
                cook_from=minute_of(day.sky, t.cook_from),
                now=e.now,
            )
            for e in ([earlier] if earlier else [])
            for t in e.plan.tastings
        }
        places = {p.entry_id: p for p in drawn.places}
        fixed = {t.entry_id: _as_it_was(day, t) for t in stay}
        entries = [
            dataclasses.replace(one, options=(fixed[one.entry.id],), refusal=None)
            if one.entry.id in fixed
            else one
            for one in entry_options(day, event, span, before)
        ]
        pairs = []
        for n, one in enumerate(entries):
            place, was = places[one.entry.id], before.get(one.entry.id)
            for o in one.options:
                total = totals[place.station_id]
                sun = float(total[o.at] - total[max(0, o.cook_from)])
                moved = was is not None and (o.at, o.load) != (was.at, was.load)
                pairs.append(_Pair(n, one.entry.id, place.cooker_id, o, round(sun), moved))
        return cls(event, tuple(entries), tuple(pairs), span, lanes)

    def question(self) -> Question:
        """Return what the order of tastings has to know of them."""
        choices = tuple(
            Choice(
                entry=p.entry,
                at=p.option.at // SLOT_MIN,
                unsure=unsure_steps(self.event, p.option.of_100),
                sun=p.sun_min,
                held=p.option.held_min,
                moved=int(p.moved),
            )
            for p in self.pairs
        )
        return Question(len(self.entries), choices, self.span // SLOT_MIN, self.lanes)


def _as_it_was(day: Day, t: Tasting) -> Option:
    """Return an earlier plan's time of an entry as the only one it can have."""
    return Option(
        at=minute_of(day.sky, t.at),
        cook_from=minute_of(day.sky, t.cook_from),
        load=minute_of(day.sky, t.loaded_at),
        preheat_min=t.preheat_min,
        ready=minute_of(day.sky, t.ready_at),
        cautious=minute_of(day.sky, t.cautious_at) if t.cautious_at else None,
        of_100=t.chosen_of_100,
        held_min=t.held_min,
        coolest_c=t.coolest_c,
        middle_c=t.middle_c,
        warm_min=t.between_5_and_60_min,
        pot_id=t.pot_id,
        cooks=None,
    )


def _moved(
    tastings: Iterable[Tasting], stay: Sequence[Tasting], earlier: _Earlier | None
) -> Iterator[Tasting]:
    """Yield the tastings, those that stay as they were, those that move with their time before."""
    staying = {t.entry_id: t for t in stay}
    before = {t.entry_id: t for t in earlier.plan.tastings} if earlier else {}
    for t in tastings:
        was = before.get(t.entry_id)
        if t.entry_id in staying:
            yield staying[t.entry_id]
        elif was is not None and (was.at, was.loaded_at) != (t.at, t.loaded_at):
            yield changed(t, was_at=was.was_at or was.at)
        else:
            yield changed(t, was_at=was.was_at) if was else t


def _tastings(day: Day, event: Event, times: _Times, chosen: Sequence[_Pair]) -> Iterator[Tasting]:
    free_from, days = [0] * times.lanes, DrawnDays.of(day, TELLING_SEED)
    for p in chosen:
        lane = next(n for n, minute in enumerate(free_from) if minute <= p.option.at)
        free_from[lane] = p.option.at + times.span
        o, entry = p.option, times.entries[p.entry].entry
        yield Tasting(
            entry_id=p.id,
            cooker_id=p.cooker_id,
            pot_id=o.pot_id,
            lane=lane,
            cook_from=at_minute(day.sky, o.cook_from),
            loaded_at=at_minute(day.sky, o.load),
            ready_at=at_minute(day.sky, o.ready),
            cautious_at=at_minute(day.sky, o.cautious) if o.cautious is not None else None,
            at=at_minute(day.sky, o.at),
            minutes=times.span,
            judges=tuple(_judges(day, event, entry, o.at, lane)),
            of_100=told_of_100(days, p.cooker_id, o) if o.cooks else o.of_100,
            chosen_of_100=o.of_100,
            held_min=o.held_min,
            coolest_c=o.coolest_c,
            middle_c=o.middle_c,
            between_5_and_60_min=o.warm_min,
            preheat_min=o.preheat_min,
        )


def _judges(day: Day, event: Event, entry: Entry, at: int, lane: int) -> Iterator[JudgeAt]:
    """Yield who tastes an entry and when: all at once, or in the wheel.

    In step s of the clock the pot in lane c is visited by party (s + c) of them, counted round: in
    its window each party comes once, and two lanes never have the same.
    """
    contest = event.contest
    assert contest is not None
    _, lanes = contest.span_and_lanes(len(event.judges))
    first = (at - minute_at(day, contest.start)) // contest.minutes
    for n, judge in enumerate(event.judges):
        step = 0
        if contest.how == "walk":
            step = (n // contest.judges_at_once - first - lane) % lanes
        minute = at + step * contest.minutes
        if _tastes(day, entry, judge, minute, contest.minutes):
            yield JudgeAt(judge_id=judge.id, at=at_minute(day.sky, minute))


def _tastes(day: Day, entry: Entry, judge: Judge, minute: int, minutes: int) -> bool:
    """Return whether a judge is there, is not close to the team and may eat the dish."""
    start, end = minute_at(day, judge.start), minute_at(day, judge.end)
    inside = contents(entry.dish)
    return (
        start <= minute
        and minute + minutes <= end
        and entry.team not in judge.kin
        and not set(judge.avoids) & (inside.contains | inside.unknown)  # unknown is never none
    )


def _not_tasted(times: _Times, tasted: set[int]) -> Iterator[NotTasted]:
    for n, one in enumerate(times.entries):
        if n not in tasted:
            yield one.refusal or NotTasted(entry_id=one.entry.id, kind="no-time-left", figures={})
