"""A first answer by hand: dish by dish, the cheapest columns that still find room.

It gives the solver a feasible start on large problems; it is no part of a proof.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable

import numpy as np

from solver.scheduling.model import Rows
from solver.scheduling.problem import DishDemand

_NONE = np.empty(0, dtype=np.int64)


def greedy(rows: Rows, cost: Callable[[int], object]) -> tuple[int, ...]:
    """Return columns that keep every rule; dishes that found no room are left out."""
    return _Greedy(rows, cost).fill()


class _Greedy:
    """Room left in every row, and each batch's columns, cheapest first."""

    def __init__(self, rows: Rows, cost: Callable[[int], object]) -> None:
        self.problem = rows.problem
        limits = [row for row in rows.rows if row.least is None and row.most is not None]
        self.room = np.asarray([row.most for row in limits], dtype=np.int64)
        columns = np.concatenate([_NONE, *(row.variables for row in limits)])
        order = np.argsort(columns, kind="stable")
        numbers = np.repeat(np.arange(len(limits)), [row.variables.size for row in limits])
        # Which rows a column is in, and its weights there, from one of these places to the next.
        self.rows = numbers[order]
        self.weights = np.concatenate([_NONE, *(row.weights for row in limits)])[order]
        self.begins = np.searchsorted(columns[order], np.arange(rows.size + 1)).tolist()
        self.cheapest: dict[str, list[int]] = defaultdict(list)
        for k in sorted(rows.pool, key=cost):  # type: ignore[arg-type]
            batches = self.problem.columns[k].batch_ids
            if len(batches) == 1:
                self.cheapest[batches[0]].append(k)

    def fill(self) -> tuple[int, ...]:
        """Go through the dishes, the most important first."""
        dishes = sorted(self.problem.dishes, key=lambda d: -d.priority)
        return tuple(sorted(k for dish in dishes for k in self._place(dish)))

    def _place(self, dish: DishDemand) -> list[int]:
        shown = [t.column_indexes for t in self.problem.talks if t.dish_id == dish.id]
        for split in dish.splits():
            taken: list[int] = []
            for batch in split:
                k = next((k for k in self.cheapest[batch] if self._fits(k)), None)
                if k is None:
                    break
                taken.append(k)
                self._take(k, 1)
            if len(taken) == len(split) and all(fit.intersection(taken) for fit in shown):
                return taken
            for k in taken:
                self._take(k, -1)
        return []

    def _fits(self, k: int) -> bool:
        own = slice(self.begins[k], self.begins[k + 1])
        return bool((self.room[self.rows[own]] >= self.weights[own]).all())

    def _take(self, k: int, times: int) -> None:
        own = slice(self.begins[k], self.begins[k + 1])
        self.room[self.rows[own]] -= times * self.weights[own]
