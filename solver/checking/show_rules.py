"""The rules of what is put on the sun for a talk alone: it takes only what is free."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from events.model import Cooker, Talk
from solver import policy
from solver.checking.breach import Breach
from solver.checking.context import Case, is_during, minutes, strongest_wind
from solver.checking.people_rules import longest_aim_min
from solver.plan import JobKind
from solver.programme import Giving, ShowingLoad, TalkPlan


@dataclass(frozen=True)
class _Shown:
    """A giving with its own load, and the cooker that it is in."""

    case: Case
    giving: Giving
    load: ShowingLoad
    cooker: Cooker

    @property
    def ids(self) -> tuple[str, str]:
        """Return what names it in a breach."""
        return self.giving.talk_id, self.load.cooker_id

    @property
    def since(self) -> datetime:
        """Return when it goes on the sun, as far as that is still to come."""
        now = self.case.plan.replanned_at
        return self.load.loaded_at if now is None else max(now, self.load.loaded_at)

    @property
    def begun(self) -> bool:
        """Whether it was on the sun when the day was planned again."""
        now = self.case.plan.replanned_at
        return now is not None and self.load.loaded_at <= now


def showing_loads_take_what_is_free(
    case: Case, plan: TalkPlan, talks: dict[str, Talk]
) -> Iterator[Breach]:
    """A load of a talk's own is water or an empty box, on a free cooker, worked by free hands."""
    now = case.plan.replanned_at
    for g in plan.given:
        if g.load is None or (now is not None and g.load.lifted_at <= now):
            continue
        cooker = case.cookers.get(g.load.cooker_id)
        if cooker is None or not cooker.on_sun or g.cooker_id != cooker.id:
            yield Breach("shown-elsewhere", (g.talk_id, g.load.cooker_id))
            continue
        shown = _Shown(case, g, g.load, cooker)
        for rule in _RULES:
            yield from rule(shown, plan, talks[g.talk_id])


def _is_what_is_shown(shown: _Shown, _: TalkPlan, talk: Talk) -> Iterator[Breach]:
    """Nothing but a box stands empty on the sun; water is in a pot that fits; all in its time."""
    load, g, ids = shown.load, shown.giving, shown.ids
    pot = shown.case.pots.get(load.pot_id or "")
    if load.pot_id is None:
        if not shown.cooker.is_oven or talk.moment != "over-100":
            yield Breach("empty-on-the-sun", ids)
    elif pot is None or load.water_kg <= 0 or load.water_kg > pot.litres:
        yield Breach("pot-too-small", ids, load.water_kg)
    elif shown.cooker.kind not in pot.fits or "liquid" not in pot.holds:
        yield Breach("pot-does-not-fit", (*ids, pot.id))
    if talk.dish is not None:
        yield Breach("showing-load-in-place-of-a-dish", (*ids, talk.dish))
    end = g.at + timedelta(minutes=g.minutes)
    last_look = end - timedelta(minutes=policy.LAST_LOOK_MIN)
    starts = (
        g.at <= load.loaded_at <= last_look
        if talk.moment == "loading"
        else (load.loaded_at <= g.at)
    )
    if not starts or load.lifted_at < end:
        yield Breach("showing-load-not-in-its-talk", ids, load.loaded_at, g.at)
    if minutes(g.at - load.loaded_at) > policy.SHOW_LEAD_MIN:
        yield Breach("showing-load-too-early", ids, load.loaded_at, policy.SHOW_LEAD_MIN)


def _place_is_free(shown: _Shown, plan: TalkPlan, _: Talk) -> Iterator[Breach]:
    """Cooker and pot are in no other use; the cooker has sun, in its hours, in no strong wind."""
    case, load, cooker, ids = shown.case, shown.load, shown.cooker, shown.ids
    others = [g.load for g in plan.given if g.load is not None and g is not shown.giving]
    taken = [
        (case.from_now(p), p.lifted_at)
        for p in case.plan.placements
        if p.cooker_id == load.cooker_id
    ]
    taken += [(o.loaded_at, o.lifted_at) for o in others if o.cooker_id == load.cooker_id]
    if any(start < load.lifted_at and end > shown.since for start, end in taken):
        yield Breach("cooker-overfull", ids, load.loaded_at)
    if load.pot_id in case.pots:
        uses = [(p.loaded_at, p.served_at) for p in case.plan.placements if p.pot_id == load.pot_id]
        uses += [(o.loaded_at, o.lifted_at) for o in others if o.pot_id == load.pot_id]
        wash = timedelta(minutes=case.pots[load.pot_id].wash_min)
        moments = [shown.since, *(start for start, _ in uses if start > shown.since)]
        most = 1 + max(
            sum(start <= at < end + wash for start, end in uses)
            for at in moments
            if at == shown.since or at < load.lifted_at + wash
        )
        if most > case.pots[load.pot_id].count:
            yield Breach("too-few-pots", ids, most, case.pots[load.pot_id].count)
    if shown.begun:
        return
    site = case.event.site
    opens = max(case.at(t) for t in (site.opens, cooker.opens) if t is not None)
    closes = min(case.at(t) for t in (site.closes, cooker.closes) if t is not None)
    if load.loaded_at < opens or load.lifted_at > closes:
        yield Breach("cooker-outside-its-hours", ids)
    slack = timedelta(minutes=1)
    windows = next((w.stretches for w in case.plan.windows if w.cooker_id == cooker.id), ())
    if not any(s.starts_at - slack <= load.loaded_at <= s.ends_at + slack for s in windows):
        yield Breach("no-usable-sun", ids, load.loaded_at)
    blow = strongest_wind(case, load.loaded_at, load.lifted_at)
    if cooker.wind_limit_m_s is not None and blow > cooker.wind_limit_m_s:
        yield Breach("too-much-wind", ids, blow, cooker.wind_limit_m_s)


def _hands_are_there(shown: _Shown, _: TalkPlan, talk: Talk) -> Iterator[Breach]:
    """It is set on the sun, turned in time, and taken off, by those who may."""
    case, load, cooker, ids = shown.case, shown.load, shown.cooker, shown.ids
    first: JobKind = "load" if load.pot_id else "preheat"
    wanted: list[tuple[JobKind, datetime]] = [] if shown.begun else [(first, load.loaded_at)]
    wanted += [("lift", load.lifted_at)] if load.pot_id else []
    for kind, at in wanted:
        job = next(
            (
                j
                for j in case.plan.jobs
                if (j.kind, j.at, j.cooker_id, j.talk_id) == (kind, at, cooker.id, talk.id)
            ),
            None,
        )
        if job is None or len(set(job.helper_ids)) != 1:
            yield Breach("job-missing", (*ids, kind), at)
        elif cooker.ability and cooker.ability not in case.helpers[job.helper_ids[0]].works:
            yield Breach("nobody-may-do-it", (job.id, *job.helper_ids), limit=cooker.ability)
    aims = sorted(
        t.at
        for t in case.plan.turns
        if t.cooker_id == cooker.id and load.loaded_at <= t.at < load.lifted_at
    )
    if not aims or aims[0] != load.loaded_at:
        yield Breach("not-aimed-at-its-start", ids, load.loaded_at)
    limit = longest_aim_min(case, cooker)
    for before, after in itertools.pairwise([*aims, load.lifted_at]):
        over = policy.LAST_OVER_MIN if after == load.lifted_at else 0
        if minutes(after - before) > math.floor(limit) + over and after > shown.since:
            yield Breach("turns-too-far-apart", ids, minutes(after - before), limit)


def _is_watched(shown: _Shown, _: TalkPlan, __: Talk) -> Iterator[Breach]:
    """At a mirror somebody who may work it is there and gives no talk; an open post has its own."""
    case, load, cooker = shown.case, shown.load, shown.cooker
    talks = [j for j in case.plan.jobs if j.kind == "talk"]
    at = shown.since
    while cooker.nature.concentrates and at < load.lifted_at:
        if not any(
            "mirrors" in h.works
            and case.at(h.start) <= at < case.at(h.end)
            and not any(h.id in t.helper_ids and is_during(t, at) for t in talks)
            for h in case.event.helpers
        ):
            yield Breach("mirror-not-watched", shown.ids, at)
            break
        at += timedelta(minutes=policy.SLOT_MIN)
    stays = (
        j.at <= shown.since and j.at + timedelta(minutes=j.minutes) > load.lifted_at
        for j in case.plan.jobs
        if (j.kind, j.cooker_id) == ("attend", cooker.id)
    )
    if cooker.attended and not any(stays):
        yield Breach("cooker-not-attended", shown.ids, shown.since)


_RULES: list[Callable[[_Shown, TalkPlan, Talk], Iterator[Breach]]] = [
    _is_what_is_shown,
    _place_is_free,
    _hands_are_there,
    _is_watched,
]
