"""The rules of the rota: each group at each stop once, in time, with what it is said to see."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta

from events.rounds import Stop
from solver import policy
from solver.checking.breach import Breach
from solver.checking.context import Case, minutes
from solver.plan import Job, Placement, Walk
from solver.programme import GroupPause, RotaLevelKey, RotaPlan, Sight, Visit

CURVE_SLACK_K = 2.0  # the check's own boiling point, and a curve drawn straight between points
CURVE_SLACK = timedelta(minutes=10)  # a curve has a point every ten minutes
HANDS: dict[str, tuple[str, ...]] = {
    "loading": ("load",),
    "lid-opened": ("stir", "probe"),
    "lifted": ("lift", "insulate", "move"),
}


def the_rota_is_kept(case: Case) -> Iterator[Breach]:
    """Where groups go round, there is a rota that keeps its rules, or one that is refused."""
    rota, event = case.plan.rota, case.event
    if not event.groups:
        return
    if rota is None:
        yield Breach("no-rota", ())
        return
    groups, stops = {g.id for g in event.groups}, {s.id for s in event.stops}
    unknown = [v for v in rota.visits if v.group_id not in groups or v.stop_id not in stops]
    unknown_pause = [p for p in rota.pauses if p.group_id not in groups]
    for odd in unknown:
        yield Breach("unknown-visit", (odd.group_id, odd.stop_id))
    for pause in unknown_pause:
        yield Breach("unknown-group", (pause.group_id,))
    if rota.visits and not unknown and not unknown_pause:
        for rule in _RULES:
            yield from rule(case, rota)


def _every_stop_once(case: Case, rota: RotaPlan) -> Iterator[Breach]:
    """A group is at every stop it does not skip once, for its minutes, in its hours."""
    event = case.event
    for group in event.groups:
        hours = group.hours(event.rota.hours(event.site))
        own = [v for v in rota.visits if v.group_id == group.id]
        for stop in event.stops:
            times = sum(v.stop_id == stop.id for v in own)
            if times != (wanted := int(stop.id not in group.skips)):
                yield Breach("wrong-number-of-visits", (group.id, stop.id), times, wanted)
        for v in own:
            ids, long = (group.id, v.stop_id), event.rota.minutes_at(event.stop(v.stop_id))
            if v.minutes != long:
                yield Breach("wrong-visit-minutes", ids, v.minutes, long)
            if v.at < case.at(hours.start) or _end(v) > case.at(hours.end):
                yield Breach("visit-outside-hours", ids, v.at)


def _one_group_at_a_stop(case: Case, rota: RotaPlan) -> Iterator[Breach]:
    """No two groups are at one stop at once, and it has its minutes between two."""
    for stop in case.event.stops:
        own = sorted((v for v in rota.visits if v.stop_id == stop.id), key=lambda v: v.at)
        for one, two in itertools.pairwise(own):
            free = minutes(two.at - _end(one))
            if free < stop.ready_min:
                ids = (stop.id, one.group_id, two.group_id)
                yield Breach("stop-not-free", ids, free, stop.ready_min)


def _walks_have_their_time(case: Case, rota: RotaPlan) -> Iterator[Breach]:
    """Between two visits there is their walk, and the pause where it lies between."""
    event = case.event
    for group in event.groups:
        own = sorted((v for v in rota.visits if v.group_id == group.id), key=lambda v: v.at)
        rests = [p for p in rota.pauses if p.group_id == group.id]
        speed = event.rota.walk_m_min
        if group.young:
            speed = min(speed, policy.YOUNG_WALK_M_MIN)
        if own and own[0].walk_m:
            yield Breach("wrong-walk", (group.id, own[0].stop_id), own[0].walk_m, 0)
        for one, two in itertools.pairwise(own):
            ids = (group.id, one.stop_id, two.stop_id)
            metres = _metres(case, event.stop(one.stop_id), event.stop(two.stop_id))
            wanted = max(event.rota.walk_min_least, metres / speed)
            between = minutes(two.at - _end(one))
            between -= sum(p.minutes for p in rests if one.at <= p.at < two.at)
            if between < wanted:
                yield Breach("walk-too-short", ids, between, wanted)
            if two.walk_m != metres:
                yield Breach("wrong-walk", ids, two.walk_m, metres)


def _metres(case: Case, one: Stop, two: Stop) -> int:
    places = [stop.place(case.event.stations) for stop in (one, two)]
    return math.ceil(math.dist(*places))


def _talks_for_all_are_free(case: Case, rota: RotaPlan) -> Iterator[Breach]:
    """While all groups are at a talk, or on the walk to it or from it, none is at a stop."""
    walk = timedelta(minutes=case.event.rota.walk_min_least)
    for job in case.plan.jobs:
        if job.kind != "talk" or case.event.talk(job.talk_id or "").groups != "all":
            continue
        until = job.at + timedelta(minutes=job.minutes)
        for v in rota.visits:
            if v.at < until + walk and _end(v) > job.at - walk and not _has_begun(case, v):
                yield Breach("visit-meets-a-talk", (v.group_id, v.stop_id, job.id), v.at, job.at)


def _groups_have_their_pause(case: Case, rota: RotaPlan) -> Iterator[Breach]:
    """Every group rests once, whole, beginning between the two times, at no stop meanwhile."""
    given = case.event.rota
    for group in case.event.groups:
        hours = group.hours(given.hours(case.event.site))
        own = [p for p in rota.pauses if p.group_id == group.id]
        if len(own) != (wanted := int(given.pause_min > 0)):
            yield Breach("wrong-number-of-pauses", (group.id,), len(own), wanted)
        for p in own:
            first, last = given.pause_from or hours.start, given.pause_until or hours.end
            if p.minutes != given.pause_min:
                yield Breach("wrong-pause-minutes", (group.id,), p.minutes, given.pause_min)
            if not case.at(first) <= p.at <= case.at(last) or _end(p) > case.at(hours.end):
                yield Breach("pause-outside-its-time", (group.id,), p.at)
            for v in rota.visits:
                if v.group_id == group.id and v.at < _end(p) and _end(v) > p.at:
                    yield Breach("visit-in-a-pause", (group.id, v.stop_id), v.at, p.at)


def _all_change_at_the_bell(case: Case, rota: RotaPlan) -> Iterator[Breach]:
    """With a bell no visit begins while those of another round still last."""
    if not case.event.rota.bell:
        return
    longest = timedelta(minutes=max(v.minutes for v in rota.visits))
    bells = sorted({v.at for v in rota.visits})
    for one, two in itertools.pairwise(bells):
        if two - one < longest:
            yield Breach("not-together-at-the-bell", (), two, one)


def _groups_fit_and_are_led(case: Case, rota: RotaPlan) -> Iterator[Breach]:
    """No group is larger than a stop takes; the young have an adult with no other work then."""
    for v in rota.visits:
        group, stop = case.event.group(v.group_id), case.event.stop(v.stop_id)
        if group.people > stop.people_max:
            yield Breach("group-too-large", (group.id, stop.id), group.people, stop.people_max)
    for group in case.event.groups:
        if group.young and not group.adult:
            yield Breach("young-without-an-adult", (group.id,))
        own = [v for v in rota.visits if v.group_id == group.id]
        if own and group.adult in case.helpers:
            first, last = min(v.at for v in own), max(_end(v) for v in own)
            for work in _work(case, group.adult, first, last):
                yield Breach("adult-elsewhere", (group.id, group.adult, work))


def _guides_are_at_their_stop(case: Case, rota: RotaPlan) -> Iterator[Breach]:
    """A guide has no other work from the first visit to the last."""
    for stop in case.event.stops:
        own = [v for v in rota.visits if v.stop_id == stop.id]
        if stop.guide is None or not own:
            continue
        first, last = min(v.at for v in own), max(_end(v) for v in own)
        for work in _work(case, stop.guide, first, last):
            yield Breach("guide-elsewhere", (stop.id, stop.guide, work))


def _work(case: Case, helper_id: str, start: datetime, end: datetime) -> Iterator[str]:
    """Yield the ids of a helper's jobs and walks in a stretch of time, as far as still to come."""
    works: list[Job | Walk] = [*case.plan.jobs, *case.plan.walks]
    now = case.plan.replanned_at
    for work in works:
        people = (work.helper_id,) if isinstance(work, Walk) else work.helper_ids
        meets = work.at < end and _end(work) > start and (now is None or work.at > now)
        if helper_id in people and meets:
            yield work.id


def _what_is_seen_is_there(case: Case, rota: RotaPlan) -> Iterator[Breach]:
    """What a visit is said to see is what its stop is for, and stands in the plan in its time."""
    for v in rota.visits:
        stop = case.event.stop(v.stop_id)
        for sight in v.sees:
            ids = (v.group_id, v.stop_id, sight.cooker_id, sight.moment)
            if not stop.is_for(sight.moment, sight.cooker_id):
                yield Breach("sight-of-another-stop", ids)
            elif not _has_begun(case, v) and not _is_seen(case, v, sight):
                yield Breach("sight-not-in-the-plan", ids, sight.at)


def _is_seen(case: Case, v: Visit, sight: Sight) -> bool:
    settled = v.at + timedelta(minutes=policy.SETTLE_MIN)
    last_look = _end(v) - timedelta(minutes=policy.LAST_LOOK_MIN)
    if sight.moment == "loading":
        jobs = _jobs(case, sight)
        return any(v.at <= j.at and _end(j) <= last_look for j in jobs)
    if not settled <= sight.at <= last_look:
        return False
    if sight.moment in HANDS:
        return bool(_jobs(case, sight))
    if sight.moment == "turn":
        return any(t.cooker_id == sight.cooker_id and t.at == sight.at for t in case.plan.turns)
    if sight.moment == "served":
        return any(
            p.served_at <= sight.at < p.last_plate_at
            for p in case.plan.placements
            if sight.cooker_id == (p.then_cooker_id or p.cooker_id)
        )
    return any(
        _is_hot(case, p, sight) for p in case.plan.placements if p.cooker_id == sight.cooker_id
    )


def _jobs(case: Case, sight: Sight) -> list[Job]:
    return [
        j
        for j in case.plan.jobs
        if j.kind in HANDS[sight.moment] and j.cooker_id == sight.cooker_id and j.at == sight.at
    ]


def _is_hot(case: Case, p: Placement, sight: Sight) -> bool:
    """Return whether a pot's curve is as hot at the instant as a moment asks."""
    if not p.loaded_at <= sight.at <= p.lifted_at:
        return False
    near = [q for q in p.curve if abs(q.at - sight.at) <= CURVE_SLACK]
    if sight.moment == "over-100":
        return any(q.body_c is not None and q.body_c >= 100 - CURVE_SLACK_K for q in near)
    # A rule of thumb, good to half a degree below 3500 m: the boil falls by a degree in 300 m.
    boil_c = 100 - case.event.site.altitude_m / 300
    if sight.moment == "boil":
        return any(q.food_c >= boil_c - policy.BOIL_WITHIN_K - CURVE_SLACK_K for q in near)
    steam_c = boil_c - policy.FIRST_STEAM_K
    return (
        min(q.food_c for q in near) - CURVE_SLACK_K
        <= steam_c
        <= max(q.food_c for q in near) + CURVE_SLACK_K
    )


def _levels_are_right(case: Case, rota: RotaPlan) -> Iterator[Breach]:
    """The goal's levels, counted again from the visits, are the figures told."""
    event, least = case.event, case.event.rota.walk_min_least
    by_group: dict[str, list[Visit]] = defaultdict(list)
    for v in rota.visits:
        by_group[v.group_id].append(v)
    midnight = case.at(datetime.min.time())
    counted: dict[RotaLevelKey, int] = {
        "unseen": sum(bool(event.stop(v.stop_id).sees) and not v.sees for v in rota.visits),
        "end": minutes(max(_end(v) for v in rota.visits) - midnight),
        "waiting": sum(_waiting(own, least) for own in by_group.values()),
    }
    for level in rota.levels:
        if level.key in counted and counted[level.key] != level.value:
            yield Breach("wrong-rota-level", (level.key,), level.value, counted[level.key])


def _waiting(own: Sequence[Visit], least_walk_min: int) -> int:
    there = minutes(max(_end(v) for v in own) - min(v.at for v in own))
    return there - sum(v.minutes for v in own) - least_walk_min * (len(own) - 1)


def _end(part: Visit | GroupPause | Job | Walk) -> datetime:
    return part.at + timedelta(minutes=part.minutes)


def _has_begun(case: Case, v: Visit) -> bool:
    return case.plan.replanned_at is not None and v.at <= case.plan.replanned_at


_RULES: list[Callable[[Case, RotaPlan], Iterator[Breach]]] = [
    _every_stop_once,
    _one_group_at_a_stop,
    _walks_have_their_time,
    _talks_for_all_are_free,
    _groups_have_their_pause,
    _all_change_at_the_bell,
    _groups_fit_and_are_led,
    _guides_are_at_their_stop,
    _what_is_seen_is_there,
    _levels_are_right,
]
