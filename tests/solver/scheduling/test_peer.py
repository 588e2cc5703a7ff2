"""The same small questions, put to HiGHS (through SciPy) as a mixed-integer program of our own."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, milp

from solver.scheduling.lexicographic import solve
from solver.scheduling.problem import Problem
from tests.solver.scheduling.test_timetable import SLOTS, random_problem, score


def highs(q: Problem) -> tuple[int, ...]:
    """Return the best score, level by level, each level held for the next."""
    n = len(q.columns)
    rows: list[tuple[np.ndarray, float]] = []

    def at_most(members: dict[int, float], limit: float) -> None:
        row = np.zeros(n)
        for k, weight in members.items():
            row[k] = weight
        rows.append((row, limit))

    for dish in q.dishes:
        at_most({k: 1 for k, o in enumerate(q.columns) if o.batch_ids == (dish.id,)}, 1)
    for slot in range(SLOTS + 1):
        for cooker in q.cooker_capacity:
            at_most(
                {
                    k: 1
                    for k, o in enumerate(q.columns)
                    if o.cooker_id == cooker and o.occupies[0] <= slot < o.occupies[1]
                },
                1,
            )
        for pot, count in q.pot_count.items():
            at_most(
                {
                    k: 1
                    for k, o in enumerate(q.columns)
                    if pot in o.pot_ids and o.pots_busy[0] <= slot < o.pots_busy[1]
                },
                count,
            )
        for size in (1, 2, 3):
            for kinds in itertools.combinations(("mirrors", "lift", None), size):
                able = sum(
                    p.free[slot] and any(a is None or a in p.abilities for a in kinds)
                    for p in q.people
                )
                at_most(
                    {
                        k: float(
                            sum(n.people for n in o.needs if n.slot == slot and n.ability in kinds)
                        )
                        for k, o in enumerate(q.columns)
                    },
                    able,
                )
    values: list[int] = []
    for level in range(7):
        cost = np.asarray([score(q, [o])[level] for o in q.columns], dtype=float)
        answer = milp(
            cost,
            integrality=np.ones(n),
            bounds=(0, 1),
            constraints=LinearConstraint(
                np.asarray([r for r, _ in rows]), -np.inf, np.asarray([b for _, b in rows])
            ),
        )
        assert answer.success
        values.append(round(float(answer.fun)))
        rows.append((cost, values[-1] + 1e-6))
    return tuple(values)


@pytest.mark.slow
def test_fifty_questions_have_the_optimum_of_another_solver() -> None:
    for seed in range(100, 150):
        q = random_problem(seed)

        answer = solve(q)

        assert score(q, [q.columns[k] for k in answer.chosen]) == highs(q), seed
