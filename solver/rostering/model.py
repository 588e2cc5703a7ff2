"""Who does what, and the fewest walks that keep every cooker on the sun.

The placements are fixed. Two small CP-SAT models give every cooker its turns (`turn_times.py`)
and every job and walk its people (`assignment.py`): fewest walks, fewest turns, fairest shares.
Where jobs of several slots make the second impossible, one model seeks both at once. If that is
infeasible too, the conflict goes back to the timetable as a no-good.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from solver.cp_sat import cp_model
from solver.deterministic import deterministic_solver
from solver.plan import Plan
from solver.policy import TURNS_A_WALK
from solver.rostering.assignment import Assignment, assign
from solver.rostering.levels import POSSIBLE_LIMIT, solve_levels
from solver.rostering.tasks import SunExposure, Task
from solver.rostering.turn_times import TurnTimes, every_interval_has_a_turn
from solver.rostering.turns import LAST_OVER, Trip, may, turner
from solver.scheduling.problem import Person

TURNS_LIMIT = 0.5  # more finds a turn less at best (measured on the samples)
LATE_LIMIT = 0.02  # five times as many find no later turns (measured)
TIE_LIMIT = 0.1  # for the last, which only chooses among equals: it need not be proven


@dataclass(frozen=True)
class Roster:
    """Everybody's work: the people of each task, and the trips on which cookers are turned."""

    people: tuple[tuple[str, ...], ...]  # of each task
    trips: tuple[Trip, ...]


class _Joint:
    """Turns and people in one model: exact, and slower."""

    def __init__(
        self, people: Sequence[Person], tasks: Sequence[Task], exposures: Sequence[SunExposure]
    ) -> None:
        self.exposures = exposures
        self.crew = Assignment(people, tasks)
        self.cp = self.crew.cp
        self.turns: dict[tuple[int, int], cp_model.IntVar] = {}
        for s, here in every_interval_has_a_turn(self.cp, exposures, self.turns).items():
            self._enough_walk(s, here)
        self.crew.nobody_is_in_two_places()

    def _enough_walk(self, s: int, here: list[int]) -> None:
        # A set's order changes from run to run, and with it the answer among equals.
        for ability in sorted({turner(self.exposures[k]) for k in here} | {None}, key=str):
            walkers = [
                self.crew.may_walk(p, s)
                for p, who in enumerate(self.crew.people)
                if may(who, ability) and who.free[s]
            ]
            turned = [
                self.turns[(k, s)]
                for k in here
                if ability is None or turner(self.exposures[k]) == ability
            ]
            self.cp.add(sum(turned) <= TURNS_A_WALK * sum(walkers))

    def solve(self, before: Plan | None, limit: float) -> cp_model.CpSolver | None:
        """Solve level by level: fewest news, fewest walks, fewest turns, fairest shares."""
        late = [(self.exposures[k].end - s) * v for (k, s), v in self.turns.items()]
        levels: list[cp_model.LinearExprT] = [
            sum(self.crew.goes.values()),
            sum(self.turns.values()),
            self.crew.most(),
            self.crew.order() + cp_model.LinearExpr.sum(late),
        ]
        if before is not None:
            levels.insert(0, self.crew.news(before))
        limits = [limit] * (len(levels) - 1) + [TIE_LIMIT]
        every = [*self.crew.does.values(), *self.crew.goes.values(), *self.turns.values()]
        return solve_levels(self.cp, every, levels, limits=limits)

    def turned_at(self, solver: cp_model.CpSolver, s: int) -> list[int]:
        """Return the exposures that are turned in a slot."""
        return [
            k
            for k in range(len(self.exposures))
            if (k, s) in self.turns and solver.boolean_value(self.turns[(k, s)])
        ]


def roster(
    people: Sequence[Person],
    tasks: Sequence[Task],
    exposures: Sequence[SunExposure],
    *,
    before: Plan | None = None,
    limit: float = POSSIBLE_LIMIT,
) -> Roster | None:
    """Return the best crew, or None where the people can't do all of it.

    After an earlier plan, fewest news for anybody come first.
    """
    rounds = TurnTimes(people, tasks, exposures, before).solve(min(limit, TURNS_LIMIT), LATE_LIMIT)
    if rounds is None:
        return None
    answer = assign(people, tasks, rounds, before=before, limit=limit)
    if answer is not None:
        crew, solver = answer
        turned = {r.slot: r.turned for r in rounds}
        return _read(crew, solver, exposures, sorted(turned), lambda s: turned[s])
    joint = _Joint(people, tasks, exposures)
    found = joint.solve(before, limit)
    if found is None:
        return None
    slots = sorted({s for _, s in joint.turns})
    return _read(joint.crew, found, exposures, slots, lambda s: joint.turned_at(found, s))


def possible(
    people: Sequence[Person], tasks: Sequence[Task], exposures: Sequence[SunExposure]
) -> bool:
    """Return whether the people can do all of it (unknown within the limit counts as yes)."""
    if not TurnTimes(people, tasks, exposures, None).possible():
        return False
    model = _Joint(people, tasks, exposures)
    return deterministic_solver(POSSIBLE_LIMIT).solve(model.cp) != cp_model.INFEASIBLE


def _read(
    crew: Assignment,
    solver: cp_model.CpSolver,
    exposures: Sequence[SunExposure],
    slots: Sequence[int],
    turned_at: Callable[[int], Sequence[int]],
) -> Roster:
    people = crew.helpers_of(solver)
    trips = list(_own_turns(crew.tasks, exposures, people))
    for s in slots:
        todo = list(turned_at(s))
        for who in crew.walkers_at(solver, s):
            turned = [k for k in todo if may(who, turner(exposures[k]))][:TURNS_A_WALK]
            todo = [k for k in todo if k not in turned]
            if turned:
                trips.append(Trip(s, who.id, tuple(turned)))
    return Roster(people, tuple(sorted(trips)))


def _own_turns(
    tasks: Sequence[Task],
    exposures: Sequence[SunExposure],
    people: tuple[tuple[str, ...], ...],
) -> Iterator[Trip]:
    """Yield the turns of attended cookers: by who stays there, as late as the aim holds."""
    for k, one in enumerate(exposures):
        if not one.cooker.attended:
            continue
        staying = [
            who[0]
            for task, who in zip(tasks, people, strict=True)
            if task.job.kind == "attend"
            and task.job.cooker_id == one.cooker.id
            and max(one.start, one.now) <= task.slot + 1 <= one.end
        ]
        slot = max(one.start + one.every, one.now)
        while one.end - slot > 0 and one.end - (slot - one.every) > one.every + LAST_OVER:
            yield Trip(slot, staying[0], (k,))
            slot += one.every
