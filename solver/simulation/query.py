"""What is asked of an estimate of durations, and what it answers."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from events.model import Cooker
from solver.simulation.run import STEP_S, Cores
from solver.thermal.energy_balance import Array, Bools, Ints, Load

EIGHT_OF_TEN = 0.84  # standard deviations: the 80 % quantile of a normal
UNSURE_RATIO = 1.5  # cautious to expected minutes where no poor day gets it done: judgement
# Middles of ten equally likely slices of a normal.
FEW_NORMALS = np.asarray([NormalDist().inv_cdf((k + 0.5) / 10) for k in range(10)])


@dataclass(frozen=True)
class DurationQuery:
    """One load in one cooker: the starts in question and the last minute of any use.

    Its pots are followed until `last_plate`, where that is later.
    """

    cooker: Cooker
    load: Load
    starts: Ints  # minutes of the day
    until: int
    last_plate: int = 0
    oven_c: Array | None = None  # of the empty body by start, where a dish needs an oven


@dataclass(frozen=True)
class DurationEstimate:
    """Minutes from loading by (pot, start), inf where never; temperatures in °C."""

    query: DurationQuery
    expected_min: Array
    fast_min: Array
    cautious_min: Array
    hot_min: Array  # until 60 °C in the middle
    clock_min: Array  # between 5 and 60 °C until done
    peak_c: Array
    body_peak_c: Array  # (starts,)
    draws_min: Array | None = None  # minutes to done by (pot, draw, start)
    core_c: Cores | None = None  # the expected middle by (step, pot, start), from loading on

    def drawn_min(self, pot: int) -> Array:
        """Return a pot's minutes to done by (draw, start), under drawn days.

        Where it was not run under drawn days, these follow from its expected and cautious minutes.
        """
        if self.draws_min is not None:
            run: Array = self.draws_min[pot]
            return run
        usual, slow = self.expected_min[pot], self.cautious_min[pot]
        sure = np.isfinite(usual) & np.isfinite(slow) & (usual > 0)
        ratio = np.where(sure, np.maximum(slow, usual) / np.where(sure, usual, 1.0), UNSURE_RATIO)
        spread = np.log(np.maximum(ratio, 1.0)) / EIGHT_OF_TEN
        drawn: Array = usual * np.exp(np.outer(FEW_NORMALS, spread))
        return drawn

    def coldest_c(
        self, pot: int, start: Ints | int, *, since_min: Array | float, until_min: Array | float
    ) -> Array:
        """Return the coldest middle of a pot between two times after its loading; NaN if unknown.

        `start` is the number of the start, or of several, each with its times.
        """
        if self.core_c is None:
            return np.full(np.shape(start), np.nan)
        between = _between(len(self.core_c), since_min, until_min)
        coldest: Array = np.where(between, self.core_c[:, pot, start], np.inf).min(axis=0)
        return coldest

    def middle_c(self, pot: int, start: Ints | int, after_min: Array | float) -> Array:
        """Return a pot's middle some time after its loading; NaN if unknown.

        Between two steps of its trajectory that of the colder one.
        """
        if self.core_c is None:
            return np.full(np.shape(start), np.nan)
        first, last = _steps(len(self.core_c), after_min, after_min)
        middle: Array = np.minimum(self.core_c[first, pot, start], self.core_c[last, pot, start])
        return middle

    def reached_min(self, limit_c: float, pot: int, start: Ints | int) -> Array:
        """Return after how many minutes a pot's middle first reaches a limit; inf if never."""
        if self.core_c is None:
            return np.full(np.shape(start), np.inf)
        reached = self.core_c[:, pot, start] >= limit_c
        first_min = reached.argmax(axis=0) * (STEP_S / 60)
        at_min: Array = np.where(reached.any(axis=0), first_min, np.inf)
        return at_min

    def below_min(
        self,
        limit_c: float,
        pot: int,
        start: Ints | int,
        *,
        since_min: Array | float,
        until_min: Array | float,
    ) -> Array:
        """Return for how many minutes a pot's middle is colder than a limit between two times.

        Times are after its loading; `start` is the number of the start. Unknown counts as none.
        """
        if self.core_c is None:
            return np.zeros(np.shape(start))
        # Each step of the trajectory ends the minutes before it: the first of them ends none.
        between = _between(len(self.core_c), since_min, until_min)
        cold = (self.core_c[:, pot, start] < limit_c)[1:] & between[1:] & between[:-1]
        below: Array = np.minimum(
            cold.sum(axis=0) * (STEP_S / 60), np.maximum(np.subtract(until_min, since_min), 0.0)
        )
        return below


def _between(steps: int, since_min: Array | float, until_min: Array | float) -> Bools:
    """Return by step of a trajectory whether it is between two times after its loading."""
    first, last = _steps(steps, since_min, until_min)
    step = np.arange(steps).reshape(-1, *[1] * first.ndim)
    between: Bools = (first <= step) & (step <= last)
    return between


def _steps(steps: int, since_min: Array | float, until_min: Array | float) -> tuple[Ints, Ints]:
    """Return the steps of a trajectory that hold the time between two times after its loading."""
    end = float(steps - 1)
    first = np.minimum(np.floor(np.multiply(since_min, 60 / STEP_S)), end).astype(np.int64)
    last = np.minimum(np.ceil(np.multiply(until_min, 60 / STEP_S)), end).astype(np.int64)
    return first, np.maximum(first, last)
