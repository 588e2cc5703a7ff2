"""The talks that float: their times once the pots have theirs, and those that have none.

A talk's speaker has no job, walk or break in it, nobody sets up or packs down meanwhile, and at a
mirror on the sun another who may work mirrors is there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from events.model import Talk
from events.table import changed
from solver.plan import EVERYBODY, Job, Plan, Walk
from solver.policy import SKIES_MOST, SLOT_MIN
from solver.programme import Giving, NotGiven, TalkPlan
from solver.rounds.sights import sightings
from solver.scheduling.formulation import person_of
from solver.simulation.clock import minute_at, next_slot_min
from solver.simulation.day import Day
from solver.solar.irradiance import at_minute, minute_of
from solver.talks.choice import Asked, Slot, choose
from solver.talks.moments import CHOOSING_SEED, TELLING_SEED, Shown, shown_moments

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
    """Return the plan with its floating talks as jobs of their speakers."""
    floating = [t for t in day.event.talks if t.at is None]
    if not floating:
        return plan
    moments = {t.moment for t in floating if t.moment is not None}
    shown = shown_moments(day, plan, CHOOSING_SEED, moments) if moments else []
    begun = [g for g in _earlier(day) if minute_of(day.sky, g.at) < next_slot_min(day)]
    wanted = [_wanted(day, t, shown, begun) for t in floating]
    given = [*begun, *_given(day, plan, wanted, begun)]
    told = shown_moments(day, plan, TELLING_SEED, moments) if moments else []
    given = [_told(day, plan, g, told) if g not in begun else g for g in given]
    not_given = tuple(_not_given(day, plan, w, given) for w in wanted)
    there = {j.id for j in plan.jobs}
    jobs = [*plan.jobs, *(j for g in given if (j := _job(g)).id not in there)]
    return changed(
        plan,
        jobs=tuple(sorted(jobs, key=lambda j: (j.at, j.id))),
        talks=TalkPlan(
            given=tuple(sorted(given, key=lambda g: (g.at, g.talk_id))),
            not_given=tuple(n for n in not_given if n.givings),
        ),
    )


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
            for speaker in _free_speakers(day, plan, one.talk, start):
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


def _free_speakers(day: Day, plan: Plan, talk: Talk, start: int) -> Iterator[int]:
    """Yield who can give a talk from a slot on, by number; -1 where it needs nobody."""
    span = set(range(start, start + -(-talk.minutes // SLOT_MIN)))
    if span & _taken(day, [j for j in plan.jobs if j.kind in ("talk", "set-up", "pack-down")]):
        return
    names = talk.speakers or ((talk.speaker,) if talk.speaker else ())
    if not names:
        yield -1
    for n, helper in enumerate(day.event.helpers):
        if helper.id not in names:
            continue
        person = person_of(day, helper, day.sky.air_c.size // SLOT_MIN)
        own = [j for j in plan.jobs if helper.id in j.helper_ids and j.kind not in EVERYBODY]
        walks = [w for w in plan.walks if w.helper_id == helper.id]
        busy = _taken(day, [*own, *walks])
        if (
            all(person.free[s] for s in span)
            and not span & busy
            and _is_watched(day, plan, n, span)
        ):
            yield n


def _taken(day: Day, works: Sequence[Job | Walk]) -> set[int]:
    """Return the slots in which work is done."""
    slots: set[int] = set()
    for work in works:
        start = minute_of(day.sky, work.at)
        slots |= set(range(start // SLOT_MIN, -(-(start + work.minutes) // SLOT_MIN)))
    return slots


def _is_watched(day: Day, plan: Plan, speaker: int, span: set[int]) -> bool:
    """Return whether another who may work mirrors is there while one is on the sun."""
    on_sun: set[int] = set()
    for p in plan.placements:
        if day.event.cooker(p.cooker_id).nature.concentrates:
            start = minute_of(day.sky, p.preheat_at or p.loaded_at) // SLOT_MIN
            on_sun |= set(range(start, minute_of(day.sky, p.lifted_at) // SLOT_MIN + 1))
    others = [
        range(minute_at(day, h.start) // SLOT_MIN, minute_at(day, h.end) // SLOT_MIN)
        for n, h in enumerate(day.event.helpers)
        if n != speaker and "mirrors" in h.works
    ]
    return all(any(slot in hours for hours in others) for slot in span & on_sun)


def _told(day: Day, plan: Plan, giving: Giving, told: list[Shown]) -> Giving:
    """Return a giving with its chance, from days that did not choose it, and its moment."""
    moment = day.event.talk(giving.talk_id).moment
    if moment is None:
        return giving
    dish = day.event.talk(giving.talk_id).dish
    start = minute_of(day.sky, giving.at)
    shares = [
        s.share(start, start + giving.minutes)
        for s in told
        if (s.moment, s.cooker_id) == (moment, giving.cooker_id)
        and (dish is None or dish in s.dish_ids)
    ]
    expected = [
        minute
        for s in sightings(day, plan.placements, plan.jobs, plan.turns)
        if (s.moment, s.cooker_id) == (moment, giving.cooker_id)
        and (minute := s.seen_at(start, start + giving.minutes)) is not None
    ]
    of_100 = min(SKIES_MOST, int(max(shares, default=0.0) * 100 / STEP + 0.5) * STEP)
    at = at_minute(day.sky, min(expected)) if expected else None
    return changed(giving, of_100=of_100, moment_at=at)


def _not_given(day: Day, plan: Plan, wanted: _Wanted, given: list[Giving]) -> NotGiven:
    talk = wanted.talk
    left = talk.times - sum(g.talk_id == talk.id for g in given)
    sure = wanted.sure(day)
    free = [t for t in sure if next(iter(_free_speakers(day, plan, talk, t)), None) is not None]
    return NotGiven(
        talk_id=talk.id,
        givings=left,
        reason="not-shown" if not sure else "no-room" if free else "no-speaker",
        best_of_100=min(SKIES_MOST, round(100 * wanted.best)),
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
