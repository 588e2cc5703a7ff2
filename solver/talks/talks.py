"""The talks that float: their times once the pots have theirs, and those that have none.

A talk's speaker has no job, walk or break in it, nobody sets up or packs down meanwhile, and at a
mirror on the sun another who may work mirrors is there.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from events.model import Talk
from events.table import changed
from solver.plan import Job, Plan, Turn
from solver.policy import SETTLE_MIN, SKIES_MOST, SLOT_MIN
from solver.programme import Giving, NotGiven, ShowingLoad, TalkPlan
from solver.rostering.programme import Work
from solver.rounds.sights import sightings
from solver.simulation.clock import minute_at, next_slot_min
from solver.simulation.day import Day
from solver.simulation.drawn_load import DrawnDays
from solver.solar.irradiance import at_minute, minute_of
from solver.talks.choice import Asked, Slot, choose
from solver.talks.hands import free_slots, free_speakers, is_watched, taken
from solver.talks.moments import (
    CHOOSING_SEED,
    SHOWING_SEED,
    TELLING_SEED,
    Shown,
    shown_moments,
)
from solver.talks.shows import SHOWABLE, Sought, seek, told

STEP = 5


@dataclass(frozen=True)
class _Wanted:
    """A talk that floats: how surely each slot shows its moment, and where; the best of all."""

    talk: Talk
    times: int  # still to be given
    shares: dict[int, tuple[float, Shown | None]]
    best: float

    def sure(self, day: Day) -> dict[int, tuple[float, Shown | None]]:
        """Return the slots in which the moment is seen as surely as is wanted."""
        least = wanted_pct(day, self.talk) / 100
        return {t: one for t, one in self.shares.items() if one[0] >= least}


def wanted_pct(day: Day, talk: Talk) -> int:
    """Return how surely a talk's moment is to be seen."""
    return talk.chance_pct or day.event.chance_pct


def with_talks(day: Day, plan: Plan) -> Plan:
    """Return the plan with its floating talks as jobs of their speakers.

    What no pot shows surely enough gets a load of its own, where cooker and hands are free.
    """
    floating = [t for t in day.event.talks if t.at is None]
    if not floating:
        return plan
    moments = {t.moment for t in floating if t.moment is not None}
    shown = shown_moments(day, plan, CHOOSING_SEED, moments) if moments else []
    begun = _begun(day, plan)
    wanted = [_wanted(day, t, shown, begun) for t in floating]
    given = [*begun, *_given(day, plan, wanted, begun)]
    plan = _with(plan, given, _going_on(day, begun))
    days, sought = DrawnDays.of(day, SHOWING_SEED), dict[str, Sought]()
    for w in wanted:
        plan, sought[w.talk.id] = _with_shows(days, plan, w)
    assert plan.talks is not None
    flown = shown_moments(day, plan, TELLING_SEED, moments) if moments else []
    given = [_told(day, plan, g, flown) if g not in begun else g for g in plan.talks.given]
    not_given = tuple(_not_given(day, plan, w, sought[w.talk.id], given) for w in wanted)
    talks = TalkPlan(given=tuple(given), not_given=tuple(n for n in not_given if n.givings))
    return changed(plan, talks=talks)


def _with(plan: Plan, given: Sequence[Giving], work: Work) -> Plan:
    """Return the plan with more givings, numbered by their times, and the work they bring."""
    before = plan.talks.given if plan.talks else ()
    ordered = sorted([*before, *given], key=lambda g: (g.at, g.talk_id))
    counts: dict[str, int] = defaultdict(int)
    numbered = []
    for g in ordered:
        counts[g.talk_id] += 1
        numbered.append(changed(g, giving=counts[g.talk_id]))
    floating = {g.talk_id for g in ordered}
    there = [j for j in plan.jobs if j.kind != "talk" or j.talk_id not in floating]
    jobs = {j.id: j for j in [*there, *work.jobs, *(_job(g) for g in numbered)]}
    return changed(
        plan,
        jobs=tuple(sorted(jobs.values(), key=lambda j: (j.at, j.id))),
        turns=tuple(sorted((*plan.turns, *work.turns), key=lambda t: (t.at, t.id))),
        walks=(*plan.walks, *work.walks),
        talks=TalkPlan(given=tuple(numbered), not_given=()),
    )


def _with_shows(days: DrawnDays, plan: Plan, wanted: _Wanted) -> tuple[Plan, Sought]:
    """Return the plan with loads for the givings that nothing else shows, as many as can be."""
    day, talk, sought = days.day, wanted.talk, Sought(None, 0.0, "not-shown")
    if talk.moment not in SHOWABLE or talk.dish is not None:
        return plan, sought
    least = wanted_pct(day, talk) / 100
    kept = {minute_of(day.sky, g.at) // SLOT_MIN for g in _earlier(day) if g.talk_id == talk.id}
    while True:
        own = [g for g in plan.talks.given if g.talk_id == talk.id] if plan.talks else []
        times = [t for t in wanted.shares if _is_apart(day, talk, t, own)]
        if len(own) >= talk.times:
            return plan, sought
        sought = seek(days, plan, talk, times, least, kept)
        if sought.staged is None:
            return plan, sought
        plan = _with(plan, [sought.staged.giving], sought.staged.work)


def _is_apart(day: Day, talk: Talk, slot: int, own: Sequence[Giving]) -> bool:
    """Return whether a giving in a slot is far enough from a talk's others."""
    at = slot * SLOT_MIN
    for g in own:
        other = minute_of(day.sky, g.at)
        if at < other + g.minutes + talk.apart_min and other < at + talk.minutes + talk.apart_min:
            return False
    return True


def _begun(day: Day, plan: Plan) -> list[Giving]:
    """Return the givings that have begun, and those whose own load is on the sun and stays."""
    now = next_slot_min(day)
    return [
        g
        for g in _earlier(day)
        if minute_of(day.sky, g.at) < now
        or (
            g.load is not None
            and minute_of(day.sky, g.load.loaded_at) < now
            and _stays(day, plan, g, g.load)
        )
    ]


def _stays(day: Day, plan: Plan, giving: Giving, load: ShowingLoad) -> bool:
    """Return whether a load that is on the sun can stay there: nothing else needs cooker or hands.

    Its people have what the earlier plan gave them to do at it, and its speaker has the time.
    """
    now = at_minute(day.sky, next_slot_min(day))
    cookers = {c.id: c for c in day.event.cookers if c.id not in _unavailable(day)}
    if load.cooker_id not in cookers or any(
        p.cooker_id == load.cooker_id and p.loaded_at < load.lifted_at and p.lifted_at > now
        for p in plan.placements
    ):
        return False
    work, helpers = _going_on(day, [giving]), {h.id: h for h in day.event.helpers}
    theirs = [(name, taken(day, [j])) for j in work.jobs for name in j.helper_ids]
    theirs += [(w.helper_id, taken(day, [w])) for w in work.walks]
    start = minute_of(day.sky, giving.at) // SLOT_MIN
    speaking = set(range(start, start + -(-giving.minutes // SLOT_MIN)))
    theirs += [(giving.speaker_id, speaking)] if giving.speaker_id else []
    if not all(n in helpers and slots <= free_slots(day, plan, helpers[n]) for n, slots in theirs):
        return False
    last = minute_of(day.sky, load.lifted_at) // SLOT_MIN
    span = set(range(next_slot_min(day) // SLOT_MIN, last + 1))
    return not cookers[load.cooker_id].nature.concentrates or (
        is_watched(day, plan, span & speaking, without=giving.speaker_id)
        and is_watched(day, plan, span - speaking, without=None)
    )


def _unavailable(day: Day) -> frozenset[str]:
    return day.replan.unavailable if day.replan else frozenset()


def _going_on(day: Day, begun: Sequence[Giving]) -> Work:
    """Return what is still to be done at loads that are on the sun, as it was planned before."""
    if day.replan is None:
        return Work((), (), ())
    now, plan = at_minute(day.sky, day.replan.minute), day.replan.plan
    turns, jobs = list[Turn](), list[Job]()
    for g in begun:
        if g.load is None or g.load.lifted_at <= now:
            continue
        turns += [
            t
            for t in plan.turns
            if t.cooker_id == g.load.cooker_id and now < t.at < g.load.lifted_at
        ]
        jobs += [
            j
            for j in plan.jobs
            if j.talk_id == g.talk_id and j.cooker_id == g.load.cooker_id and now < j.at
        ]
    ids = {t.id for t in turns}
    walks = [w for w in plan.walks if ids & set(w.turn_ids)]
    return Work(tuple(turns), tuple(walks), tuple(jobs))


def _earlier(day: Day) -> tuple[Giving, ...]:
    """Return what an earlier plan gives, of talks that still float."""
    talks = day.replan.plan.talks if day.replan else None
    floating = {t.id for t in day.event.talks if t.at is None}
    return tuple(g for g in talks.given if g.talk_id in floating) if talks else ()


def _wanted(day: Day, talk: Talk, shown: list[Shown], begun: list[Giving]) -> _Wanted:
    hours, own = talk.hours(day.event.site), [g for g in begun if g.talk_id == talk.id]
    first = max(minute_at(day, hours.start), next_slot_min(day))
    if own:
        ends = max(minute_of(day.sky, g.at) + g.minutes for g in own)
        first = max(first, ends + talk.apart_min)
    shares: dict[int, tuple[float, Shown | None]] = {}
    suits = [
        s
        for s in shown
        if s.moment == talk.moment
        and talk.cooker in (None, s.cooker_id)
        and (talk.dish is None or talk.dish in s.dish_ids)
    ]
    last = minute_at(day, hours.end) - talk.minutes
    for minute in range(-(-first // SLOT_MIN) * SLOT_MIN, last + 1, SLOT_MIN):
        best: tuple[float, Shown | None] = (1.0, None) if talk.moment is None else (0.0, None)
        for one in suits:
            share = one.share(minute, minute + talk.minutes)
            if share > best[0]:
                best = (share, one)
        shares[minute // SLOT_MIN] = best
    best_share = max((share for share, _ in shares.values()), default=0.0)
    return _Wanted(talk, max(0, talk.times - len(own)), shares, best_share)


def _given(day: Day, plan: Plan, wanted: list[_Wanted], begun: list[Giving]) -> Iterator[Giving]:
    """Yield the givings that are chosen."""
    options, shows = list[Slot](), list[Shown | None]()
    earlier = {(g.talk_id, minute_of(day.sky, g.at) // SLOT_MIN) for g in _earlier(day)}
    for n, one in enumerate(wanted):
        for start, (share, show) in one.sure(day).items():
            for speaker in free_speakers(day, plan, one.talk, start):
                missed = round(100 * (1 - share))
                moved = bool(earlier) and (one.talk.id, start) not in earlier
                options.append(Slot(n, start, speaker, missed, moved))
                shows.append(show)
    asked = [
        Asked(-(-w.talk.minutes // SLOT_MIN), w.times, w.talk.apart_min // SLOT_MIN) for w in wanted
    ]
    counts = {w.talk.id: w.talk.times - w.times for w in wanted}
    helpers = day.event.helpers
    for k in sorted(choose(asked, options), key=lambda k: options[k].start):
        option, show = options[k], shows[k]
        talk = wanted[option.talk].talk
        counts[talk.id] += 1
        yield Giving(
            talk_id=talk.id,
            giving=counts[talk.id],
            at=at_minute(day.sky, option.start * SLOT_MIN),
            minutes=talk.minutes,
            speaker_id=helpers[option.speaker].id if option.speaker >= 0 else None,
            cooker_id=show.cooker_id if show else None,
        )


def _told(day: Day, plan: Plan, giving: Giving, flown: list[Shown]) -> Giving:
    """Return a giving with its chance, from days that did not choose it, and its moment."""
    moment = day.event.talk(giving.talk_id).moment
    if moment is None:
        return giving
    dish = day.event.talk(giving.talk_id).dish
    start = minute_of(day.sky, giving.at)
    if giving.load is not None:
        return _told_of_its_load(day, giving)
    shares = [
        s.share(start, start + giving.minutes)
        for s in flown
        if (s.moment, s.cooker_id) == (moment, giving.cooker_id)
        and (dish is None or dish in s.dish_ids)
    ]
    expected = [
        minute
        for s in sightings(day, plan.placements, plan.jobs, plan.turns)
        if (s.moment, s.cooker_id) == (moment, giving.cooker_id)
        and (minute := s.seen_at(start, start + giving.minutes)) is not None
    ]
    of_100 = _in_steps(max(shares, default=0.0))
    at = at_minute(day.sky, min(expected)) if expected else None
    return changed(giving, of_100=of_100, moment_at=at)


def _told_of_its_load(day: Day, giving: Giving) -> Giving:
    """Return a giving that has its own load, with its chance and when it is mostly seen."""
    assert giving.load is not None
    talk, start = day.event.talk(giving.talk_id), minute_of(day.sky, giving.at)
    shown = told(DrawnDays.of(day, TELLING_SEED), talk, giving.load)
    from_start = max(start + SETTLE_MIN - shown.start, 0)
    seen = shown.seen[:, from_start : start + giving.minutes - shown.start]
    firsts = np.argmax(seen, axis=1)[seen.any(axis=1)]
    at = shown.start + from_start + int(np.median(firsts)) if firsts.size else None
    return changed(
        giving,
        of_100=_in_steps(shown.share(start, start + giving.minutes)),
        moment_at=at_minute(day.sky, at) if at is not None else None,
    )


def _in_steps(share: float) -> int:
    return min(SKIES_MOST, int(share * 100 / STEP + 0.5) * STEP)


def _not_given(
    day: Day, plan: Plan, wanted: _Wanted, sought: Sought, given: list[Giving]
) -> NotGiven:
    talk, reason = wanted.talk, sought.reason
    if talk.cooker in _unavailable(day):
        reason = "cooker-out"
    left = talk.times - sum(g.talk_id == talk.id for g in given)
    sure = wanted.sure(day)
    free = [t for t in sure if next(iter(free_speakers(day, plan, talk, t)), None) is not None]
    return NotGiven(
        talk_id=talk.id,
        givings=left,
        reason=reason if not sure else "no-room" if free else "no-speaker",
        best_of_100=min(SKIES_MOST, round(100 * max(wanted.best, sought.best))),
        wanted_of_100=wanted_pct(day, talk),
    )


def _job(giving: Giving) -> Job:
    return Job(
        id=f"talk-{giving.talk_id}-{giving.giving}",
        kind="talk",
        at=giving.at,
        minutes=giving.minutes,
        helper_ids=(giving.speaker_id,) if giving.speaker_id else (),
        cooker_id=None,
        talk_id=giving.talk_id,
    )
