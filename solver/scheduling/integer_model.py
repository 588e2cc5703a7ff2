"""The timetable's rows as a CP-SAT model."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from solver.cp_sat import cp_model
from solver.scheduling.model import Row, Rows
from solver.thermal.energy_balance import Ints


@dataclass
class IntegerModel:
    """The model, with its variables by their number in the rows."""

    rows: Rows
    cp: cp_model.CpModel
    variables: dict[int, cp_model.IntVar]

    def add(self, row: Row) -> None:
        """Add a row; what it has of columns outside of the pool is left out."""
        total = self.sum(row.variables, row.weights)
        if row.most is not None and row.least == row.most:
            self.cp.add(total == row.most)
            return
        if row.most is not None:
            self.cp.add(total <= row.most)
        if row.least is not None:
            self.cp.add(total >= row.least)

    def minimize(self, costs: Ints, offset: int) -> None:
        """Set the goal: the sum of costs, by the number of the variable, and what is added."""
        numbers = np.flatnonzero(costs)
        self.cp.minimize(self.sum(numbers, costs[numbers]) + offset)

    def hint(self, chosen: Iterable[int]) -> None:
        """Tell the solver where to begin: columns that keep every rule."""
        values = self.rows.values(chosen)
        for number, variable in self.variables.items():
            self.cp.add_hint(variable, int(values[number]))

    def chosen(self, solver: cp_model.CpSolver) -> tuple[int, ...]:
        """Return the columns of an answer."""
        return tuple(k for k in self.rows.pool if solver.boolean_value(self.variables[k]))

    def sum(self, numbers: Ints, weights: Ints) -> cp_model.LinearExprT:
        """Return a weighted sum of those variables that the model has."""
        terms = [
            (self.variables[n], w)
            for n, w in zip(numbers.tolist(), weights.tolist(), strict=True)
            if n in self.variables
        ]
        return cp_model.LinearExpr.weighted_sum([v for v, _ in terms], [w for _, w in terms])


def build(rows: Rows) -> IntegerModel:
    """Return the model of rows, without a goal."""
    cp = cp_model.CpModel()
    numbers = [*rows.pool, *range(len(rows.batch), rows.size)]
    model = IntegerModel(rows, cp, {n: cp.new_bool_var("") for n in numbers})
    for row in rows.rows:
        model.add(row)
    return model
