"""Goals solved one after another, each kept while the next is sought."""

from __future__ import annotations

from collections.abc import Sequence

from solver.cp_sat import cp_model
from solver.deterministic import SOLVED, deterministic_solver

POSSIBLE_LIMIT = 2.0  # deterministic seconds, for any answer at all
LONGER = 10  # times the limit, where an answer had to be found first


def solve_levels(
    cp: cp_model.CpModel,
    variables: Sequence[cp_model.IntVar],
    levels: Sequence[cp_model.LinearExprT],
    *,
    limits: Sequence[float],
    presolve: bool = True,
    begun: bool = False,
) -> cp_model.CpSolver | None:
    """Minimise each level in turn; return the last answer, or None where there is none at all.

    The last chooses among equals, beginning with what is there: cuts would take longer than they
    save (measured: as good an answer in a third to a half of the time). Where a model is `begun`,
    the first begins at its hints.
    """
    solver: cp_model.CpSolver | None = None
    for nth, (goal, limit) in enumerate(zip(levels, limits, strict=True), 1):
        trial = deterministic_solver(limit)
        trial.parameters.cp_model_presolve = presolve
        if nth == len(levels):
            trial.parameters.cut_level = 0
        if begun or nth == len(levels):
            trial.parameters.hint_conflict_limit = 1
        if solver is not None:
            begin_at(cp, variables, solver)
        cp.minimize(goal)
        status = trial.solve(cp)
        better: cp_model.CpSolver | None = trial if status in SOLVED else None
        if status == cp_model.UNKNOWN and solver is None:
            better = _with_a_first_answer(cp, variables, goal, LONGER * limit)
        if better is None:
            break
        solver = better
        cp.add(goal <= round(solver.objective_value))
    return solver


def any_answer(cp: cp_model.CpModel) -> cp_model.CpSolver | None:
    """Return an answer of a model without a goal: where there are many people it is soon found."""
    cp.clear_objective()  # type: ignore[no-untyped-call]  # ortools has no types here
    solver = deterministic_solver(POSSIBLE_LIMIT)
    solver.parameters.cp_model_presolve = False
    return solver if solver.solve(cp) in SOLVED else None


def begin_at(
    cp: cp_model.CpModel, variables: Sequence[cp_model.IntVar], solver: cp_model.CpSolver
) -> None:
    """Have the next solve of a model begin at an answer."""
    cp.clear_hints()  # type: ignore[no-untyped-call]
    for var in variables:
        cp.add_hint(var, solver.value(var))


def _with_a_first_answer(
    cp: cp_model.CpModel,
    variables: Sequence[cp_model.IntVar],
    goal: cp_model.LinearExprT,
    limit: float,
) -> cp_model.CpSolver | None:
    """Minimise a goal from any answer there is: a large crew's search finds none of itself."""
    first = any_answer(cp)
    if first is None:
        return None
    begin_at(cp, variables, first)
    cp.minimize(goal)
    better = deterministic_solver(limit)
    better.parameters.cp_model_presolve = False
    better.parameters.hint_conflict_limit = 1
    return better if better.solve(cp) in SOLVED else None
