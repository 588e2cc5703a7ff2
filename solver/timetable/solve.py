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

Goal = cp_model.LinearExprT


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
    chosen: dict[int, bool] = {}
    for name, sense, goal in _goals(model):
        value, bound, proven, found = _one(
            model, goal, sense, limit=deterministic_limit, workers=workers, hint=chosen
        )
        if found is None:
            # Nothing better was found in the limit: the last level's answer stands.
            levels.append(Level(name=name, value=0, bound=bound, proven=False))
            continue
        chosen = found
        levels.append(Level(name=name, value=value, bound=bound, proven=proven))
        if sense > 0:
            model.cp.add(goal <= value)
        else:
            model.cp.add(goal >= value)
    return Answer(tuple(sorted(k for k, on in chosen.items() if on)), tuple(levels[:-1]))


def _goals(model: Model) -> list[tuple[str, int, Goal]]:
    q = model.question

    def total(cost: Callable[[Option], int]) -> Goal:
        return sum(cost(q.options[k]) * v for k, v in model.take.items() if cost(q.options[k]))

    worth: Goal = sum(weight(d.priority) * model.placed[d.id] for d in q.dishes)
    order: Goal = sum((k + 1) * v for k, v in model.take.items())
    return [
        ("dishes placed, by priority", -1, worth),
        ("minutes late under a poor sky", 1, total(lambda o: o.late_min)),
        ("minutes short of the wanted margin", 1, total(lambda o: o.short_min)),
        ("minutes held beyond fresh", 1, total(lambda o: o.stale_min)),
        ("minutes of work", 1, total(lambda o: o.work_min)),
        ("tie", 1, order),
    ]


def _one(
    model: Model,
    goal: Goal,
    sense: int,
    *,
    limit: float,
    workers: int,
    hint: dict[int, bool],
) -> tuple[int, int, bool, dict[int, bool] | None]:
    model.cp.clear_hints()  # type: ignore[no-untyped-call]  # ortools has no types here
    for k, on in hint.items():
        model.cp.add_hint(model.take[k], on)
    if sense > 0:
        model.cp.minimize(goal)
    else:
        model.cp.maximize(goal)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = 1
    solver.parameters.cp_model_presolve = False
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = limit
    status = solver.solve(model.cp)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return 0, 0, False, None
    found = {k: bool(solver.boolean_value(v)) for k, v in model.take.items()}
    proven = status == cp_model.OPTIMAL
    return round(solver.objective_value), round(solver.best_objective_bound), proven, found
