"""Solve the timetable level by level; each level is proven, or its gap is shown.

One worker, a fixed seed and a deterministic limit: the same question gives the same answer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from ortools.sat.python import cp_model

from solver.plan import Level
from solver.policy import weight
from solver.timetable.model import build, watchable
from solver.timetable.question import Answer, Option, Question

PLACED = "dishes placed, by priority"
MOVED = "pots that were to go elsewhere, or at another time"  # only after an earlier plan
# The levels after the first; every cost is zero or more.
COSTS: tuple[tuple[str, Callable[[Option], int]], ...] = (
    ("minutes late under a poor sky", lambda o: o.late_min),
    ("minutes on gas", lambda o: o.gas_min),
    (MOVED, lambda o: o.changed),
    ("minutes short of the wanted margin", lambda o: o.short_min),
    ("minutes held beyond fresh", lambda o: o.stale_min),
    ("minutes of work", lambda o: o.work_min),
)


def solve(
    question: Question,
    *,
    cuts: Sequence[frozenset[int]] = (),
    deterministic_limit: float = 6.0,
    workers: int = 1,
) -> Answer:
    """Return the best options found, and how sure each level of the goal is.

    `cuts` are sets of options by index of which at least one must be left out. The limits, in
    deterministic seconds, hold for each of up to some twenty solves.
    """
    return _Climb(question, cuts, deterministic_limit, workers).up()


class _Climb:
    """A solve on its way: the options still in play, and what the levels below have settled."""

    def __init__(
        self, question: Question, cuts: Sequence[frozenset[int]], limit: float, workers: int
    ) -> None:
        self.question, self.cuts, self.limit, self.workers = question, cuts, limit, workers
        self.pool = [k for k in range(len(question.options)) if watchable(question, k)]
        has = {b for k in self.pool for b in question.options[k].batch_ids}
        # Dishes that no option places are no matter of the goal.
        self.worth = {
            d.id: weight(d.priority)
            for d in question.dishes
            if any(has.issuperset(cut) for cut in d.cuts())
        }
        self.costs = [{k: cost(question.options[k]) for k in self.pool} for _, cost in COSTS]
        # The last level breaks ties in its small change: the first of equal options.
        self.change = 1 + len(self.pool) * max(1, len(has))
        for n, k in enumerate(self.pool, 1):
            self.costs[-1][k] = self.costs[-1][k] * self.change + n
        self.held: list[tuple[Mapping[int, int], int]] = []
        self.missing = 0
        self.barren: tuple[int, int, int] | None = None  # where the last leap found no answer
        self.chosen: tuple[int, ...] = ()

    def up(self) -> Answer:
        """Return the answer, level by level from the first."""
        total = sum(self.worth.values())
        found = self._leap(-1)
        if not found:
            found = [self._level(-1)]
        self.missing = found[0][0]
        while len(found) <= len(COSTS):
            at = len(found) - 1
            found += self._leap(at) or [self._level(at)]
        (missing, least), *rest = found
        small, bound = rest.pop()
        rest.append((small // self.change, max(0, bound) // self.change))
        levels = [_told(PLACED, total - missing, total - least)]
        levels += [
            _told(name, value, low) for (name, _), (value, low) in zip(COSTS, rest, strict=True)
        ]
        return Answer(self.chosen, tuple(levels))

    def _leap(self, at: int) -> list[tuple[int, int]]:
        """Try to pass levels from `at` on that may cost nothing; return (value, bound) of each.

        Options that cost something in the levels leapt over are left out, and the level after
        them is solved among the few that remain: quick, and it proves all of them at once.
        """
        last = len(COSTS) - 1
        while last > at:
            free = [
                k for k in self.pool if not any(self.costs[j][k] for j in range(max(at, 0), last))
            ]
            here = (self.missing, len(self.held), len(free))
            if here != self.barren:
                landed = self._solve(last, free)
                if landed is not None:
                    self.pool = free
                    self._hold(last, landed[0])
                    return [(0, 0)] * (last - at) + [landed]
                self.barren = here
            last = last - 1 if last == len(COSTS) - 1 else (at + last) // 2
            if at < 0 and last < len(COSTS) - 2:
                break  # not all can be placed for little: first see how much can be placed at all
        return []

    def _level(self, at: int) -> tuple[int, int]:
        landed = self._solve(at, self.pool)
        if landed is None:  # out of time with nothing better than what is chosen already
            return self._hold(at, self._value(at)), 0
        return self._hold(at, landed[0]), landed[1]

    def _hold(self, at: int, value: int) -> int:
        if at >= 0:
            self.held.append((self.costs[at], value))
        return value

    def _value(self, at: int) -> int:
        if at >= 0:
            return sum(self.costs[at][k] for k in self.chosen)
        there = {b for k in self.chosen for b in self.question.options[k].batch_ids}
        return sum(
            self.worth[d.id]
            for d in self.question.dishes
            if d.id in self.worth and not any(there.issuperset(cut) for cut in d.cuts())
        )

    def _solve(self, at: int, pool: Sequence[int]) -> tuple[int, int] | None:
        """Make level `at` (-1: the worth left out) as small as can be among options of a pool."""
        model = build(self.question, pool)
        for cut in self.cuts:
            model.at_most(((1, k) for k in cut), len(cut) - 1)
        for costs, value in self.held:
            model.cp.add(_sum(model.take, costs) <= value)
        out = cp_model.LinearExpr.weighted_sum(
            [1 - model.placed[d] for d in self.worth], list(self.worth.values())
        )
        if at < 0:
            model.cp.minimize(out)
        else:
            model.cp.add(out <= self.missing)
            model.cp.minimize(_sum(model.take, self.costs[at]))
        hinted = set(self.chosen)
        for k, var in model.take.items():
            model.cp.add_hint(var, k in hinted)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = self.workers
        solver.parameters.random_seed = 1
        solver.parameters.cp_model_presolve = False
        solver.parameters.linearization_level = 2
        solver.parameters.max_deterministic_time = self.limit
        if solver.solve(model.cp) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        self.chosen = tuple(k for k, v in model.take.items() if solver.boolean_value(v))
        return self._value(at), max(0, round(solver.best_objective_bound))


def _told(name: str, value: int, bound: int) -> Level:
    return Level(name=name, value=value, bound=bound, proven=value == bound)


def _sum(take: Mapping[int, cp_model.IntVar], costs: Mapping[int, int]) -> cp_model.LinearExprT:
    paid = [k for k in take if costs[k]]
    return cp_model.LinearExpr.weighted_sum([take[k] for k in paid], [costs[k] for k in paid])
