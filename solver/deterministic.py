"""CP-SAT as we use it: one worker, a fixed seed and a limit that every machine counts alike."""

from __future__ import annotations

from solver.cp_sat import cp_model
from solver.deadline import solve_seconds

SOLVED = (cp_model.OPTIMAL, cp_model.FEASIBLE)


def deterministic_solver(limit: float, *, linearization: int = 2) -> cp_model.CpSolver:
    """Return a solver that gives the same answer each time; `limit` is in deterministic seconds.

    Where a deadline stands (`solver/deadline.py`), it ends the solve too.

    Covers take a hundred times as long without the full linear relaxation, 2 (measured).
    """
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.linearization_level = linearization
    solver.parameters.max_deterministic_time = limit
    solver.parameters.max_time_in_seconds = solve_seconds()
    return solver
