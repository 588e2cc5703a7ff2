"""Solve the timetable level by level; each level is proven, or its gap is shown.

One worker, a fixed seed and a deterministic limit: the same problem gives the same solution.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np
from ortools.sat.python import cp_model

from solver import deadline
from solver.deterministic import SOLVED, deterministic_solver
from solver.plan import Level, LevelKey
from solver.policy import CHANGE_STEPS, weight
from solver.scheduling.model import Model, build, watchable
from solver.scheduling.problem import Column, Problem, Solution
from solver.scheduling.warm_start import greedy

# The levels after the first; every cost is zero or more.
COSTS: tuple[tuple[LevelKey, Callable[[Column], int]], ...] = (
    ("missed", lambda c: c.missed + CHANGE_STEPS * c.changed),
    ("gas", lambda c: c.gas_min),
    ("moved", lambda c: c.changed),
    ("short", lambda c: c.short_min),
    ("stale", lambda c: c.stale_min),
    ("work", lambda c: c.work_min),
)
UNPLACED, LAST = -1, len(COSTS) - 1  # the first level is the worth of the dishes left out
GAS = 1
FIRST_QUIET = 3  # the first level that is rarely fought over: solved apart from those before it
LARGE = 12_000  # columns; the first level of a larger question gets so many times the limit
UNPROVEN_SHARE = 0.25  # of the limit goes to later levels, once one before them is unproven
GOAL_MOST = 2**52  # levels solved at once make one goal, which the solver tells as a double


def solve(
    problem: Problem,
    *,
    no_goods: Sequence[frozenset[int]] = (),
    deterministic_limit: float = 3.0,
    workers: int = 1,
) -> Solution:
    """Return the best columns found, and how sure each level of the goal is.

    `no_goods` are sets of columns by index of which at least one must be left out. The limit, in
    deterministic seconds, holds for each of one to some eight solves.
    """
    return LexicographicSolver(problem, no_goods, deterministic_limit, workers).solve()


class LexicographicSolver:
    """A solve on its way: the columns still allowed, and the bounds fixed by earlier levels."""

    def __init__(
        self, problem: Problem, no_goods: Sequence[frozenset[int]], limit: float, workers: int
    ) -> None:
        self.problem, self.no_goods, self.limit, self.workers = problem, no_goods, limit, workers
        self.pool = [k for k in range(len(problem.columns)) if watchable(problem, k)]
        has = {b for k in self.pool for b in problem.columns[k].batch_ids}
        # Dishes that no column places are no matter of the goal.
        self.worth = {
            d.id: weight(d.priority)
            for d in problem.dishes
            if any(has.issuperset(split) for split in d.splits())
        }
        self.costs = [{k: cost(problem.columns[k]) for k in self.pool} for _, cost in COSTS]
        # The last level breaks ties in its small change: each batch's first of equal columns.
        self.change = 1 + len(self.pool)
        nth: dict[str, int] = defaultdict(int)
        most: list[dict[str, int]] = [defaultdict(int) for _ in COSTS]
        for k in self.pool:
            batch = problem.columns[k].batch_ids[0]
            nth[batch] += 1
            self.costs[LAST][k] = self.costs[LAST][k] * self.change + nth[batch]
            for at, costs in enumerate(self.costs):
                most[at][batch] = max(most[at][batch], costs[k])
        self.most = {UNPLACED: sum(self.worth.values())}
        self.most |= {at: sum(by_batch.values()) for at, by_batch in enumerate(most)}
        self.fixed: list[tuple[Mapping[int, int], int]] = []
        self.missing = 0
        self.chosen: tuple[int, ...] = ()

    def solve(self) -> Solution:
        """Return the solution, level by level from the first."""
        firsts = (LAST, FIRST_QUIET, GAS)
        tries = (self._try_zero_levels(first) for first in firsts if not deadline.is_over())
        bounds = next(filter(None, tries), None) or self._solve_levels(UNPLACED, self.pool)
        # Optimising a later level may also have improved an unproven earlier one.
        (missing, least), *rest = (
            (value := self._value(at, self.chosen), min(bound, value))
            for at, bound in enumerate(bounds, UNPLACED)
        )
        small, bound = rest.pop()
        rest.append((small // self.change, bound // self.change))
        total = self.most[UNPLACED]
        levels = [_level("placed", total - missing, total - least)]
        levels += [
            _level(key, value, low) for (key, _), (value, low) in zip(COSTS, rest, strict=True)
        ]
        return Solution(self.chosen, tuple(levels))

    def _try_zero_levels(self, first: int) -> list[int]:
        """Try to place every dish at no cost before level `first`; return a bound for each level.

        The columns that cost nothing there are few: quick, and it proves all those levels.
        """
        free = [k for k in self.pool if not any(costs[k] for costs in self.costs[:first])]
        bounds = self._solve_levels(first, free)
        return [0] * (1 + first) + bounds if bounds else []

    def _solve_levels(self, first: int, pool: Sequence[int]) -> list[int]:
        """Minimise the levels from `first` on over a pool; return a bound for each."""
        bounds: list[int] = []
        limit = self.limit * max(1.0, len(pool) / LARGE)
        for goal in self._goals(first):
            own = self._solve_goal(goal, pool, limit)
            if not own:
                return []
            bounds += own
            for at, bound in zip(goal, own, strict=True):
                value = self._value(at, self.chosen)
                if bound < value:
                    limit = self.limit * UNPROVEN_SHARE
                if at == UNPLACED:
                    self.missing = value
                else:
                    self.fixed.append((self.costs[at], value))
                    pool = [k for k in pool if self.costs[at][k] <= value]
        return bounds

    def _goals(self, first: int) -> list[dict[int, int]]:
        """Return the levels from `first` on as goals, each of weights by level."""
        goals: list[dict[int, int]] = []
        scale = 0
        for at in range(LAST, first - 1, -1):
            if not scale or at == FIRST_QUIET - 1 or scale * (1 + self.most[at]) > GOAL_MOST:
                goals.append({})
                scale = 1
            goals[-1][at] = scale
            scale *= 1 + self.most[at]
        return [dict(reversed(goal.items())) for goal in reversed(goals)]

    def _value(self, at: int, chosen: Iterable[int]) -> int:
        if at != UNPLACED:
            return sum(self.costs[at][k] for k in chosen)
        covered = {b for k in chosen for b in self.problem.columns[k].batch_ids}
        return sum(
            self.worth[d.id]
            for d in self.problem.dishes
            if d.id in self.worth and not any(covered.issuperset(split) for split in d.splits())
        )

    def _model(self, goal: Mapping[int, int], pool: Sequence[int]) -> Model:
        """Return the model for a goal, bounded by what earlier levels fixed."""
        model = build(self.problem, pool)
        for no_good in self.no_goods:
            left = np.asarray([k for k in no_good if k in model.take], dtype=np.int64)
            model.at_most(left, np.ones_like(left), len(no_good) - 1)
        for costs, value in self.fixed:
            model.cp.add(_sum(model, costs) <= value)
        missing = cp_model.LinearExpr.weighted_sum(
            [1 - model.placed[d] for d in self.worth], list(self.worth.values())
        )
        if UNPLACED not in goal:
            model.cp.add(missing <= self.missing)
        terms = [missing, _sum(model, self._weighed(goal, pool))]
        model.cp.minimize(cp_model.LinearExpr.weighted_sum(terms, [goal.get(UNPLACED, 0), 1]))
        return model

    def _weighed(self, goal: Mapping[int, int], pool: Sequence[int]) -> dict[int, int]:
        """Return what each column costs under a goal, dishes left out aside."""
        levels = [(self.costs[at], scale) for at, scale in goal.items() if at != UNPLACED]
        return {k: sum(scale * costs[k] for costs, scale in levels) for k in pool}

    def _solve_goal(self, goal: Mapping[int, int], pool: Sequence[int], limit: float) -> list[int]:
        """Choose the best columns of a pool for a goal; return a bound for each of its levels."""
        model = self._model(goal, pool)
        start = self.chosen or greedy(model, self._weighed(goal, pool).__getitem__)
        model.hint(start)
        solver = _solver(limit, self.workers)
        answers = (
            [start] if UNPLACED in goal or self._value(UNPLACED, start) <= self.missing else []
        )
        if solver.solve(model.cp) in SOLVED:
            answers.append(tuple(k for k, v in model.take.items() if solver.boolean_value(v)))
        if not answers:
            return []
        self.chosen = min(answers, key=lambda a: [self._value(at, a) for at in goal])
        left = math.ceil(solver.best_objective_bound - 1e-6)
        bounds = []
        for at, scale in goal.items():
            # A level's share is the bound's only while the levels before it are proven.
            value = self._value(at, self.chosen)
            bounds.append(min(max(0, left // scale), value))
            left -= value * scale
        return bounds


def _solver(limit: float, workers: int) -> cp_model.CpSolver:
    solver = deterministic_solver(limit)
    solver.parameters.num_workers = workers
    solver.parameters.cp_model_presolve = False
    solver.parameters.hint_conflict_limit = 1
    return solver


def _level(key: LevelKey, value: int, bound: int) -> Level:
    return Level(key=key, value=value, bound=bound, proven=value == bound)


def _sum(model: Model, costs: Mapping[int, int]) -> cp_model.LinearExprT:
    paid = [k for k in model.take if costs[k]]
    return cp_model.LinearExpr.weighted_sum([model.take[k] for k in paid], [costs[k] for k in paid])
