"""Solve the timetable level by level; each level is proven, or its gap is shown.

One worker, a fixed seed and a deterministic limit: the same question gives the same answer.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ortools.sat.python import cp_model

from solver.plan import Level
from solver.policy import weight
from solver.timetable.model import Model, build
from solver.timetable.question import Answer, Option, Question

Cost = Callable[[Option], int]


def solve(
    question: Question,
    *,
    cuts: Sequence[frozenset[int]] = (),
    deterministic_limit: float = 6.0,
    workers: int = 1,
) -> Answer:
    """Return the best options found, and how sure each level of the goal is.

    `cuts` are sets of options by index of which at least one must be left out.
    """
    model = build(question)
    for cut in cuts:
        model.at_most(((1, k) for k in cut), len(cut) - 1)
    levels: list[Level] = []
    chosen: list[int] = []  # nothing placed is always allowed
    for name, cost in _goals(question):
        costs = {k: cost(question.options[k]) for k in model.take}
        paid = [k for k, c in costs.items() if c]
        goal = cp_model.LinearExpr.weighted_sum(
            [model.take[k] for k in paid], [costs[k] for k in paid]
        )
        value, bound = sum(costs[k] for k in chosen), 0
        if value != 0 or min(costs.values(), default=0) < 0:
            bound, better = _one(
                model, goal, limit=deterministic_limit, workers=workers, hint=chosen
            )
            if better is not None:
                chosen = better
                value = sum(costs[k] for k in chosen)
        model.cp.add(goal <= value)
        sign = -1 if name == PLACED else 1
        levels.append(
            Level(name=name, value=sign * value, bound=sign * bound, proven=value == bound)
        )
    return Answer(tuple(chosen), tuple(levels[:-1]))


PLACED = "dishes placed, by priority"


def _goals(question: Question) -> list[tuple[str, Cost]]:
    """Return the levels by name, each as a cost of options to be made small."""
    worth = {d.batch_ids[0]: weight(d.priority) for d in question.dishes}
    order = {id(o): k for k, o in enumerate(question.options, 1)}
    return [
        (PLACED, lambda o: -sum(worth.get(b, 0) for b in o.batch_ids)),
        ("minutes late under a poor sky", lambda o: o.late_min),
        ("minutes short of the wanted margin", lambda o: o.short_min),
        ("minutes held beyond fresh", lambda o: o.stale_min),
        ("minutes of work", lambda o: o.work_min),
        ("tie", lambda o: order[id(o)]),
    ]


def _one(
    model: Model,
    goal: cp_model.LinearExprT,
    *,
    limit: float,
    workers: int,
    hint: Sequence[int],
) -> tuple[int, list[int] | None]:
    """Return the bound that was proven and the options of the best answer, if any was found."""
    model.cp.clear_hints()  # type: ignore[no-untyped-call]  # ortools has no types here
    hinted = set(hint)
    for k, var in model.take.items():
        model.cp.add_hint(var, k in hinted)
    model.cp.minimize(goal)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = 1
    solver.parameters.cp_model_presolve = False
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = limit
    status = solver.solve(model.cp)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return -(2**40), None
    found = [k for k, v in model.take.items() if solver.boolean_value(v)]
    return round(solver.best_objective_bound), found
