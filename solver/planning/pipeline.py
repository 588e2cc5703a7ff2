"""From an event to a checked plan, stage by stage.

day → candidates (batches, durations, columns) → problem → solution ⇄ roster ⇄ placements →
chances → rota → checked plan. A re-plan enters the same pass with its state in the day. What the
replay does not bear out is left out, and the rest solved again. A plan that the rule check or the
replay refuses is never returned: PlanBroken says what broke.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from events.errors import PlanBroken
from events.model import Event
from events.table import changed
from solver import stages
from solver.checking.rules import check
from solver.contest.contest import contest_plan
from solver.plan import Job, Level, Placement, Plan
from solver.planning.placements import place
from solver.planning.refusals import alike, unplaced, without
from solver.planning.warnings import warnings_of
from solver.policy import weight
from solver.risk.gas import gas_day
from solver.risk.monte_carlo import simulate
from solver.risk.rescue import rescues
from solver.rostering.lifting import with_second_hands
from solver.rostering.light_jobs import with_light_jobs
from solver.rostering.preparing import with_preparing
from solver.rostering.programme import Work, around, programme, with_past
from solver.rostering.tasks import SunExposure, Task, exposures_of, tasks_of
from solver.rostering.turns import turns_of, walks_of
from solver.rounds.rota import rota_of
from solver.scheduling.columns import Candidate
from solver.scheduling.enumeration import CandidateSet, enumerate_candidates
from solver.scheduling.explanation import tradeoffs
from solver.scheduling.formulation import assign_pool, build_problem
from solver.scheduling.problem import Problem, Solution
from solver.simulation.day import Day, make_day
from solver.solar.irradiance import at_minute, sun_steps
from solver.solar.windows import windows
from solver.talks.talks import with_talks

NO_GOODS_MOST = 30
REFUTED_MOST = 24  # times that the timetable is solved again without what the replay refuted


@dataclass(frozen=True)
class Limits:
    """Deterministic seconds of each solve."""

    timetable: float
    roster: float


IN_ADVANCE = Limits(timetable=3.0, roster=0.6)
HURRIED = Limits(timetable=1.0, roster=0.3)  # the day is short: planning again proves less


@dataclass(frozen=True)
class Staffed:
    """The chosen candidates in their cookers, everybody's work on them, and the goal's levels."""

    chosen: tuple[Candidate, ...]
    work: Work
    levels: tuple[Level, ...]


@dataclass(frozen=True)
class Settled:
    """An answer that its replay bears out, and the candidates that it was chosen from."""

    candidates: CandidateSet
    staffed: Staffed
    placements: tuple[Placement, ...]


def make_plan(event: Event, *, hurried: bool = False) -> Plan:
    """Return the checked plan of an event. The same event gives the same plan.

    A hurried one has the limits of the day itself: it may leave more levels unproven.

    Raises PlanBroken where check or replay finds a fault: a bug of ours, never shown.
    """
    stages.begin("day")
    return plan_day(make_day(event), hurried=hurried)


def plan_day(day: Day, *, hurried: bool = False) -> Plan:
    """Return the checked plan of a day; where it has a `replan`, what had begun goes on."""
    stages.begin("durations")
    candidates = enumerate_candidates(day)
    limits = HURRIED if hurried or day.replan is not None else IN_ADVANCE
    settled = _settled(day, candidates, limits)
    stages.begin("chances")
    plan = _with_chances(day, _drafted(day, settled))
    plan = with_talks(day, plan)
    earlier = day.replan.plan.contest if day.replan else None
    plan = changed(plan, rota=rota_of(day, plan), contest=contest_plan(day, earlier))
    broken = [*map(str, check(day.event, plan))]
    if broken:
        raise PlanBroken(broken)
    return plan


def _settled(day: Day, candidates: CandidateSet, limits: Limits) -> Settled:
    """Return the best answer that its replay bears out.

    The replay steps finer than the estimates, along the turns themselves. Where a cloud bank or a
    limit leaves no more than their difference, a start is left out with those around it.
    """
    stages.begin("timetable")
    for _ in range(REFUTED_MOST):
        problem = build_problem(day, candidates)
        staffed = _staffed(day, candidates, problem, limits)
        replayed = place(day, staffed.chosen, staffed.work.turns)
        if not replayed.refuted:
            return Settled(candidates, staffed, replayed.placements)
        candidates = without(day, candidates, replayed.refuted)
    raise PlanBroken(
        [
            f"{', '.join(c.column.batch_ids)}: {why.kind} in the replay, {dict(why.figures)}"
            for c, why in replayed.refuted
        ]
    )


def _staffed(day: Day, candidates: CandidateSet, problem: Problem, limits: Limits) -> Staffed:
    """Return the best columns that the people can do, and who does what.

    Where the roster can't do all of it, the smallest impossible set becomes a no-good of the
    timetable; where that happens again and again, its least dish is left out.
    """
    from solver.rostering.model import roster  # noqa: PLC0415  ortools takes 0.8 s to import
    from solver.scheduling.lexicographic import solve  # noqa: PLC0415

    before = day.replan.plan if day.replan else None
    no_goods: list[frozenset[int]] = []
    trials = 0
    while True:
        limit = limits.timetable / (1 + trials)  # one day's crew may clash again and again
        solution = solve(problem, no_goods=no_goods, deterministic_limit=limit)
        chosen = _chosen(day, candidates, solution.chosen)
        tasks, exposures = tasks_of(day, chosen), exposures_of(day, chosen)
        staff = roster(problem.people, tasks, exposures, before=before, limit=limits.roster)
        if staff is not None:
            break
        clash = _smallest_clash(day, candidates, problem, solution)
        trials += 1
        if trials <= NO_GOODS_MOST:
            no_goods += _not_again(day, candidates, clash)
        else:
            no_goods += _never(candidates, clash)
    levels = solution.levels if candidates.complete else _unproven(day.event, solution.levels)
    jobs = [*_with_people(tasks, staff.people), *programme(day), *around(day, chosen)]
    work = Work(
        turns_of(day.sky, exposures, staff.trips),
        walks_of(day.sky, exposures, staff.trips),
        tuple(jobs),
    )
    work = with_second_hands(day, work, chosen)
    if day.replan is None:
        levels = tuple(level for level in levels if level.key != "moved")
    else:
        work = with_past(day, day.replan, work)
    work = with_light_jobs(day, with_preparing(day, work), exposures)
    return Staffed(tuple(chosen), work, levels)


def _unproven(event: Event, levels: Sequence[Level]) -> tuple[Level, ...]:
    """Return levels with the bounds that hold whatever candidates were not looked at."""
    every_dish = sum(weight(dish.priority) for dish in event.dishes)
    bounds = {level.key: every_dish if level.key == "placed" else 0 for level in levels}
    return tuple(
        changed(level, bound=bounds[level.key], proven=level.value == bounds[level.key])
        for level in levels
    )


def _chosen(day: Day, candidates: CandidateSet, indexes: Sequence[int]) -> list[Candidate]:
    return assign_pool(day, [candidates.candidates[k] for k in indexes])


def _with_people(tasks: Sequence[Task], people: Sequence[tuple[str, ...]]) -> list[Job]:
    """Return the tasks' jobs with their people; who stays at a cooker does its work too."""
    who = {t.job.id: names for t, names in zip(tasks, people, strict=True)}
    return [
        changed(t.job, helper_ids=(*who.get(t.covered_by or "", ()), *names))
        for t, names in zip(tasks, people, strict=True)
    ]


def _smallest_clash(
    day: Day, candidates: CandidateSet, problem: Problem, solution: Solution
) -> frozenset[int]:
    """Return a smallest set of chosen columns that the people can't do together."""
    from solver.rostering.model import possible  # noqa: PLC0415  as above

    def clash(indexes: Sequence[int]) -> bool:
        some = _chosen(day, candidates, indexes)
        exposures: list[SunExposure] = exposures_of(day, some)
        return not possible(problem.people, tasks_of(day, some), exposures)

    return frozenset(smallest_part(clash, [], solution.chosen))


def smallest_part(
    clash: Callable[[Sequence[int]], bool], sure: Sequence[int], rest: Sequence[int]
) -> list[int]:
    """Return a smallest part of `rest` that clashes with what is sure; by halves."""
    if clash(sure):
        return []
    if len(rest) == 1:
        return list(rest)
    first, last = rest[: len(rest) // 2], rest[len(rest) // 2 :]
    early = smallest_part(clash, [*sure, *last], first)
    return [*early, *smallest_part(clash, [*sure, *early], last)]


def _not_again(day: Day, candidates: CandidateSet, clash: frozenset[int]) -> list[frozenset[int]]:
    """Return the no-goods of a clash; one column that is impossible alone takes its hour along."""
    first = candidates.candidates[min(clash)]
    if len(clash) > 1 or first.in_progress is not None:
        return [clash]
    every = enumerate(candidates.candidates)
    return [frozenset({k}) for k, other in every if alike(day, other, first)]


def _never(candidates: CandidateSet, clash: frozenset[int]) -> list[frozenset[int]]:
    """Return the no-goods that leave out the least dish of a clash that is still to be loaded."""
    fresh = [c for k in sorted(clash) if (c := candidates.candidates[k]).in_progress is None]
    dishes = [b.dish for c in fresh for b in c.batches]
    if not dishes:
        raise PlanBroken([f"no crew found for {len(clash)} loads in progress"])
    least = min(dishes, key=lambda dish: dish.priority).id
    every = enumerate(candidates.candidates)
    return [
        frozenset({k})
        for k, c in every
        if c.in_progress is None and any(b.dish.id == least for b in c.batches)
    ]


def _drafted(day: Day, settled: Settled) -> Plan:
    """Return the plan without its chances."""
    event, replan, placements = day.event, day.replan, settled.placements
    candidates, staffed = settled.candidates, settled.staffed
    begun = [b.id for c in staffed.chosen if c.in_progress is not None for b in c.batches]
    return Plan(
        event_id=day.event_id,
        title=event.title,
        sky="forecast" if event.weather.hours else "clear",
        sun=sun_steps(event, day.sky),
        windows=windows(event),
        placements=placements,
        turns=staffed.work.turns,
        walks=staffed.work.walks,
        jobs=tuple(sorted(staffed.work.jobs, key=lambda j: (j.at, j.id))),
        unplaced=tuple(unplaced(day, candidates, placements)),
        levels=staffed.levels,
        risk=None,
        rescues=(),
        gas_day=gas_day(day),
        warnings=(),
        replanned_at=at_minute(day.sky, replan.minute) if replan else None,
        tradeoffs=tuple(tradeoffs(day, candidates.candidates, staffed.chosen)),
        started_ids=tuple(sorted(begun)),
    )


def _with_chances(day: Day, plan: Plan) -> Plan:
    """Return the plan with its chances, its rescues, and what it warns of."""
    if day.event.weather.is_forecast:
        plan = changed(plan, risk=simulate(day, plan))
    rescue = rescues(day, plan)
    warned = warnings_of(day.event, plan.placements, plan.turns, rescue, since=plan.replanned_at)
    return changed(plan, rescues=rescue.rescues, warnings=tuple(warned))
