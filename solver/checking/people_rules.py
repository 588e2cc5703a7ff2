"""The rules of work: jobs and their people, turns and their walks, mirrors and their watchers."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta

from solver import policy
from solver.checking.context import SUN, Case, ability, minutes
from solver.plan import EVERYBODY, Job, Placement


def jobs_have_their_people(case: Case) -> Iterator[str]:
    """Every load has its jobs at their times, with enough people who may do them."""
    for fill in case.fills().values():
        first = fill[0]
        ids = {p.id for p in fill}
        mine = [j for j in case.plan.jobs if ids == set(j.placement_ids)]
        then = case.cookers[first.then_cooker_id].kind if first.then_cooker_id else ""
        lift = {"insulated": "insulate", "burner": "move"}.get(then, "lift")
        hands = max(case.dishes[p.dish_id].lift_helpers for p in fill)
        wanted: list[tuple[str, datetime, int]] = [("load", first.loaded_at, 1)]
        wanted.append((lift, first.lifted_at, hands))
        if then == "burner" and first.off_at:
            wanted.append(("lift", first.off_at, hands))
        if first.preheat_at:
            wanted.append(("preheat", first.preheat_at, 1))
        done, bakes = (
            max(p.done_at for p in fill),
            any(case.dishes[p.dish_id].shape == "baked" for p in fill),
        )
        if bakes and first.lifted_at - done >= timedelta(minutes=policy.PROBE_AFTER_MIN):
            wanted.append(("probe", done, 1))
        if case.plan.replanned_at is not None:
            begun = first.id in case.plan.started_ids
            wanted = [
                w
                for w in wanted
                if w[1] > case.plan.replanned_at and not (begun and w[0] == "load")
            ]
        for kind, at, people in wanted:
            job = next((j for j in mine if j.kind == kind and j.at == at), None)
            if job is None:
                yield f"{first.fill}: no job to {kind} it at {at:%H:%M} UTC"
            elif len(set(job.helper_ids)) != people:
                yield f"{job.id}: {len(set(job.helper_ids))} people, needs {people}"
        yield from _stirred(case, fill, [j for j in mine if j.kind == "stir"])
        for job in mine:
            if _is_past(case, job.at):
                continue
            may = ability(case.cookers[job.cooker_id or first.cooker_id])
            if may is None and job.kind in ("lift", "insulate", "move"):
                may = "lift"
            if may and not any(may in case.helpers[h].works for h in job.helper_ids):
                yield f'{job.id}: nobody in it may work "{may}"'


def _stirred(case: Case, fill: list[Placement], stirs: list[Job]) -> Iterator[str]:
    every = [case.dishes[p.dish_id].stir_every_min for p in fill]
    if not any(every):
        return
    gap = timedelta(minutes=max(policy.SLOT_MIN, min(e for e in every if e)))
    until = min(max(p.done_at for p in fill), fill[0].lifted_at)
    loading = timedelta(minutes=policy.LOAD_LONGEST_MIN)
    begins = case.from_now(fill[0])
    marks = [begins, *sorted(j.at for j in stirs if j.at >= begins), max(until, begins)]
    for before, after in itertools.pairwise(marks):
        if after - before > max(gap, loading if before == begins else gap):
            yield f"{fill[0].fill}: not stirred between {before:%H:%M} and {after:%H:%M} UTC"


def turns_keep_the_sun(case: Case) -> Iterator[str]:
    """A cooker on the sun is aimed at its start, and again before each aim has run out."""
    cosine = math.cos(math.radians(_declination_deg(case)))
    for fill in case.fills().values():
        first, cooker = fill[0], case.cookers[fill[0].cooker_id]
        if cooker.kind not in SUN:
            continue
        longest = 8 * cooker.acceptance_deg / cosine  # minutes: 2 a / (15° cos d) hours
        limit = timedelta(minutes=min(policy.LONGEST_MIN, max(policy.SLOT_MIN, longest)))
        begin, end = case.from_now(first), first.lifted_at
        begun = first.id in case.plan.started_ids or begin != case.begins(first)
        if end <= begin or (begun and not _is_turned(case, first)):
            continue
        turns = [t for t in case.plan.turns if t.cooker_id == cooker.id and begin <= t.at < end]
        marks = sorted({t.at for t in turns})
        if begun:
            marks = sorted({begin, *marks})
        if not marks or marks[0] != begin:
            yield f"{first.fill}: not aimed when it is set on the sun"
        for before, after in itertools.pairwise([*marks, end]):
            over = timedelta(minutes=policy.LAST_OVER_MIN if after == end else 0)
            if after - before > limit + over:
                yield (
                    f"{cooker.id}: {minutes(after - before)} min between turns from "
                    f"{before:%H:%M} UTC, at most {minutes(limit)}"
                )
        for t in turns:
            if _is_past(case, t.at):
                continue
            over = timedelta(minutes=policy.LAST_OVER_MIN if t.holds_until == end else 0)
            if t.holds_until <= t.at or t.holds_until - t.at > limit + over:
                yield f"{t.id}: said to hold for {minutes(t.holds_until - t.at)} min"


def turns_are_walked(case: Case) -> Iterator[str]:
    """Every turn but the first aim is on one walk, at its time, by one who may."""
    walked: dict[str, int] = defaultdict(int)
    turns = {t.id: t for t in case.plan.turns}
    for w in case.plan.walks:
        if len(w.turn_ids) > policy.TURNS_A_WALK or not w.turn_ids:
            yield f"{w.id}: {len(w.turn_ids)} turns on one walk"
        for name in w.turn_ids:
            walked[name] += 1
            if name not in turns or turns[name].at != w.at:
                yield f"{w.id}: {name} is not at its time"
            elif (may := ability(case.cookers[turns[name].cooker_id])) and (
                may not in case.helpers[w.helper_id].works
            ):
                yield f"{w.id}: {w.helper_id} may not turn {turns[name].cooker_id}"
    for t in case.plan.turns:
        if case.plan.replanned_at is not None and t.at <= case.plan.replanned_at:
            continue
        if walked[t.id] != (0 if t.first else 1):
            yield f"{t.id}: on {walked[t.id]} walks"


def nobody_is_in_two_places(case: Case) -> Iterator[str]:
    """A helper does one thing at a time, inside their hours."""
    busy: dict[str, list[tuple[datetime, datetime, str]]] = defaultdict(list)
    stays = [j for j in case.plan.jobs if j.kind == "attend"]

    def at_its_post(helper_id: str, cooker_id: str | None, at: datetime) -> bool:
        return any(
            helper_id in j.helper_ids
            and j.cooker_id == cooker_id
            and j.at <= at < j.at + timedelta(minutes=j.minutes)
            for j in stays
        )

    cooker_of = {t.id: t.cooker_id for t in case.plan.turns}
    for job in case.plan.jobs:
        if job.kind in EVERYBODY or _is_past(case, job.at):
            continue  # everybody serves
        for h in job.helper_ids:
            if job.kind != "attend" and at_its_post(h, job.cooker_id, job.at):
                continue  # part of staying there
            busy[h].append((job.at, job.at + timedelta(minutes=job.minutes), job.id))
    for w in case.plan.walks:
        posts = {cooker_of.get(t) for t in w.turn_ids}
        if _is_past(case, w.at) or (
            len(posts) == 1 and at_its_post(w.helper_id, next(iter(posts)), w.at)
        ):
            continue
        busy[w.helper_id].append((w.at, w.at + timedelta(minutes=w.minutes), w.id))
    for name, spans in busy.items():
        helper = case.helpers[name]
        spans.sort()
        for one, two in itertools.pairwise(spans):
            if two[0] < one[1]:
                yield f"{name}: {one[2]} and {two[2]} at the same time"
        for start, end, what in spans:
            if not what.startswith("talk-") and (
                start < case.at(helper.start) or end > case.at(helper.end)
            ):
                yield f"{name}: {what} is outside their hours"


def mirrors_are_watched(case: Case) -> Iterator[str]:
    """While a mirror is on the sun, an adult who may work mirrors is there and not speaking."""
    speaking = [
        (j.at, j.at + timedelta(minutes=j.minutes), h)
        for j in case.plan.jobs
        if j.kind == "talk"
        for h in j.helper_ids
    ]
    for p in case.plan.placements:
        if case.cookers[p.cooker_id].kind != "parabolic":
            continue
        at = case.from_now(p)
        while at < p.lifted_at:
            if not any(
                "mirrors" in h.works
                and h.adult
                and case.at(h.start) <= at < case.at(h.end)
                and not any(who == h.id and a <= at < b for a, b, who in speaking)
                for h in case.event.helpers
            ):
                yield f"{p.id}: nobody watches {p.cooker_id} at {at:%H:%M} UTC"
                break
            at += timedelta(minutes=policy.SLOT_MIN)


def attended_cookers_are_attended(case: Case) -> Iterator[str]:
    """At a cooker in front of the public one who may work it stays from first to last."""
    for fill in case.fills().values():
        first, cooker = fill[0], case.cookers[fill[0].cooker_id]
        begin, end = case.from_now(first), first.lifted_at
        if not cooker.attended or begin >= end:
            continue
        may = ability(cooker)
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
            yield f"{first.fill}: nobody stays at {cooker.id} from {begin:%H:%M} UTC on"


def helpers_have_their_breaks(case: Case) -> Iterator[str]:
    """Nobody is asked for anything in a break."""
    for h in case.event.helpers:
        spans = [(case.at(b.at), timedelta(minutes=b.minutes)) for b in h.breaks]
        work = [(j.at, j.minutes, j.id) for j in case.plan.jobs if h.id in j.helper_ids]
        work += [(w.at, w.minutes, w.id) for w in case.plan.walks if w.helper_id == h.id]
        for start, span in spans:
            for at, long, what in work:
                meets = at < start + span and at + timedelta(minutes=long) > start
                if meets and not what.startswith("talk-"):
                    yield f"{h.id}: {what} is in the break at {start:%H:%M} UTC"


def _is_past(case: Case, at: datetime) -> bool:
    return case.plan.replanned_at is not None and at <= case.plan.replanned_at


def _is_turned(case: Case, p: Placement) -> bool:
    """Return whether a pot that had begun still needs the sun where it stands."""
    since = case.plan.replanned_at
    return since is None or any(
        t.cooker_id == p.cooker_id and t.at > since for t in case.plan.turns
    )


def _declination_deg(case: Case) -> float:
    """Return the sun's declination, to half a degree. Source: Cooper 1969 (from memory)."""
    day = case.event.date.timetuple().tm_yday
    return 23.45 * math.sin(math.radians(360 * (284 + day) / 365))


PEOPLE_RULES: list[Callable[[Case], Iterator[str]]] = [
    jobs_have_their_people,
    turns_keep_the_sun,
    turns_are_walked,
    nobody_is_in_two_places,
    attended_cookers_are_attended,
    helpers_have_their_breaks,
    mirrors_are_watched,
]
