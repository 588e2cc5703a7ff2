"""Showing loads: water, or an empty box, on the sun for the sake of a talk and never to be eaten.

They come once pots and talks have their times: on a cooker, in a pot and with hands that are free
then, so that no food waits for them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from events.kitchen import Composition, Cooker, Dish, Pot
from events.model import Helper, Talk
from events.rounds import Moment
from events.table import changed
from solver.plan import Job, JobKind, Plan
from solver.policy import LAST_OVER_MIN, SHOW_LEAD_MIN, SHOW_WATER_KG, SLOT_MIN
from solver.programme import Giving, ShowingLoad, TalkReason
from solver.rostering.programme import Work
from solver.rostering.tasks import SunExposure
from solver.rostering.turns import Trip, turns_of, walks_of
from solver.rounds.sights import OVER_C
from solver.scheduling.batches import pots_for
from solver.scheduling.starts import possible_starts
from solver.simulation.day import Day
from solver.simulation.drawn_load import DRAWS, DrawnDays, drawn_empty, drawn_loads
from solver.solar.irradiance import at_minute, minute_of
from solver.solar.tracking import declination_deg, interval_min
from solver.talks.hands import free_slots, free_speakers, is_watched, taken
from solver.talks.moments import Shown, heat_seen
from solver.thermal.energy_balance import Ints, Load

SHOWABLE: tuple[Moment, ...] = ("loading", "first-steam", "boil", "over-100")
START_STEP_MIN = 15  # givings go by slots, so every lead is tried
BOILED_AWAY = 0.5  # so much of the water may go: no pot boils dry for a talk
POINT_MIN = 3  # a point of chance is worth so many minutes on the sun: judgement
WATER = Dish(
    id="water",
    name="Water",
    meal="none",
    portions=1,
    portion_kg=SHOW_WATER_KG,
    composition=Composition(water=1.0),
    start_c=18.0,
    done="boil",
)


@dataclass(frozen=True)
class Staged:
    """A giving with what is put on for it, and the work that brings."""

    giving: Giving
    work: Work


@dataclass(frozen=True)
class Sought:
    """A giving that was found; else why there is none, and how surely it could be seen."""

    staged: Staged | None
    best: float
    reason: TalkReason


@dataclass(frozen=True)
class _Option:
    """A cooker put on the sun in one slot for a giving in another."""

    cooker: Cooker
    pot: Pot | None
    start: int
    giving: int
    cost: int


def seek(
    days: DrawnDays, plan: Plan, talk: Talk, times: Sequence[int], least: float, kept: set[int]
) -> Sought:
    """Return a giving in one of some slots with a load of its own; a `kept` slot goes first."""
    best, options = 0.0, list[_Option]()
    for cooker, pot in _places(days.day, talk) if times else ():
        for option, share in _options(days, talk, cooker, pot, times):
            best = max(best, share)
            if share >= least and _is_free(days.day, plan, option, talk):
                options.append(option)
    for option in sorted(options, key=lambda o: (bool(kept) and o.giving not in kept, o.cost)):
        staged = _staffed(days.day, plan, talk, option)
        if staged is not None:
            return Sought(staged, best, "not-shown")
    reason: TalkReason = "not-shown" if best < least else "no-hands" if options else "no-cooker"
    return Sought(None, best, reason)


def _places(day: Day, talk: Talk) -> Iterator[tuple[Cooker, Pot | None]]:
    """Yield the sun cookers at which a talk's moment can be shown, with their pot for water."""
    for cooker in day.event.cookers:
        out = day.replan is not None and cooker.id in day.replan.unavailable
        if out or not cooker.on_sun or talk.cooker not in (None, cooker.id):
            continue
        if talk.moment == "over-100":
            if cooker.is_oven:
                yield cooker, None
            continue
        for pot in pots_for(day.event, cooker, WATER, SHOW_WATER_KG)[:1]:
            yield cooker, pot


def _options(
    days: DrawnDays, talk: Talk, cooker: Cooker, pot: Pot | None, times: Sequence[int]
) -> Iterator[tuple[_Option, float]]:
    """Yield each start with each giving that it could be for, and how surely that shows it."""
    until = times[-1] * SLOT_MIN + talk.minutes
    grain = SLOT_MIN if talk.moment == "loading" else START_STEP_MIN
    starts = possible_starts(days.day, cooker, empty_min=0, until=until, grain_min=grain)
    starts = starts[starts >= times[0] * SLOT_MIN - SHOW_LEAD_MIN]
    for start, shown in zip(starts, _shown(days, talk, cooker, pot, starts), strict=True):
        for slot in times:
            at, lead = slot * SLOT_MIN, slot * SLOT_MIN - int(start)
            if not (-talk.minutes < lead <= 0 if talk.moment == "loading" else lead >= 0):
                continue
            if lead > SHOW_LEAD_MIN:
                break
            share = shown.share(at, at + talk.minutes)
            cost = POINT_MIN * round(100 * (1 - share)) + lead
            yield _Option(cooker, pot, int(start) // SLOT_MIN, slot, cost), share


def _shown(
    days: DrawnDays, talk: Talk, cooker: Cooker, pot: Pot | None, starts: Ints
) -> list[Shown]:
    """Return, for each start, when a talk's moment is to be seen on each of the drawn days."""
    day, moment = days.day, talk.moment
    assert moment is not None
    if moment == "loading" or not starts.size:
        once = np.ones((DRAWS, 1), dtype=bool)
        return [Shown(moment, cooker.id, (), int(s), once) for s in starts]
    minutes = SHOW_LEAD_MIN + talk.minutes
    if pot is None:
        seen = drawn_empty(days, cooker, starts, minutes) >= OVER_C
    else:
        load = Load((WATER,), (SHOW_WATER_KG,), (pot,))
        ran = drawn_loads(days, cooker, load, starts, minutes)
        heat: Literal["first-steam", "boil"] = "boil" if moment == "boil" else "first-steam"
        enough = ran.steam_kg <= BOILED_AWAY * SHOW_WATER_KG
        seen = np.asarray([heat_seen(day, heat, c) for c in ran.hottest_c]) & enough
    return [Shown(moment, cooker.id, (), int(s), one) for s, one in zip(starts, seen, strict=True)]


def told(days: DrawnDays, talk: Talk, load: ShowingLoad) -> Shown:
    """Return when a talk's moment is to be seen at the load that was put on for it."""
    event = days.day.event
    pot = event.pot(load.pot_id) if load.pot_id else None
    start = np.asarray([minute_of(days.day.sky, load.loaded_at)])
    return _shown(days, talk, event.cooker(load.cooker_id), pot, start)[0]


def _end(option: _Option, talk: Talk) -> int:
    """Return the slot in which the load comes off the sun: when the giving is over."""
    return option.giving + -(-talk.minutes // SLOT_MIN)


def _is_free(day: Day, plan: Plan, option: _Option, talk: Talk) -> bool:
    """Return whether cooker and pot are free, and the wind is not too much."""
    start, end = option.start * SLOT_MIN, (_end(option, talk) + 1) * SLOT_MIN
    limit = option.cooker.wind_limit_m_s
    if limit is not None and day.sky.wind_m_s[start:end].max() > limit:
        return False
    closes = option.cooker.closes or day.event.site.closes
    if at_minute(day.sky, end) > day.event.instant(min(closes, day.event.site.closes)):
        return False
    shows = [g.load for g in plan.talks.given if g.load] if plan.talks else []
    here = [
        (p.preheat_at or p.loaded_at, p.lifted_at)
        for p in plan.placements
        if p.cooker_id == option.cooker.id
    ]
    here += [(s.loaded_at, s.lifted_at) for s in shows if s.cooker_id == option.cooker.id]
    begins, ends = at_minute(day.sky, start), at_minute(day.sky, end)
    if any(a < ends and b > begins for a, b in here):
        return False
    if option.pot is None:
        return True
    wash = option.pot.wash_min
    late = at_minute(day.sky, end + wash)
    uses = [(p.loaded_at, p.served_at) for p in plan.placements if p.pot_id == option.pot.id]
    uses += [(s.loaded_at, s.lifted_at) for s in shows if s.pot_id == option.pot.id]
    washed = at_minute(day.sky, start - wash)
    # Counted as if all that are used meanwhile were used at once: never too few.
    return sum(a < late and b > washed for a, b in uses) < option.pot.count


def _staffed(day: Day, plan: Plan, talk: Talk, option: _Option) -> Staged | None:
    """Return the giving with a speaker and hands for its load, where they are free."""
    end, event = _end(option, talk), day.event
    for speaker in free_speakers(day, plan, talk, option.giving):
        name = event.helpers[speaker].id if speaker >= 0 else None
        work = _work(day, plan, talk, option, name)
        if work is None:
            continue
        load = ShowingLoad(
            cooker_id=option.cooker.id,
            pot_id=option.pot.id if option.pot else None,
            water_kg=SHOW_WATER_KG if option.pot else 0.0,
            loaded_at=at_minute(day.sky, option.start * SLOT_MIN),
            lifted_at=at_minute(day.sky, end * SLOT_MIN),
        )
        giving = Giving(
            talk_id=talk.id,
            giving=0,
            at=at_minute(day.sky, option.giving * SLOT_MIN),
            minutes=talk.minutes,
            speaker_id=name,
            cooker_id=option.cooker.id,
            load=load,
        )
        return Staged(giving, work)
    return None


def _work(day: Day, plan: Plan, talk: Talk, option: _Option, speaker: str | None) -> Work | None:
    """Return who sets a load on the sun, turns it and takes it off; None where nobody can."""
    cooker, start, end = option.cooker, option.start, _end(option, talk)
    span = set(range(start, end + 1))
    speaking = set(range(option.giving, end))
    if cooker.nature.concentrates and not is_watched(day, plan, span & speaking, without=speaker):
        return None
    if cooker.nature.concentrates and not is_watched(day, plan, span - speaking, without=None):
        return None
    busy = taken(day, [j for j in plan.jobs if j.kind in ("set-up", "pack-down")])
    hands = {
        h.id: free_slots(day, plan, h) - busy - (speaking if h.id == speaker else set())
        for h in _those_before_first(day, talk)
        if h.adult and cooker.ability in (None, *h.works)
    }
    if cooker.attended:  # one of them stays
        hands = {h: free for h, free in hands.items() if span <= free}
        hands = dict(list(hands.items())[:1])
    every = interval_min(cooker, declination_deg=declination_deg(day.event.date)) // SLOT_MIN
    trips = _trips(hands, start, end, every)
    first, last = _who(hands, start), _who(hands, end)
    if trips is None or first is None or last is None:
        return None
    exposure = SunExposure(cooker, start, end, every)
    jobs = [_job(day, talk, cooker, "load" if option.pot else "preheat", start, first)]
    if option.pot:
        jobs.append(_job(day, talk, cooker, "lift", end, last))
    if cooker.attended:
        stays = _job(day, talk, cooker, "attend", start, first)
        jobs.append(changed(stays, minutes=len(span) * SLOT_MIN))
    turns, walks = turns_of(day.sky, [exposure], trips), walks_of(day.sky, [exposure], trips)
    return Work(turns, walks, tuple(jobs))


def _those_before_first(day: Day, talk: Talk) -> list[Helper]:
    """Return the helpers; on the day, those first who had a talk's work in the earlier plan."""
    jobs = day.replan.plan.jobs if day.replan else ()
    names = [n for j in jobs if j.talk_id == talk.id and j.kind != "talk" for n in j.helper_ids]
    return sorted(day.event.helpers, key=lambda h: h.id not in names)


def _trips(hands: Mapping[str, set[int]], start: int, end: int, every: int) -> list[Trip] | None:
    """Return the turns of a cooker, each as late as somebody is free; None where nobody is."""
    trips, at = list[Trip](), start
    while end - at > every + LAST_OVER_MIN // SLOT_MIN:
        slots = (s for s in range(at + every, at, -1) if _who(hands, s) is not None)
        slot = next(slots, None)
        who = _who(hands, slot) if slot is not None else None
        if slot is None or who is None:
            return None
        trips.append(Trip(slot, who, (0,)))
        at = slot
    return trips


def _who(hands: Mapping[str, set[int]], slot: int) -> str | None:
    return next((h for h, free in hands.items() if slot in free), None)


def _job(day: Day, talk: Talk, cooker: Cooker, kind: JobKind, slot: int, who: str) -> Job:
    minute = slot * SLOT_MIN
    return Job(
        id=f"{kind}-{cooker.id}-{minute // 60:02d}{minute % 60:02d}-for-{talk.id}",
        kind=kind,
        at=at_minute(day.sky, minute),
        minutes=SLOT_MIN,
        helper_ids=(who,),
        cooker_id=cooker.id,
        talk_id=talk.id,
    )
