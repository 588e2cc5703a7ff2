"""The rules of a contest: places as the lot has them; tastings in time, hot and by all judges."""

from __future__ import annotations

import hashlib
import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from events.contest import Contest, Entry
from events.food_rules import clock_limit_min, least_middle_c, rules_of
from events.model import Event
from events.reading.foods import contents
from solver import policy
from solver.checking.breach import Breach
from solver.checking.context import Case, minutes
from solver.checking.sun_rules import sun_is_counted
from solver.contest_plan import ContestLevelKey, ContestPlan, Draw, Tasting
from solver.plan import Job, Walk

ROUNDING_K = 0.1
MIDDLE_MIN = 10  # a tasting tells its entry's middle this often


@dataclass(frozen=True)
class _Held:
    """A contest with its plan."""

    case: Case
    contest: Contest
    plan: ContestPlan

    @property
    def event(self) -> Event:
        """Return the event."""
        return self.case.event

    @property
    def entries(self) -> list[Entry]:
        """Return the entries that are not withdrawn."""
        return [e for e in self.event.entries if not e.withdrawn]

    @property
    def coming(self) -> list[Tasting]:
        """Return the tastings that had not begun when the day was planned again."""
        now = self.case.plan.replanned_at
        return [t for t in self.plan.tastings if now is None or t.at > now]

    def end(self, tasting: Tasting) -> datetime:
        """Return when a tasting ends."""
        return tasting.at + timedelta(minutes=tasting.minutes)


def the_contest_is_kept(case: Case) -> Iterator[Breach]:
    """Where there is a contest, its plan keeps the rules of the draw and of tasting."""
    contest, plan = case.event.contest, case.plan.contest
    if contest is None:
        return
    if plan is None:
        yield Breach("no-contest", ())
        return
    if contest.seed is None or plan.draw is None:
        if plan.tastings or (contest.seed is not None) != (plan.draw is not None):
            yield Breach("tasted-without-a-draw", ())
        return
    known = {e.id for e in case.event.entries if not e.withdrawn}
    judges = {j.id for j in case.event.judges}
    for t in plan.tastings:
        if t.entry_id not in known or not {j.judge_id for j in t.judges} <= judges:
            yield Breach("unknown-entry-or-judge", (t.entry_id,))
            return
    for rule in _RULES:
        yield from rule(_Held(case, contest, plan), plan.draw)


def _each_entry_is_tasted_or_refused(held: _Held, _: Draw) -> Iterator[Breach]:
    """Every entry has one tasting, or stands among those that have none, with why."""
    refused = [n.entry_id for n in held.plan.not_tasted]
    for entry in held.entries:
        times = sum(t.entry_id == entry.id for t in held.plan.tastings)
        if times + refused.count(entry.id) != 1:
            yield Breach("not-tasted-once", (entry.id,), times, 1)


def _places_are_the_lots(held: _Held, draw: Draw) -> Iterator[Breach]:
    """Places and cookers are those that the seed deals: drawn here once more, by itself."""
    event, seed = held.event, draw.seed
    if seed != held.contest.seed:
        yield Breach("another-seed", (), seed, held.contest.seed)
        return
    fixed = {e.station for e in held.entries}
    left_out = held.plan.left_out
    places = [s for s in held.contest.stations if s not in fixed and s not in left_out]
    cookers = [c.id for c in event.contest_cookers if c.team is None]
    seeking = [e.id for e in held.entries if e.station is None]
    cooking = [e.id for e in held.entries if e.cooker is None]
    dealt = dict(zip(_lot(seed, "entries", seeking), _lot(seed, "places", places), strict=False))
    lent = dict(zip(_lot(seed, "entries", cooking), _lot(seed, "cookers", cookers), strict=False))
    has = {p.entry_id: p for p in draw.places}
    for e in held.entries:
        wanted = (e.station or dealt.get(e.id), e.cooker or lent.get(e.id))
        got = (has[e.id].station_id, has[e.id].cooker_id) if e.id in has else (None, None)
        if got != wanted:
            yield Breach("not-what-the-lot-deals", (e.id, *map(str, got)), str(wanted))
    text = "\n".join("".join(f"{id}\n" for id in part) for part in (seeking, places, cookers))
    if held.plan.lists_sha256 != hashlib.sha256(text.encode()).hexdigest():
        yield Breach("wrong-fingerprint-of-lists", ())


def _lot(seed: str, table: str, ids: Sequence[str]) -> list[str]:
    keyed = [(hashlib.sha256("\n".join((seed, table, id)).encode()).digest(), id) for id in ids]
    return [id for _, id in sorted(keyed)]


def _one_entry_at_a_place(held: _Held, draw: Draw) -> Iterator[Breach]:
    """A place holds one entry, a cooker cooks one, and a team's own only its team's."""
    teams = {c.id: c.team for c in held.event.contest_cookers}
    for one, two in itertools.combinations(draw.places, 2):
        if one.station_id == two.station_id or one.cooker_id == two.cooker_id:
            yield Breach("two-entries-at-one-place", (one.entry_id, two.entry_id))
    for p in draw.places:
        owner = teams.get(p.cooker_id)
        if owner is not None and owner != held.event.entry(p.entry_id).team:
            yield Breach("cooker-of-another-team", (p.entry_id, p.cooker_id), owner)
    cookers = {p.entry_id: p.cooker_id for p in draw.places}
    for t in held.plan.tastings:
        if cookers.get(t.entry_id) != t.cooker_id:
            yield Breach("not-its-cooker", (t.entry_id, t.cooker_id))


def _tastings_are_on_the_grid(held: _Held, _: Draw) -> Iterator[Breach]:
    """A tasting has its minutes, on the grid from the first, in tasting hours, over no break."""
    case, contest = held.case, held.contest
    start, end = case.at(contest.start), case.at(contest.end)
    span, lanes = contest.span_and_lanes(len(held.event.judges))
    for t in held.coming:
        if t.minutes != span:
            yield Breach("wrong-tasting-minutes", (t.entry_id,), t.minutes, span)
        if minutes(t.at - start) % contest.minutes:
            yield Breach("tasting-off-the-grid", (t.entry_id,), t.at)
        if t.at < start or held.end(t) > end:
            yield Breach("tasting-outside-hours", (t.entry_id,), t.at)
        for pause in contest.closed:
            at = case.at(pause.at)
            if t.at < at + timedelta(minutes=pause.minutes) and held.end(t) > at:
                yield Breach("tasting-in-a-break", (t.entry_id,), t.at)
        if not 0 <= t.lane < lanes:
            yield Breach("no-such-lane", (t.entry_id,), t.lane, lanes)
    for one, two in itertools.combinations(held.plan.tastings, 2):
        meets = one.at < held.end(two) and two.at < held.end(one)
        if one.lane == two.lane and meets:
            yield Breach("two-in-a-lane", (one.entry_id, two.entry_id))


def _judges_taste_each_once(held: _Held, _: Draw) -> Iterator[Breach]:
    """A judge who is asked tastes an entry once, in its tasting, and one at a time."""
    contest, busy = held.contest, dict[tuple[str, datetime], str]()
    for t in held.coming:
        entry = held.event.entry(t.entry_id)
        if len({j.judge_id for j in t.judges}) != len(t.judges):
            yield Breach("judge-tastes-twice", (t.entry_id,))
        inside = contents(entry.dish)
        for j in t.judges:
            judge, ids = held.event.judge(j.judge_id), (t.entry_id, j.judge_id)
            until = j.at + timedelta(minutes=contest.minutes)
            if j.at < t.at or until > held.end(t):
                yield Breach("judge-outside-the-tasting", ids, j.at, t.at)
            if j.at < held.case.at(judge.start) or until > held.case.at(judge.end):
                yield Breach("judge-not-there", ids, j.at)
            if entry.team in judge.kin:
                yield Breach("judge-is-kin", ids)
            if set(judge.avoids) & (inside.contains | inside.unknown):
                yield Breach("judge-avoids-it", ids)
            if (judge.id, j.at) in busy:
                yield Breach("judge-in-two-places", (*ids, busy[judge.id, j.at]), j.at)
            busy[judge.id, j.at] = t.entry_id
        absent = {j.id for j in held.event.judges} - {j.judge_id for j in t.judges}
        for name in sorted(absent):
            judge = held.event.judge(name)
            there = held.case.at(judge.start) <= t.at and held.end(t) <= held.case.at(judge.end)
            avoided = set(judge.avoids) & (inside.contains | inside.unknown)
            if there and entry.team not in judge.kin and not avoided:
                yield Breach("judge-not-asked", (t.entry_id, name))


def _entries_are_cooked_in_time(held: _Held, _: Draw) -> Iterator[Breach]:
    """No entry is loaded before its time, tasted before it is ready, or held longer than ruled."""
    contest = held.contest
    for t in held.coming:
        ids = (t.entry_id,)
        # Moved on the day, what was on the sun keeps the time from which it might be loaded.
        cook = timedelta(minutes=contest.cook_min)
        allowed = {t.at - cook} | ({t.was_at - cook} if t.was_at else set())
        if contest.together_at is not None:
            allowed = {held.case.at(contest.together_at)}
        begins = t.cook_from
        if begins not in allowed:
            yield Breach("wrong-cooking-time", ids, begins, t.at - cook)
        if t.loaded_at < begins:
            yield Breach("loaded-too-soon", ids, t.loaded_at, begins)
        if not t.loaded_at < t.ready_at <= t.at:
            yield Breach("not-ready-when-tasted", ids, t.ready_at, t.at)
        if t.cautious_at is not None and t.cautious_at < t.ready_at:
            yield Breach("estimates-not-in-order", ids)
        long = minutes(held.end(t) - t.ready_at)
        if t.held_min != long:
            yield Breach("wrong-held-minutes", ids, t.held_min, long)
        if long > contest.held_max_min:
            yield Breach("entry-held-too-long", ids, long, contest.held_max_min)
        for told in (t.of_100, t.chosen_of_100):
            if not 0 <= told <= policy.SKIES_MOST or told % 5:
                yield Breach("chance-not-in-steps", ids, told)


def _entries_are_safe(held: _Held, _: Draw) -> Iterator[Breach]:
    """Until all have tasted it an entry is hot, or counted as warm from when it was ready."""
    hot_c = rules_of(held.event).hot_holding_c
    for t in held.coming:
        ids, dish, warm_min = (
            (t.entry_id,),
            held.event.entry(t.entry_id).dish,
            t.between_5_and_60_min,
        )
        limit_min = clock_limit_min(held.event, dish)
        if dish.hazardous and warm_min > limit_min:
            yield Breach("entry-too-long-between-5-and-60", ids, warm_min, limit_min)
        if dish.serve_hot and t.coolest_c < hot_c - ROUNDING_K:
            yield Breach("entry-goes-cold", ids, t.coolest_c, hot_c)
        stands_min = minutes(held.end(t) - t.ready_at)
        if not dish.serve_hot and warm_min < stands_min:
            yield Breach("entry-stands-uncounted", ids, warm_min, stands_min)


def _entries_stay_hot_once_hot_through(held: _Held, _: Draw) -> Iterator[Breach]:
    """What can spoil and was hot through may not cool and be warmed again, done or not."""
    hot_c = rules_of(held.event).hot_holding_c
    for t in held.coming:
        dish = held.event.entry(t.entry_id).dish
        if not dish.serve_hot:
            continue
        told, whole = len(t.middle_c), -(-minutes(held.end(t) - t.loaded_at) // MIDDLE_MIN) + 1
        if told != whole:
            yield Breach("wrong-count-of-middles", (t.entry_id,), told, whole)
            continue
        through_c = max(least_middle_c(held.event, dish), hot_c) + ROUNDING_K
        through = [n for n, middle_c in enumerate(t.middle_c) if middle_c >= through_c]
        first = through[0] if dish.hazardous and through else told
        ready = -(-minutes(t.ready_at - t.loaded_at) // MIDDLE_MIN)
        coldest_c = min(t.middle_c[min(first, ready) :])
        if coldest_c < hot_c - ROUNDING_K:
            yield Breach("entry-cools", (t.entry_id,), coldest_c, hot_c)


def _crew_of_the_contest_is_free(held: _Held, _: Draw) -> Iterator[Breach]:
    """Who carries plates, and a helper who judges, has no other work in tasting hours."""
    case, plan = held.case, held.case.plan
    start, end = case.at(held.contest.start), case.at(held.contest.end)
    busy = {held.contest.runner, *(j.helper for j in held.event.judges)} - {None}
    works: list[Job | Walk] = [*plan.jobs, *plan.walks]
    for work in works:
        people = {work.helper_id} if isinstance(work, Walk) else set(work.helper_ids)
        past = plan.replanned_at is not None and work.at <= plan.replanned_at
        meets = work.at < end and work.at + timedelta(minutes=work.minutes) > start
        if people & busy and meets and not past:
            yield Breach("contest-crew-elsewhere", (work.id, *sorted(people & busy)), work.at)


def _levels_are_counted(held: _Held, _: Draw) -> Iterator[Breach]:
    """The goal's levels, counted again, are the figures told; each tasted entry has its sun."""
    plan = held.plan
    tasted = [t.entry_id for t in plan.tastings]
    if sorted(s.entry_id for s in plan.sun) != sorted(tasted):
        yield Breach("sun-of-other-entries", ())
    wanted = held.event.chance_pct
    counted: dict[ContestLevelKey, int] = {
        "left-out": len(held.entries) - len(tasted),
        "unsure": sum(max(0, -(-(wanted - t.chosen_of_100) // 5)) for t in plan.tastings),
        "difference": plan.difference_min,
        "longest-held": max((t.held_min for t in plan.tastings), default=0),
        "held": sum(t.held_min for t in plan.tastings),
    }
    yield from sun_is_counted(held.case, plan)
    for level in plan.levels:
        if counted.get(level.key, level.value) != level.value:  # "moved" is against another plan
            yield Breach("wrong-contest-level", (level.key,), level.value, counted[level.key])


_RULES: list[Callable[[_Held, Draw], Iterator[Breach]]] = [
    _each_entry_is_tasted_or_refused,
    _places_are_the_lots,
    _one_entry_at_a_place,
    _tastings_are_on_the_grid,
    _judges_taste_each_once,
    _entries_are_cooked_in_time,
    _entries_are_safe,
    _entries_stay_hot_once_hot_through,
    _crew_of_the_contest_is_free,
    _levels_are_counted,
]
