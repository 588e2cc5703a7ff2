"""Who does each job and each walk, once the times of both are fixed: fairest shares."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from solver.cp_sat import cp_model
from solver.deterministic import SOLVED, deterministic_solver
from solver.plan import Plan
from solver.rostering.first_rounds import Round
from solver.rostering.levels import any_answer
from solver.rostering.tasks import Task
from solver.rostering.turns import may, walk_id
from solver.scheduling.problem import Person

EVEN_SPARE = 1  # slots over an even share that nobody is given more than, where there are many


class Assignment:
    """The model: does(task, role, person) and goes(person, slot), each person in one place."""

    def __init__(self, people: Sequence[Person], tasks: Sequence[Task]) -> None:
        self.people, self.tasks = people, tasks
        self.cp = cp_model.CpModel()
        self.does: dict[tuple[int, int, int], cp_model.IntVar] = {}
        self.goes: dict[tuple[int, int], cp_model.IntVar] = {}
        self.busy: dict[tuple[int, int], list[cp_model.IntVar]] = defaultdict(list)
        for j, task in enumerate(tasks):
            self._has_its_people(j, task)

    def _has_its_people(self, j: int, task: Task) -> None:
        roles_of: dict[int, list[cp_model.IntVar]] = defaultdict(list)
        for r, ability in enumerate(task.abilities):
            able: list[cp_model.IntVar] = []
            for p, person in enumerate(self.people):
                if may(person, ability) and all(person.free[s] for s in task.slots()):
                    var = self.does[(j, r, p)] = self.cp.new_bool_var("")
                    roles_of[p].append(var)
                    able.append(var)
                    for s in task.slots():
                        self.busy[(p, s)].append(var)
            self.cp.add_exactly_one(able)
        for several in roles_of.values():
            self.cp.add_at_most_one(several)

    def may_walk(self, p: int, s: int) -> cp_model.IntVar:
        """Return the variable of a person's walk in a slot."""
        if (p, s) not in self.goes:
            self.goes[(p, s)] = self.cp.new_bool_var("")
            self.busy[(p, s)].append(self.goes[(p, s)])
        return self.goes[(p, s)]

    def nobody_is_in_two_places(self) -> None:
        """Close the model: call it once every job and walk has its variables."""
        for several in self.busy.values():
            if len(several) > 1:
                self.cp.add_at_most_one(several)

    def most(self) -> cp_model.IntVar:
        """Return the work of the person who has most, in slots."""
        work: dict[int, list[cp_model.LinearExprT]] = defaultdict(list)
        for (j, _, p), var in self.does.items():
            work[p].append(len(self.tasks[j].slots()) * var)
        for (p, _), var in self.goes.items():
            work[p].append(var)
        most = self.cp.new_int_var(0, 10_000, "most")
        for terms in work.values():
            self.cp.add(sum(terms) <= most)
        return most

    def order(self) -> cp_model.LinearExpr:
        """Return a tie-break: early in the list; those with fewer abilities are spared less."""
        jobs = [(len(self.people[p].abilities) * 40 + p) * v for (_, _, p), v in self.does.items()]
        walks = [(p + 1) * v for (p, _), v in self.goes.items()]
        return cp_model.LinearExpr.sum([*jobs, *walks])

    def news(self, before: Plan) -> cp_model.LinearExpr:
        """Return how many jobs and walks a helper has that the plan before did not give them."""
        return cp_model.LinearExpr.sum(list(self.new_to(before).values()))

    def new_to(self, before: Plan) -> dict[int, cp_model.IntVar]:
        """Return the variables of work that the plan before gave to others, by their number."""
        had = {j.id: set(j.helper_ids) for j in before.jobs}
        walks = {w.id for w in before.walks}
        new = [
            var
            for (j, _, p), var in self.does.items()
            if self.people[p].id not in had.get(self.tasks[j].job.id, {self.people[p].id})
        ]
        new += [
            var for (p, s), var in self.goes.items() if walk_id(s, self.people[p].id) not in walks
        ]
        return {var.index: var for var in new}

    def helpers_of(self, solver: cp_model.CpSolver) -> tuple[tuple[str, ...], ...]:
        """Return the people of each task."""
        return tuple(
            tuple(
                self.people[p].id
                for r in range(len(task.abilities))
                for p in range(len(self.people))
                if (j, r, p) in self.does and solver.boolean_value(self.does[(j, r, p)])
            )
            for j, task in enumerate(self.tasks)
        )

    def walkers_at(self, solver: cp_model.CpSolver, s: int) -> list[Person]:
        """Return who walks in a slot; those who may do less choose their turns first."""
        walkers = [
            who
            for p, who in enumerate(self.people)
            if (p, s) in self.goes and solver.boolean_value(self.goes[(p, s)])
        ]
        return sorted(walkers, key=lambda w: ("mirrors" in w.abilities, w.id))


def assign(
    people: Sequence[Person],
    tasks: Sequence[Task],
    rounds: Sequence[Round],
    *,
    before: Plan | None,
    limit: float,
) -> tuple[Assignment, cp_model.CpSolver] | None:
    """Return who does each job and goes on each round; None where jobs of several slots clash."""
    model = Assignment(people, tasks)
    for one in rounds:
        free = [p for p, who in enumerate(people) if who.free[one.slot]]
        walks = {p: model.may_walk(p, one.slot) for p in free}
        model.cp.add(sum(walks.values()) == one.walkers)
        to_mirrors = sum(v for p, v in walks.items() if may(people[p], "mirrors"))
        model.cp.add(to_mirrors >= one.mirror_walkers)
    model.nobody_is_in_two_places()
    work = sum(len(t.slots()) * len(t.abilities) for t in tasks) + sum(r.walkers for r in rounds)
    above_order = 1 + work * (160 + len(people))
    most = model.most()
    goal = most * above_order + model.order()
    if before is not None:
        goal += model.news(before) * above_order * (work + 1)
    model.cp.minimize(goal)
    solver = deterministic_solver(limit)
    status = solver.solve(model.cp)
    if status in SOLVED:
        return model, solver
    if status != cp_model.UNKNOWN:
        return None
    even = -(-work // len(people)) + EVEN_SPARE
    found = shared_evenly(model, most, even) if before is None else _as_before(model, before)
    return None if found is None else (model, found)


def shared_evenly(model: Assignment, most: cp_model.IntVar, even: int) -> cp_model.CpSolver | None:
    """Return nearly even shares where the fairest were not found in time, or any shares."""
    shared = model.cp.clone()
    shared.add(shared.get_int_var_from_proto_index(most.index) <= even)
    return any_answer(shared) or any_answer(model.cp)


def _as_before(model: Assignment, before: Plan) -> cp_model.CpSolver | None:
    """Return any shares, sought from those of the plan before, where the best take too long."""
    new = model.new_to(before)
    for var in (*model.does.values(), *model.goes.values()):
        model.cp.add_hint(var, var.index not in new)
    return any_answer(model.cp)
