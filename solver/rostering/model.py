"""Who does what, and the fewest walks that keep every cooker on the sun.

The placements are fixed; one small CP-SAT model gives every job its people and every cooker its
turns, level by level: fewest walks, fewest turns, fairest shares. If it is infeasible, the
conflict goes back to the timetable as a no-good.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from events.kinds import Ability
from solver.plan import Plan
from solver.policy import TURNS_A_WALK
from solver.rostering.tasks import SunExposure, Task
from solver.rostering.turns import LAST_OVER, Trip, walk_id
from solver.scheduling.problem import Person

POSSIBLE_LIMIT = 2.0  # deterministic seconds
TIE_LIMIT = 0.2  # for the last, which only chooses among equals: it need not be proven


@dataclass(frozen=True)
class Roster:
    """Everybody's work: the people of each task, and the trips on which cookers are turned."""

    people: tuple[tuple[str, ...], ...]  # of each task
    trips: tuple[Trip, ...]


def _may(person: Person, ability: Ability | None) -> bool:
    return ability is None or ability in person.abilities


def _turner(exposure: SunExposure) -> Ability | None:
    return "mirrors" if exposure.cooker.trained else None


class _Model:
    """The crew's model: does(task, role, person), walks(person, slot), turns(exposure, slot)."""

    def __init__(
        self,
        people: Sequence[Person],
        tasks: Sequence[Task],
        exposures: Sequence[SunExposure],
        before: Plan | None = None,
    ) -> None:
        self.before = before
        self.people, self.tasks, self.exposures = people, tasks, exposures
        self.cp = cp_model.CpModel()
        self.does: dict[tuple[int, int, int], cp_model.IntVar] = {}
        self.walks: dict[tuple[int, int], cp_model.IntVar] = {}
        self.turns: dict[tuple[int, int], cp_model.IntVar] = {}
        self.busy: dict[tuple[int, int], list[cp_model.IntVar]] = defaultdict(list)
        self._every_job_has_its_people()
        self._every_interval_has_a_turn()
        self._nobody_is_in_two_places()

    def _every_job_has_its_people(self) -> None:
        for j, task in enumerate(self.tasks):
            mine: dict[int, list[cp_model.IntVar]] = defaultdict(list)
            for r, ability in enumerate(task.abilities):
                able: list[cp_model.IntVar] = []
                for p, person in enumerate(self.people):
                    if _may(person, ability) and all(person.free[s] for s in task.slots()):
                        var = self.cp.new_bool_var("")
                        self.does[(j, r, p)] = var
                        mine[p].append(var)
                        able.append(var)
                        for s in task.slots():
                            self.busy[(p, s)].append(var)
                self.cp.add_exactly_one(able)
            for several in mine.values():
                self.cp.add_at_most_one(several)

    def _every_interval_has_a_turn(self) -> None:
        at: dict[int, list[int]] = defaultdict(list)
        for k, one in enumerate(self.exposures):
            if one.cooker.attended:
                continue  # who stays at it turns it
            for s in range(max(one.start + 1, one.now), one.end):
                self.turns[(k, s)] = self.cp.new_bool_var("")
                at[s].append(k)
            for a in range(one.start, one.end - one.every - LAST_OVER):
                ahead = range(a + 1, a + one.every + 1)
                if any((k, s) in self.turns for s in ahead):
                    self.cp.add_bool_or([self.turns[(k, s)] for s in ahead if (k, s) in self.turns])
        for s, here in at.items():
            # A set's order changes from run to run, and with it the answer among equals.
            for ability in sorted({_turner(self.exposures[k]) for k in here} | {None}, key=str):
                walkers = [
                    self._walk(p, s)
                    for p, who in enumerate(self.people)
                    if _may(who, ability) and who.free[s]
                ]
                wanted = [
                    self.turns[(k, s)]
                    for k in here
                    if ability is None or _turner(self.exposures[k]) == ability
                ]
                self.cp.add(sum(wanted) <= TURNS_A_WALK * sum(walkers))

    def _walk(self, p: int, s: int) -> cp_model.IntVar:
        if (p, s) not in self.walks:
            self.walks[(p, s)] = self.cp.new_bool_var("")
            self.busy[(p, s)].append(self.walks[(p, s)])
        return self.walks[(p, s)]

    def _nobody_is_in_two_places(self) -> None:
        for several in self.busy.values():
            if len(several) > 1:
                self.cp.add_at_most_one(several)

    def goals(self) -> list[cp_model.LinearExprT]:
        """Return the levels: fewest walks, fewest turns, fairest shares, and a tie-break."""
        load: dict[int, list[cp_model.LinearExprT]] = defaultdict(list)
        for (j, _, p), var in self.does.items():
            load[p].append(len(self.tasks[j].slots()) * var)
        for (p, _), var in self.walks.items():
            load[p].append(var)
        most = self.cp.new_int_var(0, 10_000, "most")
        for terms in load.values():
            self.cp.add(sum(terms) <= most)
        # Early in the list and late in the interval; those with fewer abilities are spared less.
        order = [(len(self.people[p].abilities) * 40 + p) * v for (_, _, p), v in self.does.items()]
        order += [(p + 1) * v for (p, _), v in self.walks.items()]
        order += [(self.exposures[k].end - s) * v for (k, s), v in self.turns.items()]
        levels: list[cp_model.LinearExprT]
        levels = [sum(self.walks.values()), sum(self.turns.values()), most, sum(order)]
        return [self._news(self.before), *levels] if self.before is not None else levels

    def _news(self, before: Plan) -> cp_model.LinearExprT:
        """Return how many jobs and walks a helper has that the plan before did not give them."""
        had = {j.id: set(j.helper_ids) for j in before.jobs}
        trips = {w.id for w in before.walks}
        new = [
            var
            for (j, _, p), var in self.does.items()
            if self.people[p].id not in had.get(self.tasks[j].job.id, {self.people[p].id})
        ]
        new += [
            var for (p, s), var in self.walks.items() if walk_id(s, self.people[p].id) not in trips
        ]
        return sum(new)


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
    model = _Model(people, tasks, exposures, before)
    solver: cp_model.CpSolver | None = None
    variables = [*model.does.values(), *model.walks.values(), *model.turns.values()]
    *levels, tie = model.goals()
    for goal in (*levels, tie):
        trial = _solver(TIE_LIMIT if goal is tie else limit)
        model.cp.minimize(goal)
        if solver is not None:
            model.cp.clear_hints()  # type: ignore[no-untyped-call]  # ortools has no types here
            for var in variables:
                model.cp.add_hint(var, solver.value(var))
        status = trial.solve(model.cp)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            if solver is None:
                return None
            break
        solver = trial
        model.cp.add(goal <= round(solver.objective_value))
    assert solver is not None
    return _read(model, solver)


def possible(
    people: Sequence[Person], tasks: Sequence[Task], exposures: Sequence[SunExposure]
) -> bool:
    """Return whether the people can do all of it (unknown within the limit counts as yes)."""
    return _solver(POSSIBLE_LIMIT).solve(_Model(people, tasks, exposures).cp) != cp_model.INFEASIBLE


def _solver(limit: float) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    # Without the full linear relaxation these covers take a hundred times as long (measured).
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = limit
    return solver


def _read(model: _Model, solver: cp_model.CpSolver) -> Roster:
    people = tuple(
        tuple(
            model.people[p].id
            for r in range(len(task.abilities))
            for p in range(len(model.people))
            if (j, r, p) in model.does and solver.boolean_value(model.does[(j, r, p)])
        )
        for j, task in enumerate(model.tasks)
    )
    trips = list(_own_turns(model, people))
    for s in sorted({s for _, s in model.turns}):
        todo = [
            k
            for k in range(len(model.exposures))
            if (k, s) in model.turns and solver.boolean_value(model.turns[(k, s)])
        ]
        walkers = [
            who
            for p, who in enumerate(model.people)
            if (p, s) in model.walks and solver.boolean_value(model.walks[(p, s)])
        ]
        # Those who may do less choose first; those who may do more take what is left.
        for who in sorted(walkers, key=lambda w: ("mirrors" in w.abilities, w.id)):
            mine = [k for k in todo if _may(who, _turner(model.exposures[k]))][:TURNS_A_WALK]
            todo = [k for k in todo if k not in mine]
            if mine:
                trips.append(Trip(s, who.id, tuple(mine)))
    return Roster(people, tuple(sorted(trips)))


def _own_turns(model: _Model, people: tuple[tuple[str, ...], ...]) -> Iterator[Trip]:
    """Yield the turns of attended cookers: by who stays there, as late as the aim holds."""
    for k, one in enumerate(model.exposures):
        if not one.cooker.attended:
            continue
        mine = [
            who[0]
            for task, who in zip(model.tasks, people, strict=True)
            if task.job.kind == "attend"
            and task.job.cooker_id == one.cooker.id
            and max(one.start, one.now) <= task.slot + 1 <= one.end
        ]
        who = mine[0]
        slot = max(one.start + one.every, one.now)
        while one.end - slot > 0 and one.end - (slot - one.every) > one.every + LAST_OVER:
            yield Trip(slot, who, (k,))
            slot += one.every
