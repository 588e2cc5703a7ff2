"""Solve the timetable level by level; each level is proven, or its gap is shown.

One worker, a fixed seed and a deterministic limit: the same question gives the same answer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

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
    goals = [
        (name, {k: cost(question.options[k]) for k in model.take})
        for name, cost in _goals(question)
    ]
    # First all dishes with as few bad minutes as may be: where none is left, four levels of the
    # goal are proven by one solve. Where some is, the levels are taken one by one from there.
    bad = {k: sum(costs[k] for _, costs in goals[1:BAD]) for k in model.take}
    most = 1 + sum(
        max(bad[k] for k in model.take if b in question.options[k].batch_ids)
        for b in {b for k in model.take for b in question.options[k].batch_ids}
    )
    both = {k: most * goals[0][1][k] + bad[k] for k in model.take}
    bound, chosen = _one(model, both, limit=deterministic_limit, workers=workers, hint=())
    chosen = chosen or []  # nothing placed is always allowed
    # bound <= most · worth + bad, and 0 <= bad < most: so worth is at least this.
    floor = -(-(bound - most + 1) // most)
    levels: list[Level] = []
    for name, costs in goals:
        value, bound = sum(costs[k] for k in chosen), 0
        if name == PLACED:
            bound = max(floor, sum(c for c in costs.values() if c < 0))
        if value != bound:
            bound, better = _one(
                model, costs, limit=deterministic_limit, workers=workers, hint=chosen
            )
            if better is not None:
                chosen = better
                value = sum(costs[k] for k in chosen)
        model.cp.add(_sum(model, costs) <= value)
        sign = -1 if name == PLACED else 1
        levels.append(
            Level(name=name, value=sign * value, bound=sign * bound, proven=value == bound)
        )
    return Answer(tuple(chosen), tuple(levels[:-1]))


PLACED = "dishes placed, by priority"
BAD = 5  # the levels after the first whose best is none at all end here


def _goals(question: Question) -> list[tuple[str, Cost]]:
    """Return the levels by name, each as a cost of options to be made small."""
    worth = {d.batch_ids[0]: weight(d.priority) for d in question.dishes}
    order = {id(o): k for k, o in enumerate(question.options, 1)}
    return [
        (PLACED, lambda o: -sum(worth.get(b, 0) for b in o.batch_ids)),
        ("minutes late under a poor sky", lambda o: o.late_min),
        ("batches on gas", lambda o: len(o.batch_ids) if o.route == "burner" else 0),
        ("minutes short of the wanted margin", lambda o: o.short_min),
        ("minutes held beyond fresh", lambda o: o.stale_min),
        ("minutes of work", lambda o: o.work_min),
        ("tie", lambda o: order[id(o)]),
    ]


def _sum(model: Model, costs: Mapping[int, int]) -> cp_model.LinearExprT:
    paid = [k for k, c in costs.items() if c]
    return cp_model.LinearExpr.weighted_sum([model.take[k] for k in paid], [costs[k] for k in paid])


def _one(
    model: Model,
    costs: Mapping[int, int],
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
    model.cp.minimize(_sum(model, costs))
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
