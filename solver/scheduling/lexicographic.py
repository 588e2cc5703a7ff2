"""Solve the timetable level by level; each level is proven, or its gap is shown.

One worker, a fixed seed and a deterministic limit: the same problem gives the same solution.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np

from solver.cp_sat import cp_model
from solver.deterministic import SOLVED, deterministic_solver
from solver.plan import Level, LevelKey
from solver.policy import CHANGE_STEPS, weight
from solver.scheduling.integer_model import build
from solver.scheduling.model import Row, rows_of, watchable
from solver.scheduling.problem import Column, Problem, Solution
from solver.scheduling.relaxation import relax
from solver.scheduling.warm_start import greedy
from solver.thermal.energy_balance import Array, Bools, Ints

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
FEW = 300  # columns: so many are searched without more ado
MANY = 8_000  # columns: more are never searched at once, the nearest to the relaxation only
FIRST_QUIET = 3  # the first level that is rarely fought over: solved apart from those before it
LARGE = 12_000  # columns; the first level of a larger question gets so many times the limit,
LONGER_MOST = 2.0  # but no more than this
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
        self.problem, self.limit, self.workers = problem, limit, workers
        self.pool = watchable(problem)
        has = {b for k in self.pool for b in problem.columns[k].batch_ids}
        # Dishes that no column places are no matter of the goal.
        self.worth = {
            d.id: weight(d.priority)
            for d in problem.dishes
            if any(has.issuperset(split) for split in d.splits())
        }
        self.rows = rows_of(problem, self.pool)
        # The last level breaks ties in its small change: each batch's first of equal columns.
        self.change = 1 + len(self.pool)
        self.costs = costs_of(problem, self.pool, self.rows.batch, self.change)
        self.most = {UNPLACED: sum(self.worth.values())}
        for at, costs in enumerate(self.costs):
            by_batch = np.zeros(len(costs), dtype=np.int64)
            np.maximum.at(by_batch, self.rows.batch[self.pool], costs[self.pool])
            self.most[at] = int(by_batch.sum())
        for no_good in no_goods:
            left = np.asarray(sorted(no_good.intersection(self.pool)), dtype=np.int64)
            self.rows.at_most(left, np.ones_like(left), len(no_good) - 1)
        self.chosen: tuple[int, ...] = ()
        self.whole = True  # until columns are left out that an equal answer could have

    def solve(self) -> Solution:
        """Return the solution, level by level from the first."""
        bounds = self._solve_levels()
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

    def _solve_levels(self) -> list[int]:
        """Minimise one level after the other; return a bound for each."""
        bounds: list[int] = []
        limit = self.limit * min(max(1.0, len(self.pool) / LARGE), LONGER_MOST)
        for goal in self._goals():
            own = self._solve_goal(goal, limit)
            bounds += own
            for at, bound in zip(goal, own, strict=True):
                value = self._value(at, self.chosen)
                if bound < value:
                    limit = self.limit * UNPROVEN_SHARE
                self._fix(at, value)
        return bounds

    def _fix(self, at: int, value: int) -> None:
        """Hold a level for those after it."""
        if at == UNPLACED:
            worth = {self.rows.placed[dish]: w for dish, w in self.worth.items()}
            self.rows.add(worth, least=self.most[UNPLACED] - value, most=None)
        else:
            pool = np.asarray(self.pool, dtype=np.int64)
            costs = self.costs[at][pool]
            some = costs > 0
            self.rows.rows.append(Row(pool[some], costs[some], value))
            self.pool = pool[costs <= value].tolist()
        self.rows = self.rows.of(self.pool)

    def _goals(self) -> list[dict[int, int]]:
        """Return the levels as goals, each of weights by level."""
        goals: list[dict[int, int]] = []
        scale = 0
        for at in range(LAST, UNPLACED - 1, -1):
            if not scale or at == FIRST_QUIET - 1 or scale * (1 + self.most[at]) > GOAL_MOST:
                goals.append({})
                scale = 1
            goals[-1][at] = scale
            scale *= 1 + self.most[at]
        return [dict(reversed(goal.items())) for goal in reversed(goals)]

    def _value(self, at: int, chosen: Iterable[int]) -> int:
        if at != UNPLACED:
            return int(self.costs[at][list(chosen)].sum())
        covered = {b for k in chosen for b in self.problem.columns[k].batch_ids}
        return sum(
            self.worth[d.id]
            for d in self.problem.dishes
            if d.id in self.worth and not any(covered.issuperset(split) for split in d.splits())
        )

    def _costs(self, goal: Mapping[int, int]) -> Ints:
        """Return what each variable costs under a goal; a dish that is placed costs less."""
        costs = np.zeros(self.rows.size, dtype=np.int64)
        for at, scale in goal.items():
            if at == UNPLACED:
                for dish, worth in self.worth.items():
                    costs[self.rows.placed[dish]] = -scale * worth
            else:
                costs[self.pool] += scale * self.costs[at][self.pool]
        return costs

    def _solve_goal(self, goal: Mapping[int, int], limit: float) -> list[int]:
        """Choose the best columns for a goal; return a bound for each of its levels.

        First among the columns that look best by the relaxation, then among all that could still
        do better. Those that no equal answer can have are left out for good.
        """
        costs, pool = self._costs(goal), np.asarray(self.pool, dtype=np.int64)
        if not self.chosen:
            self.chosen = greedy(self.rows, costs.tolist().__getitem__)
        relaxed = relax(self.rows.rows, costs) if len(pool) > FEW else None
        if relaxed is None:
            bound = self._search(goal, costs, pool, limit)
            return self._shares(goal, bound if self.whole else 0)
        least = relaxed.bound + relaxed.raises[pool] - relaxed.error + self._offset(goal)
        near = least <= np.partition(least, FEW)[FEW]
        bound = self._search(goal, costs, pool[near], limit)
        if least[~near].min(initial=np.inf) <= self._total(goal) - 1:
            near = _nearest(least, self._total(goal) - 1)
            bound = self._search(goal, costs, pool[near], limit)
            # What was not searched has a bound too.
            bound = min(bound, math.ceil(least[~near].min(initial=self._total(goal))))
        bound, whole = max(bound, math.ceil(least.min())), self.whole
        kept = least <= self._total(goal)
        if kept.sum() > MANY and bound < self._total(goal):
            self.whole = False
            kept = _nearest(least, self._total(goal)) | np.isin(pool, self.chosen)
        self.pool = pool[kept].tolist()
        return self._shares(goal, bound if whole else 0)

    def _search(self, goal: Mapping[int, int], costs: Ints, pool: Ints, limit: float) -> int:
        """Choose the best of a pool and of what is chosen; return a bound of the goal."""
        rows = self.rows.of(sorted({*pool.tolist(), *self.chosen}))
        model = build(rows)
        model.minimize(costs, self._offset(goal))
        model.hint(self.chosen)
        solver = _solver(limit, self.workers)
        answers = [self.chosen]
        if solver.solve(model.cp) in SOLVED:
            answers.append(model.chosen(solver))
        self.chosen = min(answers, key=lambda a: [self._value(at, a) for at in goal])
        return math.ceil(solver.best_objective_bound - 1e-6)

    def _offset(self, goal: Mapping[int, int]) -> int:
        """Return what a goal is where nothing is placed."""
        return goal.get(UNPLACED, 0) * self.most[UNPLACED]

    def _total(self, goal: Mapping[int, int]) -> int:
        return sum(scale * self._value(at, self.chosen) for at, scale in goal.items())

    def _shares(self, goal: Mapping[int, int], bound: int) -> list[int]:
        """Return a goal's bound shared out to its levels."""
        bounds, left = [], bound
        for at, scale in goal.items():
            # A level's share is the bound's only while the levels before it are proven.
            value = self._value(at, self.chosen)
            bounds.append(min(max(0, left // scale), value))
            left -= value * scale
        return bounds


def costs_of(problem: Problem, pool: Sequence[int], batch: Ints, change: int) -> list[Ints]:
    """Return what each column costs, by level; the last in so much change, the rest its number.

    The number is among the columns of a pool whose first batch is the same.
    """
    costs = [np.asarray([cost(c) for c in problem.columns], dtype=np.int64) for _, cost in COSTS]
    own = batch[pool]
    order = np.argsort(own, kind="stable")
    begins = np.flatnonzero(np.diff(own[order], prepend=-1))
    number = np.empty(len(own), dtype=np.int64)
    number[order] = np.arange(1, len(own) + 1) - np.repeat(begins, np.diff([*begins, len(own)]))
    costs[LAST] *= change
    costs[LAST][pool] += number
    return costs


def _nearest(least: Array, most: float) -> Bools:
    """Return which columns could be in a goal of at most so much, the nearest `MANY` of them."""
    nearest = np.zeros(len(least), dtype=np.bool_)
    nearest[np.argsort(least, kind="stable")[:MANY]] = True
    return nearest & (least <= most)


def _solver(limit: float, workers: int) -> cp_model.CpSolver:
    solver = deterministic_solver(limit)
    solver.parameters.num_workers = workers
    solver.parameters.cp_model_presolve = False
    solver.parameters.hint_conflict_limit = 1
    return solver


def _level(key: LevelKey, value: int, bound: int) -> Level:
    return Level(key=key, value=value, bound=bound, proven=value == bound)
