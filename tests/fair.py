"""The timetable beside other ways to solve it, on the same columns and rows: `tests.bench --fair`.

HiGHS gets one weighted goal and the rows that our own model has; the early rule puts each dish as
early as it finds room, the most important first; the local search takes some dishes out and puts
them back, cheapest first, and keeps what is no worse.
"""

from __future__ import annotations

import itertools
import time
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from events.model import Event
from solver.policy import weight
from solver.scheduling.enumeration import enumerate_candidates
from solver.scheduling.formulation import build_problem
from solver.scheduling.lexicographic import COSTS, solve
from solver.scheduling.model import Rows, rows_of, watchable
from solver.scheduling.problem import Problem
from solver.scheduling.warm_start import greedy
from solver.simulation.day import make_day
from tests.scale import grown

# Each level in the goal of those who have one: far over all that the next can be, but for doubles.
WEIGHTS = (1e6, 3e3, 300.0, 30.0, 3.0, 0.3)
WALL_MOST = 20  # times the processor seconds asked for
OUT_AT_ONCE = 3  # dishes taken out by a step of the local search
Value = tuple[int, ...]  # worth left out, then the levels


@dataclass(frozen=True)
class Question:
    """A problem with its rows, and what each column costs, by level."""

    problem: Problem
    rows: Rows
    costs: tuple[tuple[int, ...], ...]

    @classmethod
    def of(cls, event: Event) -> Question:
        """Ask for an event's timetable, each dish cut in one way."""
        day = make_day(event)
        problem = build_problem(day, enumerate_candidates(day))
        pool = watchable(problem)
        costs = tuple(tuple(cost(c) for _, cost in COSTS) for c in problem.columns)
        return cls(problem, rows_of(problem, pool), costs)

    def value(self, chosen: Sequence[int]) -> Value:
        """Return the worth left out and the sum of each level."""
        covered = {b for k in chosen for b in self.problem.columns[k].batch_ids}
        missing = sum(
            weight(d.priority)
            for d in self.problem.dishes
            if not any(covered.issuperset(split) for split in d.splits())
        )
        return missing, *(sum(self.costs[k][at] for k in chosen) for at in range(len(COSTS)))


def early(q: Question, _: float) -> Value:
    """Return what the early rule reaches: columns by their start, then by what they cost."""
    columns = q.problem.columns
    return q.value(greedy(q.rows, lambda k: (columns[k].load_slot, q.costs[k])))


def highs(q: Question, seconds: float) -> tuple[Value | None, float]:
    """Return what HiGHS finds in so many processor seconds, and how many it took."""
    rows, width = q.rows.rows, q.rows.size
    lengths = [row.variables.size for row in rows]
    table = csr_array(
        (
            np.concatenate([row.weights for row in rows]).astype(float),
            (np.repeat(np.arange(len(rows)), lengths), np.concatenate([r.variables for r in rows])),
        ),
        shape=(len(rows), width),
    )
    low = [-np.inf if row.least is None else row.least for row in rows]
    high = [np.inf if row.most is None else row.most for row in rows]
    goal, upper = np.zeros(width), np.ones(width)
    goal[: len(q.costs)] = np.asarray(q.costs) @ np.asarray(WEIGHTS) / 1e3
    upper[list(set(range(len(q.costs))) - set(q.rows.pool))] = 0.0
    for dish in q.problem.dishes:
        goal[q.rows.placed[dish.id]] = -weight(dish.priority) * 1e5
    wall_s = seconds
    while True:  # its limit is the wall's: on a busy machine it is asked anew with more of that
        began = time.process_time()
        answer = milp(
            goal,
            integrality=np.ones(width),
            bounds=Bounds(0.0, upper),
            constraints=LinearConstraint(table, low, high),
            options={"time_limit": wall_s, "mip_rel_gap": 0.0},
        )
        took = time.process_time() - began
        if answer.status == 0 or took > 0.8 * seconds or wall_s > WALL_MOST * seconds:
            break
        wall_s *= 1.2 * seconds / max(took, 0.1 * seconds)
    value = q.value([k for k in q.rows.pool if answer.x[k] > 0.5]) if answer.x is not None else None
    return value, took


class _Search:
    """Room left in every row, and what each dish has in hand."""

    def __init__(self, q: Question) -> None:
        self.q, self.luck = q, np.random.default_rng(1)
        self.room = [row.most for row in q.rows.rows]
        self.of_column: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for n, row in enumerate(q.rows.rows):
            if row.least is None:
                for k, c in zip(row.variables.tolist(), row.weights.tolist(), strict=True):
                    self.of_column[k].append((n, c))
        self.ways: dict[str, list[int]] = defaultdict(list)
        for k in sorted(q.rows.pool, key=q.costs.__getitem__):
            if len(q.problem.columns[k].batch_ids) == 1:
                self.ways[q.problem.columns[k].batch_ids[0]].append(k)
        self.has: dict[str, list[int]] = {d.id: [] for d in q.problem.dishes}

    def take(self, columns: Iterable[int], times: int) -> None:
        for n, c in itertools.chain.from_iterable(self.of_column[k] for k in columns):
            self.room[n] -= times * c  # type: ignore[operator]

    def fits(self, k: int) -> bool:
        return all(self.room[n] >= c for n, c in self.of_column[k])  # type: ignore[operator]

    def put(self, dish_id: str, split: tuple[str, ...]) -> bool:
        """Put a dish back: one of the cheapest columns that fit, now and then not the first."""
        taken: list[int] = []
        for batch in split:
            fit = (k for k in self.ways[batch] if self.fits(k))
            some = list(itertools.islice(fit, int(self.luck.geometric(0.7))))
            if not some:
                self.take(taken, -1)
                return False
            taken.append(some[-1])
            self.take(some[-1:], 1)
        self.has[dish_id] = taken
        return True

    def step(self, dishes: Sequence[int]) -> None:
        for n in dishes:
            dish = self.q.problem.dishes[n]
            self.take(self.has[dish.id], -1)
            self.has[dish.id] = []
        for n in dishes:
            dish = self.q.problem.dishes[n]
            any(self.put(dish.id, split) for split in dish.splits())

    @property
    def chosen(self) -> list[int]:
        return list(itertools.chain.from_iterable(self.has.values()))


def local(q: Question, seconds: float) -> Value:
    """Return what a plain local search finds in so many processor seconds."""
    until = time.process_time() + seconds
    search, count = _Search(q), len(q.problem.dishes)
    search.step(sorted(range(count), key=lambda n: -q.problem.dishes[n].priority))
    best = q.value(search.chosen)
    while time.process_time() < until:
        before, had, room = search.chosen, dict(search.has), list(search.room)
        search.step(search.luck.permutation(count)[: 1 + int(search.luck.integers(OUT_AT_ONCE))])
        found = q.value(search.chosen)
        if found <= best and before:
            best = found
        else:
            search.has, search.room = had, room
    return best


def ours(q: Question, limit: float) -> Value:
    """Return our own answer, with so many deterministic seconds for each solve."""
    return q.value(solve(q.problem, deterministic_limit=limit).chosen)


WAYS: dict[str, Callable[[Question, float], Any]] = {
    "ours": ours,
    "HiGHS, one goal": highs,
    "local search": local,
    "early rule": early,
}


def compare(dishes: int, cookers: int, helpers: int) -> None:
    """Print every way at 0.5 and 3 s: its processor time and to ours, and its levels."""
    print(
        f"{'':<24}{'limit':>6}{'took':>8}{'to ours':>9}  worth missing, "
        + ", ".join(k for k, _ in COSTS)
    )
    for kind, full in (("easy", 0), ("tight", 8), ("overfull", 20)):
        q = Question.of(grown(dishes, cookers, helpers, full=full))
        print(f"{dishes}x{cookers}x{helpers} {kind}, {len(q.rows.pool)} columns")
        for seconds in (0.5, 3.0):
            base = 0.0
            for name, way in WAYS.items():
                began = time.process_time()
                answer = way(q, seconds)
                took = time.process_time() - began
                if way is highs:
                    answer, took = answer
                base = base or took
                print(
                    f"  {name:<22}{seconds:>6}{took:>8.2f}{took / base:>9.1f}  {answer}", flush=True
                )
