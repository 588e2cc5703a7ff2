"""Solve the timetable level by level; each level is proven, or its gap is shown.

One worker, a fixed seed and a deterministic limit: the same question gives the same answer.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence

from ortools.sat.python import cp_model

from solver.plan import Level
from solver.policy import weight
from solver.scheduling.model import Model, build, watchable
from solver.scheduling.problem import Column, Problem, Solution
from solver.scheduling.warm_start import greedy

PLACED = "dishes placed, by priority"
MOVED = "pots that were to go elsewhere, or at another time"  # only after an earlier plan
# The levels after the first; every cost is zero or more.
COSTS: tuple[tuple[str, Callable[[Column], int]], ...] = (
    ("minutes late under a poor sky", lambda o: o.late_min),
    ("minutes on gas", lambda o: o.gas_min),
    (MOVED, lambda o: o.changed),
    ("minutes short of the wanted margin", lambda o: o.short_min),
    ("minutes held beyond fresh", lambda o: o.stale_min),
    ("minutes of work", lambda o: o.work_min),
)
OUT, LAST = -1, len(COSTS) - 1  # the first level is the worth of the dishes left out
GAS = 1
CALM = 3  # the first level that is rarely fought over: solved apart from those before it
GOAL_MOST = 2**52  # levels solved at once make one goal, which the solver tells as a double


def solve(
    problem: Problem,
    *,
    cuts: Sequence[frozenset[int]] = (),
    deterministic_limit: float = 3.0,
    workers: int = 1,
) -> Solution:
    """Return the best options found, and how sure each level of the goal is.

    `cuts` are sets of options by index of which at least one must be left out. The limit, in
    deterministic seconds, holds for each of one to some eight solves.
    """
    return _Climb(problem, cuts, deterministic_limit, workers).ceil_to_slot()


class _Climb:
    """A solve on its way: the options still in play, and what the levels below have settled."""

    def __init__(
        self, problem: Problem, cuts: Sequence[frozenset[int]], limit: float, workers: int
    ) -> None:
        self.problem, self.cuts, self.limit, self.workers = problem, cuts, limit, workers
        self.pool = [k for k in range(len(problem.columns)) if watchable(problem, k)]
        has = {b for k in self.pool for b in problem.columns[k].batch_ids}
        # Dishes that no option places are no matter of the goal.
        self.worth = {
            d.id: weight(d.priority)
            for d in problem.dishes
            if any(has.issuperset(cut) for cut in d.cuts())
        }
        self.costs = [{k: cost(problem.columns[k]) for k in self.pool} for _, cost in COSTS]
        # The last level breaks ties in its small change: each batch's first of equal options.
        self.change = 1 + len(self.pool)
        nth: dict[str, int] = defaultdict(int)
        most: list[dict[str, int]] = [defaultdict(int) for _ in COSTS]
        for k in self.pool:
            batch = problem.columns[k].batch_ids[0]
            nth[batch] += 1
            self.costs[LAST][k] = self.costs[LAST][k] * self.change + nth[batch]
            for at, costs in enumerate(self.costs):
                most[at][batch] = max(most[at][batch], costs[k])
        self.most = {OUT: sum(self.worth.values())}
        self.most |= {at: sum(by_batch.values()) for at, by_batch in enumerate(most)}
        self.held: list[tuple[Mapping[int, int], int]] = []
        self.missing = 0
        self.chosen: tuple[int, ...] = ()

    def ceil_to_slot(self) -> Solution:
        """Return the answer, level by level from the first."""
        leaps = (self._leap(first) for first in (LAST, CALM, GAS))
        bounds = next(filter(None, leaps), None) or self._climb(OUT, self.pool)
        # Where a level is not proven, a later goal may have come upon better for it too.
        (missing, least), *rest = (
            (value := self._value(at, self.chosen), min(bound, value))
            for at, bound in enumerate(bounds, OUT)
        )
        small, bound = rest.pop()
        rest.append((small // self.change, bound // self.change))
        total = self.most[OUT]
        levels = [_told(PLACED, total - missing, total - least)]
        levels += [
            _told(name, value, low) for (name, _), (value, low) in zip(COSTS, rest, strict=True)
        ]
        return Solution(self.chosen, tuple(levels))

    def _leap(self, first: int) -> list[int]:
        """Try to place every dish at no cost before level `first`; return a bound for each level.

        The options that cost nothing there are few: quick, and it proves all those levels.
        """
        free = [k for k in self.pool if not any(costs[k] for costs in self.costs[:first])]
        landed = self._climb(first, free)
        return [0] * (1 + first) + landed if landed else []

    def _climb(self, first: int, pool: Sequence[int]) -> list[int]:
        """Make the levels from `first` on small among a pool; return a bound for each."""
        found: list[int] = []
        for goal in self._goals(first):
            bounds = self._solve(goal, pool)
            if not bounds:
                return []
            found += bounds
            for at in goal:
                value = self._value(at, self.chosen)
                if at == OUT:
                    self.missing = value
                else:
                    self.held.append((self.costs[at], value))
                    pool = [k for k in pool if self.costs[at][k] <= value]
        return found

    def _goals(self, first: int) -> list[dict[int, int]]:
        """Return the levels from `first` on as goals, each of weights by level."""
        goals: list[dict[int, int]] = []
        scale = 0
        for at in range(LAST, first - 1, -1):
            if not scale or at == CALM - 1 or scale * (1 + self.most[at]) > GOAL_MOST:
                goals.append({})
                scale = 1
            goals[-1][at] = scale
            scale *= 1 + self.most[at]
        return [dict(reversed(goal.items())) for goal in reversed(goals)]

    def _value(self, at: int, chosen: Iterable[int]) -> int:
        if at != OUT:
            return sum(self.costs[at][k] for k in chosen)
        there = {b for k in chosen for b in self.problem.columns[k].batch_ids}
        return sum(
            self.worth[d.id]
            for d in self.problem.dishes
            if d.id in self.worth and not any(there.issuperset(cut) for cut in d.cuts())
        )

    def _solve(self, goal: Mapping[int, int], pool: Sequence[int]) -> list[int]:
        """Choose the best options of a pool for a goal; return a bound for each of its levels."""
        model = build(self.problem, pool)
        for cut in self.cuts:
            model.at_most(((1, k) for k in cut), len(cut) - 1)
        for costs, value in self.held:
            model.cp.add(_sum(model, costs) <= value)
        out = cp_model.LinearExpr.weighted_sum(
            [1 - model.placed[d] for d in self.worth], list(self.worth.values())
        )
        if OUT not in goal:
            model.cp.add(out <= self.missing)
        cost = {k: sum(w * self.costs[at][k] for at, w in goal.items() if at != OUT) for k in pool}
        aim = [out, _sum(model, cost)]
        model.cp.minimize(cp_model.LinearExpr.weighted_sum(aim, [goal.get(OUT, 0), 1]))
        start = self.chosen or greedy(model, cost.__getitem__)
        model.hint(start)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = self.workers
        solver.parameters.random_seed = 1
        solver.parameters.cp_model_presolve = False
        solver.parameters.linearization_level = 2
        solver.parameters.hint_conflict_limit = 1
        solver.parameters.max_deterministic_time = self.limit
        answers = [start] if OUT in goal or self._value(OUT, start) <= self.missing else []
        if solver.solve(model.cp) in (cp_model.OPTIMAL, cp_model.FEASIBLE):
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


def _told(name: str, value: int, bound: int) -> Level:
    return Level(name=name, value=value, bound=bound, proven=value == bound)


def _sum(model: Model, costs: Mapping[int, int]) -> cp_model.LinearExprT:
    paid = [k for k in model.take if costs[k]]
    return cp_model.LinearExpr.weighted_sum([model.take[k] for k in paid], [costs[k] for k in paid])
