"""The rules of work: jobs and their people, turns and their walks, mirrors and their watchers."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from events.model import Cooker
from solver import policy
from solver.checking.breach import Breach
from solver.checking.context import Case, is_during, minutes
from solver.plan import EVERYBODY, LIGHT_JOBS, Job, JobKind, Placement, Walk

# Two formulas differ by so much, from one year to the next: else an aim of whole slots that holds
# by seconds would be refused.
DECLINATION_ERROR_DEG = 0.5


@dataclass(frozen=True)
class WantedJob:
    """A job that a load needs: of what kind, when, and how many people do it."""

    kind: JobKind
    at: datetime
    people: int
    most: int = 1  # more may lend a hand


@dataclass(frozen=True, order=True)
class Task:
    """What keeps one helper busy: a job or a walk."""

    starts_at: datetime
    ends_at: datetime
    id: str
    is_talk: bool = False


def jobs_have_their_people(case: Case) -> Iterator[Breach]:
    """Every load has its jobs at their times, with enough people who may do them."""
    for fill in case.fills().values():
        ids = {p.id for p in fill}
        jobs = [j for j in case.plan.jobs if ids == set(j.placement_ids)]
        for wanted in _wanted_jobs(case, fill):
            job = next((j for j in jobs if (j.kind, j.at) == (wanted.kind, wanted.at)), None)
            if job is None:
                yield Breach("job-missing", (fill[0].fill, wanted.kind), wanted.at)
            elif not wanted.people <= len(set(job.helper_ids)) <= max(wanted.people, wanted.most):
                people = len(set(job.helper_ids))
                yield Breach("wrong-number-of-people", (job.id,), people, wanted.people)
        yield from _stirred(case, fill, [j for j in jobs if j.kind == "stir"])
        for job in jobs:
            if _is_past(case, job.at):
                continue
            may = case.cookers[job.cooker_id or fill[0].cooker_id].ability
            if may is None and job.kind in ("lift", "insulate", "move"):
                may = "lift"
            if may and not any(may in case.helpers[h].works for h in job.helper_ids):
                yield Breach("nobody-may-do-it", (job.id, *job.helper_ids), limit=may)


def _wanted_jobs(case: Case, fill: list[Placement]) -> list[WantedJob]:
    """Return the jobs that a load needs, as far as they are still to come."""
    first, replanned_at = fill[0], case.plan.replanned_at
    then = case.cookers[first.then_cooker_id] if first.then_cooker_id else None
    lift: JobKind = "lift" if then is None else "move" if then.on_gas else "insulate"
    hands = max(case.dishes[p.dish_id].lift_helpers for p in fill)
    heaviest_kg = max(p.mass_kg + case.event.pot(p.pot_id).mass_kg for p in fill)
    most = 2 if heaviest_kg > policy.ONE_LIFTS_KG else 1
    wanted = [WantedJob("load", first.loaded_at, 1), WantedJob(lift, first.lifted_at, hands, most)]
    if then is not None and then.on_gas and first.off_at:
        wanted.append(WantedJob("lift", first.off_at, hands, most))
    if first.preheat_at:
        wanted.append(WantedJob("preheat", first.preheat_at, 1))
    done = max(p.done_at for p in fill)
    bakes = any(case.dishes[p.dish_id].shape == "baked" for p in fill)
    if bakes and first.lifted_at - done >= timedelta(minutes=policy.PROBE_AFTER_MIN):
        wanted.append(WantedJob("probe", done, 1))
    if replanned_at is None:
        return wanted
    is_loaded = first.id in case.plan.started_ids
    return [w for w in wanted if w.at > replanned_at and not (is_loaded and w.kind == "load")]


def _stirred(case: Case, fill: list[Placement], stirs: list[Job]) -> Iterator[Breach]:
    every = [case.dishes[p.dish_id].stir_every_min for p in fill]
    if not any(every):
        return
    gap = timedelta(minutes=max(policy.SLOT_MIN, min(e for e in every if e)))
    until = min(max(p.done_at for p in fill), fill[0].lifted_at)
    loading = timedelta(minutes=policy.LOAD_LONGEST_MIN)
    begins = case.from_now(fill[0])
    times = [begins, *sorted(j.at for j in stirs if j.at >= begins), max(until, begins)]
    for before, after in itertools.pairwise(times):
        if after - before > max(gap, loading if before == begins else gap):
            yield Breach("not-stirred", (fill[0].fill,), before, after)


def turns_keep_the_sun(case: Case) -> Iterator[Breach]:
    """A cooker on the sun is aimed at its start, and again before each aim has run out."""
    for fill in case.fills().values():
        first, cooker = fill[0], case.cookers[fill[0].cooker_id]
        if not cooker.on_sun:
            continue
        limit = timedelta(minutes=longest_aim_min(case, cooker))
        begin, end = case.from_now(first), first.lifted_at
        started = first.id in case.plan.started_ids or begin != case.begins(first)
        turns = [t for t in case.plan.turns if t.cooker_id == cooker.id and begin <= t.at < end]
        aims = sorted({t.at for t in turns} | ({begin} if started else set()))
        if not aims or aims[0] != begin:
            yield Breach("not-aimed-at-its-start", (first.fill, cooker.id), begin)
        for before, after in itertools.pairwise([*aims, end]):
            over = timedelta(minutes=policy.LAST_OVER_MIN if after == end else 0)
            if after - before > limit + over:
                apart = minutes(after - before)
                yield Breach("turns-too-far-apart", (first.fill, cooker.id), apart, minutes(limit))
        for t in turns:
            if _is_past(case, t.at):
                continue
            over = timedelta(minutes=policy.LAST_OVER_MIN if t.holds_until == end else 0)
            if t.holds_until <= t.at or t.holds_until - t.at > limit + over:
                holds = minutes(t.holds_until - t.at)
                yield Breach("turn-holds-too-long", (t.id,), holds, minutes(limit))


def turns_are_walked(case: Case) -> Iterator[Breach]:
    """Every turn but the first aim is on one walk, at its time, by one who may."""
    walked: dict[str, int] = defaultdict(int)
    turns = {t.id: t for t in case.plan.turns}
    for w in case.plan.walks:
        if len(w.turn_ids) > policy.TURNS_A_WALK or not w.turn_ids:
            yield Breach("turns-on-one-walk", (w.id,), len(w.turn_ids), policy.TURNS_A_WALK)
        for name in w.turn_ids:
            walked[name] += 1
            if name not in turns or turns[name].at != w.at:
                yield Breach("turn-not-at-its-walks-time", (w.id, name))
            elif (may := case.cookers[turns[name].cooker_id].ability) and (
                may not in case.helpers[w.helper_id].works
            ):
                yield Breach("may-not-turn", (w.id, w.helper_id, turns[name].cooker_id))
    for t in case.plan.turns:
        if case.plan.replanned_at is not None and t.at <= case.plan.replanned_at:
            continue
        wanted = 0 if t.first else 1
        if walked[t.id] != wanted:
            yield Breach("turn-on-wrong-number-of-walks", (t.id,), walked[t.id], wanted)


def nobody_is_in_two_places(case: Case) -> Iterator[Breach]:
    """A helper does one thing at a time, inside their hours."""
    for helper_id, tasks in _tasks(case).items():
        helper = case.helpers[helper_id]
        tasks.sort()
        for one, two in itertools.pairwise(tasks):
            if two.starts_at < one.ends_at:
                yield Breach("two-things-at-once", (helper_id, one.id, two.id))
        for task in tasks:
            if not task.is_talk and (
                task.starts_at < case.at(helper.start) or task.ends_at > case.at(helper.end)
            ):
                yield Breach("outside-their-hours", (helper_id, task.id))


def _tasks(case: Case) -> dict[str, list[Task]]:
    """Return what keeps each helper busy from now on; work at one's own post is part of it."""
    posts = [j for j in case.plan.jobs if j.kind == "attend"]
    cooker_of = {t.id: t.cooker_id for t in case.plan.turns}

    def at_their_post(helper_id: str, cooker_id: str | None, at: datetime) -> bool:
        return any(
            helper_id in j.helper_ids and j.cooker_id == cooker_id and is_during(j, at)
            for j in posts
        )

    tasks: dict[str, list[Task]] = defaultdict(list)
    for job in case.plan.jobs:
        if job.kind in EVERYBODY or _is_past(case, job.at):
            continue  # everybody serves
        ends_at = job.at + timedelta(minutes=job.minutes)
        for h in job.helper_ids:
            if job.kind == "attend" or not at_their_post(h, job.cooker_id, job.at):
                tasks[h].append(Task(job.at, ends_at, job.id, job.kind == "talk"))
    for w in case.plan.walks:
        cookers = {cooker_of.get(t) for t in w.turn_ids}
        if _is_past(case, w.at) or (
            len(cookers) == 1 and at_their_post(w.helper_id, next(iter(cookers)), w.at)
        ):
            continue
        tasks[w.helper_id].append(Task(w.at, w.at + timedelta(minutes=w.minutes), w.id))
    return tasks


def mirrors_are_watched(case: Case) -> Iterator[Breach]:
    """While a mirror is on the sun, an adult who may work mirrors is there and not speaking."""
    talks = [j for j in case.plan.jobs if j.kind == "talk"]
    for p in case.plan.placements:
        if not case.cookers[p.cooker_id].nature.concentrates:
            continue
        at = case.from_now(p)
        while at < p.lifted_at:
            if not any(
                "mirrors" in h.works  # so they are adult
                and case.at(h.start) <= at < case.at(h.end)
                and not any(h.id in t.helper_ids and is_during(t, at) for t in talks)
                for h in case.event.helpers
            ):
                yield Breach("mirror-not-watched", (p.id, p.cooker_id), at)
                break
            at += timedelta(minutes=policy.SLOT_MIN)


def the_young_have_light_jobs_only(case: Case) -> Iterator[Breach]:
    """The young work at no cooker and lift no pot; a named adult stands with them."""
    young = {h.id for h in case.event.helpers if not h.adult}
    for job in case.plan.jobs:
        there = young & set(job.helper_ids)
        if _is_past(case, job.at) or job.kind == "talk":
            continue
        if job.kind not in LIGHT_JOBS:
            if there:
                yield Breach("not-for-the-young", (job.id, *sorted(there)))
        elif len(there) == len(set(job.helper_ids)):
            yield Breach("no-adult-beside-the-young", (job.id, *sorted(there)))
        elif len(there) > policy.YOUNG_MOST:
            yield Breach("too-many-young", (job.id,), len(there), policy.YOUNG_MOST)
    for walk in case.plan.walks:
        if walk.helper_id in young and not _is_past(case, walk.at):
            yield Breach("not-for-the-young", (walk.id, walk.helper_id))


def attended_cookers_are_attended(case: Case) -> Iterator[Breach]:
    """At a cooker in front of the public one who may work it stays from first to last."""
    for fill in case.fills().values():
        first, cooker = fill[0], case.cookers[fill[0].cooker_id]
        begin, end = case.from_now(first), first.lifted_at
        if not cooker.attended or begin >= end:
            continue
        may = cooker.ability
        stays = [
            j
            for j in case.plan.jobs
            if j.kind == "attend"
            and j.cooker_id == cooker.id
            and len(j.helper_ids) == 1
            and (may is None or may in case.helpers[j.helper_ids[0]].works)
            and j.at <= begin + timedelta(minutes=policy.SLOT_MIN * (begin != case.begins(first)))
            and j.at + timedelta(minutes=j.minutes) > end
        ]
        if not stays:
            yield Breach("cooker-not-attended", (first.fill, cooker.id), begin)


def helpers_have_their_breaks(case: Case) -> Iterator[Breach]:
    """Nobody is asked for anything in a break but their own talk."""
    for h in case.event.helpers:
        jobs = [j for j in case.plan.jobs if h.id in j.helper_ids and j.kind != "talk"]
        walks = [w for w in case.plan.walks if w.helper_id == h.id]
        work: list[Job | Walk] = [*jobs, *walks]
        for pause in h.breaks:
            starts_at = case.at(pause.at)
            ends_at = starts_at + timedelta(minutes=pause.minutes)
            for w in work:
                if w.at < ends_at and w.at + timedelta(minutes=w.minutes) > starts_at:
                    yield Breach("work-in-a-break", (h.id, w.id), w.at, starts_at)


def visitors_are_greeted_when_they_come(case: Case) -> Iterator[Breach]:
    """Nobody greets visitors before their hours, nor where none are said to come."""
    opens = case.event.site.visitors_from
    for job in case.plan.jobs:
        if job.kind == "greet" and not _is_past(case, job.at):
            if opens is None:
                yield Breach("nobody-to-greet", (job.id,), job.at)
            elif job.at < case.at(opens):
                yield Breach("nobody-to-greet", (job.id,), job.at, case.at(opens))


def packing_waits_for_the_last_meal(case: Case) -> Iterator[Breach]:
    """Nobody packs down while people still eat."""
    eaten = max(case.at(meal.end) for meal in case.event.meals)
    for job in case.plan.jobs:
        if job.kind == "pack-down" and job.at < eaten and not _is_past(case, job.at):
            yield Breach("packed-before-the-last-meal", (job.id,), job.at, eaten)


def _is_past(case: Case, at: datetime) -> bool:
    return case.plan.replanned_at is not None and at <= case.plan.replanned_at


def longest_aim_min(case: Case, cooker: Cooker) -> float:
    """Return how long one aim at the sun may hold: 2 a / (15° cos d) hours, 5 to 60 minutes."""
    farthest_deg = abs(_declination_deg(case)) + DECLINATION_ERROR_DEG
    longest = 8 * cooker.acceptance_deg / math.cos(math.radians(farthest_deg))
    return min(policy.LONGEST_MIN, max(policy.SLOT_MIN, longest))


def _declination_deg(case: Case) -> float:
    """Return the sun's declination on a day. Source: Spencer 1971 (from memory)."""
    day = case.event.date.timetuple().tm_yday
    year = 2 * math.pi * (day - 1) / 365
    terms = ((-0.399912, 0.070257), (-0.006758, 0.000907), (-0.002697, 0.00148))
    return math.degrees(
        0.006918
        + sum(c * math.cos(n * year) + s * math.sin(n * year) for n, (c, s) in enumerate(terms, 1))
    )


PEOPLE_RULES: list[Callable[[Case], Iterator[Breach]]] = [
    jobs_have_their_people,
    turns_keep_the_sun,
    turns_are_walked,
    nobody_is_in_two_places,
    attended_cookers_are_attended,
    helpers_have_their_breaks,
    mirrors_are_watched,
    the_young_have_light_jobs_only,
    visitors_are_greeted_when_they_come,
    packing_waits_for_the_last_meal,
]
