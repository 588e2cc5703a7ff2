"""What the timetable could reach at best if loads could be shared out: a bound for every column.

The relaxation is a linear program. Its duals give each column a least cost of any answer that
takes it, so that most columns need never be looked at: an answer as good as one in hand can't
have them. The bound is recomputed from the duals, so it holds however well the program was solved.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import ortools.linear_solver.linear_solver_pb2 as lp
from ortools.linear_solver.python.model_builder_helper import ModelSolverHelper

from solver.deadline import solve_seconds
from solver.scheduling.model import Row
from solver.thermal.energy_balance import Array, Ints

LARGEST_COST = 1e4  # costs are scaled to it: beyond, the simplex gives up now and then
ROUNDING = 1e-9  # of the terms of a bound


@dataclass(frozen=True)
class Relaxation:
    """A lower bound of a goal, and by how much taking each variable raises it at least."""

    bound: float
    raises: Array  # by variable
    error: float  # of the bound, from rounding

    def least(self, variables: Ints) -> float:
        """Return the least goal of any answer that takes one of these variables; inf of none."""
        if not variables.size:
            return math.inf
        return self.bound + float(self.raises[variables].min()) - self.error


def relax(rows: Sequence[Row], costs: Ints) -> Relaxation | None:
    """Return the relaxation of a goal under rows, variables from 0 to 1; None where it failed."""
    scale = LARGEST_COST / max(1.0, float(np.abs(costs).max(initial=0.0)))
    duals = _duals(rows, (costs * scale).tolist())
    if duals is None:
        return None
    duals /= scale
    # A row pushes from above or from below only where it has such a limit.
    free_above = np.asarray([row.most is None for row in rows], dtype=np.bool_)
    free_below = np.asarray([row.least is None for row in rows], dtype=np.bool_)
    duals[free_above & (duals < 0)] = 0.0
    duals[free_below & (duals > 0)] = 0.0
    reduced = costs.astype(np.float64)
    limits = np.zeros(len(rows))
    for n, row in enumerate(rows):
        if duals[n]:
            limits[n] = (row.least if duals[n] > 0 else row.most) or 0
            reduced[row.variables] -= duals[n] * row.weights
    low = np.minimum(reduced, 0.0)
    bound = float(duals @ limits + low.sum())
    error = ROUNDING * float(np.abs(duals) @ np.abs(limits) - low.sum() + np.abs(costs).max())
    return Relaxation(bound, reduced - low, error)


def _duals(rows: Sequence[Row], costs: Sequence[float]) -> Array | None:
    request = lp.MPModelRequest(
        solver_type=lp.MPModelRequest.GLOP_LINEAR_PROGRAMMING,
        solver_specific_parameters="use_dual_simplex: true",
    )
    seconds = solve_seconds()
    if math.isfinite(seconds):
        request.solver_time_limit_seconds = seconds
    add = request.model.variable.add
    for cost in costs:
        add(lower_bound=0.0, upper_bound=1.0, objective_coefficient=cost)
    for row in rows:
        request.model.constraint.add(
            var_index=row.variables.tolist(),
            coefficient=row.weights.tolist(),
            lower_bound=-math.inf if row.least is None else row.least,
            upper_bound=math.inf if row.most is None else row.most,
        )
    answer = ModelSolverHelper("glop").solve_serialized_request(request.SerializeToString())
    solved = lp.MPSolutionResponse.FromString(answer)
    if solved.status != lp.MPSOLVER_OPTIMAL:
        return None
    return np.asarray(solved.dual_value, dtype=np.float64)
