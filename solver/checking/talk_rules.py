"""The rules of talks that float: in their hours, apart, by one who is free, with their moment."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta

from events.model import Talk
from solver import policy
from solver.checking.breach import Breach
from solver.checking.context import Case, minutes
from solver.checking.show_rules import showing_loads_take_what_is_free
from solver.plan import EVERYBODY, Job, Walk
from solver.programme import Giving, TalkPlan


def floating_talks_are_kept(case: Case) -> Iterator[Breach]:
    """Where talks float, each giving keeps its rules, or stands as not given with why."""
    floating = {t.id: t for t in case.event.talks if t.at is None}
    if not floating:
        return
    plan = case.plan.talks
    if plan is None:
        yield Breach("no-talks", ())
        return
    for g in plan.given:
        if g.talk_id not in floating:
            yield Breach("unknown-talk", (g.talk_id,))
            return
    for rule in _RULES:
        yield from rule(case, plan, floating)


def _given_as_often_as_asked(
    case: Case, plan: TalkPlan, talks: dict[str, Talk]
) -> Iterator[Breach]:
    """Every giving is given or stands as not given, with a reason."""
    for talk in talks.values():
        given = sum(g.talk_id == talk.id for g in plan.given)
        missing = sum(n.givings for n in plan.not_given if n.talk_id == talk.id)
        if given + missing != talk.times:
            yield Breach("wrong-number-of-givings", (talk.id,), given + missing, talk.times)


def _in_their_hours_and_apart(
    case: Case, plan: TalkPlan, talks: dict[str, Talk]
) -> Iterator[Breach]:
    """A giving has its minutes, lies in its talk's hours, and its job says the same."""
    for g in plan.given:
        talk = talks[g.talk_id]
        hours = talk.hours(case.event.site)
        if g.minutes != talk.minutes:
            yield Breach("wrong-talk-minutes", (talk.id,), g.minutes, talk.minutes)
        if g.at < case.at(hours.start) or _end(g) > case.at(hours.end):
            yield Breach("talk-outside-its-hours", (talk.id,), g.at)
        people = (g.speaker_id,) if g.speaker_id else ()
        if not any(
            j.kind == "talk" and (j.talk_id, j.at, j.helper_ids) == (talk.id, g.at, people)
            for j in case.plan.jobs
        ):
            yield Breach("talk-without-its-job", (talk.id,), g.at)
    for talk in talks.values():
        own = sorted((g for g in plan.given if g.talk_id == talk.id), key=lambda g: g.at)
        for one, two in itertools.pairwise(own):
            if (apart := minutes(two.at - _end(one))) < talk.apart_min:
                yield Breach("givings-too-close", (talk.id,), apart, talk.apart_min)


def _no_two_at_once(case: Case, plan: TalkPlan, _: dict[str, Talk]) -> Iterator[Breach]:
    """No talk that floats meets another talk: visitors are at one at a time."""
    jobs = sorted((j for j in case.plan.jobs if j.kind == "talk"), key=lambda j: j.at)
    floating = {(g.talk_id, g.at) for g in plan.given}
    for one, two in itertools.combinations(jobs, 2):
        if two.at < _end(one) and floating & {(one.talk_id, one.at), (two.talk_id, two.at)}:
            yield Breach("talks-meet", (one.id, two.id), one.at, two.at)


def _speakers_are_free(case: Case, plan: TalkPlan, talks: dict[str, Talk]) -> Iterator[Breach]:
    """A speaker is one of the talk's, is there, has no break and no other work, no setting up."""
    works: list[Job | Walk] = [*case.plan.jobs, *case.plan.walks]
    for g in plan.given:
        if _has_begun(case, g.at):
            continue
        talk, name = talks[g.talk_id], g.speaker_id
        names = talk.speakers or ((talk.speaker,) if talk.speaker else ())
        if (name is None) != (not names) or (name is not None and name not in names):
            yield Breach("wrong-speaker", (talk.id, str(name)))
            continue
        for work in works:
            if not (work.at < _end(g) and _end(work) > g.at):
                continue
            if isinstance(work, Job) and work.kind in ("set-up", "pack-down"):
                yield Breach("talk-while-all-work", (talk.id, work.id), g.at)
            own = work.helper_id == name if isinstance(work, Walk) else name in work.helper_ids
            busy = isinstance(work, Walk) or work.kind not in EVERYBODY
            if own and busy and not _is_its_own(work, g):
                yield Breach("speaker-not-free", (talk.id, work.id), g.at, work.at)
        if name is None:
            continue
        helper = case.helpers[name]
        if g.at < case.at(helper.start) or _end(g) > case.at(helper.end):
            yield Breach("speaker-not-there", (talk.id, name), g.at)
        for rest in helper.breaks:
            starts = case.at(rest.at)
            if starts < _end(g) and starts + timedelta(minutes=rest.minutes) > g.at:
                yield Breach("speaker-has-a-break", (talk.id, name), g.at, starts)


def _moments_are_told(case: Case, plan: TalkPlan, talks: dict[str, Talk]) -> Iterator[Breach]:
    """What is shown is of the dish, at the cooker that was asked; chances are in steps of five."""
    for g in plan.given:
        talk = talks[g.talk_id]
        if _has_begun(case, g.at):
            continue
        if talk.moment is None:
            if g.cooker_id is not None or g.of_100 is not None:
                yield Breach("chance-of-nothing", (talk.id,))
            continue
        if g.cooker_id is None or (talk.cooker is not None and g.cooker_id != talk.cooker):
            yield Breach("shown-elsewhere", (talk.id, str(g.cooker_id)))
            continue
        if g.of_100 is None or not 0 <= g.of_100 <= policy.SKIES_MOST or g.of_100 % 5:
            yield Breach("chance-not-in-steps", (talk.id,), g.of_100)
        if g.load is not None:
            continue  # see show_rules
        loads = [
            p
            for p in case.plan.placements
            if p.cooker_id == g.cooker_id
            and talk.dish in (None, p.dish_id)
            and case.begins(p) < _end(g)
            and p.lifted_at >= g.at
        ]
        if not loads:
            yield Breach("nothing-to-show", (talk.id, g.cooker_id), g.at)
        last_look = _end(g) - timedelta(minutes=policy.LAST_LOOK_MIN)
        if talk.moment == "lifted" and not any(g.at < p.lifted_at <= last_look for p in loads):
            yield Breach("nothing-to-show", (talk.id, g.cooker_id), g.at)
        if talk.moment == "loading" and not any(g.at <= p.loaded_at <= last_look for p in loads):
            yield Breach("nothing-to-show", (talk.id, g.cooker_id), g.at)


def _is_its_own(work: Job | Walk, g: Giving) -> bool:
    return isinstance(work, Job) and (work.kind, work.talk_id, work.at) == ("talk", g.talk_id, g.at)


def _end(part: Giving | Job | Walk) -> datetime:
    return part.at + timedelta(minutes=part.minutes)


def _has_begun(case: Case, at: datetime) -> bool:
    return case.plan.replanned_at is not None and at <= case.plan.replanned_at


_RULES: list[Callable[[Case, TalkPlan, dict[str, Talk]], Iterator[Breach]]] = [
    _given_as_often_as_asked,
    _in_their_hours_and_apart,
    _no_two_at_once,
    _speakers_are_free,
    _moments_are_told,
    showing_loads_take_what_is_free,
]
