"""From the plan of the pots to the rota of the groups, and back into instants."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from events.model import Event
from events.rounds import Group, Hours, Stop
from events.site import Station
from solver.plan import Plan
from solver.policy import SLOT_MIN, YOUNG_WALK_M_MIN
from solver.programme import GroupPause, RotaHelp, RotaPlan, Sight, Visit
from solver.rounds.problem import GroupRound, RotaProblem, RotaSolution, StopVisits
from solver.rounds.sights import Sighting, servings, sightings
from solver.simulation.clock import minute_at
from solver.simulation.day import Day
from solver.solar.irradiance import at_minute, minute_of

HELP_SLOTS = 6  # longer by half an hour


@dataclass(frozen=True)
class _Round:
    """The rota's problem with what its indexes stand for."""

    event: Event
    problem: RotaProblem
    sights: Mapping[str, tuple[Sighting, ...]]  # by stop: what it is there for


def rota_of(day: Day, plan: Plan) -> RotaPlan | None:
    """Return who is where when; None where no groups go round."""
    from solver.rounds.model import can_be, solve_rota  # noqa: PLC0415  ortools takes 0.8 s

    if not day.event.groups:
        return None
    going = _round(day, plan)
    solution = solve_rota(going.problem)
    if solution is not None:
        return _told(day, going, solution)
    helps = tuple(key for key, other in _relaxed(going.problem) if can_be(other))
    return RotaPlan(visits=(), pauses=(), levels=(), helps=helps)


def _round(day: Day, plan: Plan) -> _Round:
    event, rota = day.event, day.event.rota
    sights = _sights(day, plan)
    speeds = (rota.walk_m_min, min(rota.walk_m_min, YOUNG_WALK_M_MIN))
    pause = rota.pause_min // SLOT_MIN
    between = (rota.pause_from or rota.hours(event.site).start, rota.pause_until)
    problem = RotaProblem(
        groups=tuple(_group(day, g) for g in event.groups),
        stops=tuple(_stop(day, s, sights[s.id]) for s in event.stops),
        walks=tuple(_walks(event, speed) for speed in speeds),
        walk_least=rota.walk_min_least // SLOT_MIN,
        closed=frozenset(_closed(day, plan)),
        pause=pause,
        pause_starts=(
            -(-minute_at(day, between[0]) // SLOT_MIN),
            minute_at(day, between[1] or rota.hours(event.site).end) // SLOT_MIN,
        ),
        bell=rota.bell,
        fixed=_earlier(day, begun=True),
        before=_earlier(day, begun=False),
    )
    return _Round(event, problem, sights)


def _sights(day: Day, plan: Plan) -> dict[str, tuple[Sighting, ...]]:
    """Return, by stop, what there is to see of what it is there for."""
    seen = [
        *sightings(day, plan.placements, plan.jobs, plan.turns),
        *servings(day, plan.placements),
    ]
    return {
        stop.id: tuple(s for s in seen if stop.is_for(s.moment, s.cooker_id))
        for stop in day.event.stops
    }


def _group(day: Day, group: Group) -> GroupRound:
    event = day.event
    hours = group.hours(event.rota.hours(event.site))
    stops = tuple(n for n, s in enumerate(event.stops) if s.id not in group.skips)
    return GroupRound(group.id, *_slots(day, hours), stops, pace=int(group.young))


def _slots(day: Day, hours: Hours) -> tuple[int, int]:
    """Return hours as slots, none of them outside."""
    return -(-minute_at(day, hours.start) // SLOT_MIN), minute_at(day, hours.end) // SLOT_MIN


def _stop(day: Day, stop: Stop, sights: Sequence[Sighting]) -> StopVisits:
    event = day.event
    length = event.rota.minutes_at(stop)
    first, last = _slots(day, event.rota.hours(event.site))
    unseen = [
        t
        for t in range(first, last)
        if stop.sees and all(s.seen_at(t * SLOT_MIN, t * SLOT_MIN + length) is None for s in sights)
    ]
    slots = length // SLOT_MIN
    return StopVisits(stop.id, slots, stop.ready_min // SLOT_MIN, frozenset(unseen))


def _walks(event: Event, m_min: int) -> tuple[tuple[int, ...], ...]:
    """Return the slots of a walk from each stop to each, at so many metres a minute."""
    least = event.rota.walk_min_least
    return tuple(
        tuple(
            math.ceil(max(least, metres_between(a, b, event.stations) / m_min) / SLOT_MIN)
            for b in event.stops
        )
        for a in event.stops
    )


def metres_between(a: Stop, b: Stop, stations: Sequence[Station]) -> int:
    """Return how far two stops are from each other, straight, in whole metres."""
    return math.ceil(math.dist(a.place(stations), b.place(stations)))


def _closed(day: Day, plan: Plan) -> Iterator[int]:
    """Yield the slots of talks to which all groups come, with the walk before and after."""
    walk = day.event.rota.walk_min_least
    for job in plan.jobs:
        if job.kind == "talk" and day.event.talk(job.talk_id or "").groups == "all":
            start = minute_of(day.sky, job.at)
            yield from range(
                (start - walk) // SLOT_MIN, -(-(start + job.minutes + walk) // SLOT_MIN)
            )


def _earlier(day: Day, *, begun: bool) -> dict[tuple[int, int], int]:
    """Return where an earlier rota has its visits: those that have begun, or those to come."""
    rota = day.replan.plan.rota if day.replan else None
    if day.replan is None or rota is None:
        return {}
    groups = {g.id: n for n, g in enumerate(day.event.groups)}
    stops = {s.id: n for n, s in enumerate(day.event.stops)}
    return {
        (groups[v.group_id], stops[v.stop_id]): minute_of(day.sky, v.at) // SLOT_MIN
        for v in rota.visits
        if v.group_id in groups
        and v.stop_id in stops
        and v.stop_id not in day.event.group(v.group_id).skips
        and (minute_of(day.sky, v.at) <= day.replan.minute) == begun
    }


def _told(day: Day, going: _Round, solution: RotaSolution) -> RotaPlan:
    event = going.event

    def at(slot: int) -> datetime:
        return at_minute(day.sky, slot * SLOT_MIN)

    visits: list[Visit] = []
    for g, group in enumerate(event.groups):
        starts = sorted((t, s) for (of, s), t in solution.visits.items() if of == g)
        before: Stop | None = None
        for t, s in starts:
            stop, length = event.stops[s], event.rota.minutes_at(event.stops[s])
            seen = [
                Sight(moment=x.moment, cooker_id=x.cooker_id, at=at_minute(day.sky, minute))
                for x in going.sights[stop.id]
                if (minute := x.seen_at(t * SLOT_MIN, t * SLOT_MIN + length)) is not None
            ]
            walk_m = metres_between(before, stop, event.stations) if before else 0
            visits.append(
                Visit(
                    group_id=group.id,
                    stop_id=stop.id,
                    at=at(t),
                    minutes=length,
                    walk_m=walk_m,
                    sees=tuple(sorted(seen, key=lambda x: (x.at, x.cooker_id, x.moment))),
                )
            )
            before = stop
    pauses = [
        GroupPause(group_id=event.groups[g].id, at=at(t), minutes=event.rota.pause_min)
        for g, t in solution.pauses.items()
    ]
    return RotaPlan(
        visits=tuple(sorted(visits, key=lambda v: (v.at, v.group_id))),
        pauses=tuple(sorted(pauses, key=lambda p: (p.at, p.group_id))),
        levels=solution.levels,
    )


def _relaxed(problem: RotaProblem) -> Iterator[tuple[RotaHelp, RotaProblem]]:
    """Yield what could be asked less of a rota that can't be, one thing at a time."""
    groups = tuple(replace(g, end=g.end + HELP_SLOTS) for g in problem.groups)
    yield "longer-hours", replace(problem, groups=groups)
    stops = tuple(replace(s, slots=max(1, s.slots - 1)) for s in problem.stops)
    yield "shorter-visits", replace(problem, stops=stops)
    if problem.pause:
        yield "no-pause", replace(problem, pause=0)
    if problem.bell:
        yield "no-bell", replace(problem, bell=False)
