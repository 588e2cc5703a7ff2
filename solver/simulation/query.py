"""What is asked of an estimate of durations, and what it answers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from events.model import Cooker
from solver.simulation.run import STEP_S, Cores
from solver.thermal.energy_balance import Array, Ints, Load

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

    def coldest_c(self, pot: int, start: int, *, since_min: float, until_min: float) -> float:
        """Return the coldest middle of a pot between two times after its loading; NaN if unknown.

        `start` is the number of the start.
        """
        if self.core_c is None:
            return float("nan")
        return float(_between(self.core_c[:, pot, start], since_min, until_min).min())

    def reached_min(self, limit_c: float, pot: int, start: int) -> float:
        """Return after how many minutes a pot's middle first reaches a limit; inf if never."""
        if self.core_c is None:
            return math.inf
        reached = np.flatnonzero(self.core_c[:, pot, start] >= limit_c)
        return float(reached[0]) * STEP_S / 60 if reached.size else math.inf

    def below_min(
        self, limit_c: float, pot: int, start: int, *, since_min: float, until_min: float
    ) -> float:
        """Return for how many minutes a pot's middle is colder than a limit between two times.

        Times are after its loading; `start` is the number of the start. Unknown counts as none.
        """
        if self.core_c is None or until_min <= since_min:
            return 0.0
        cold = _between(self.core_c[:, pot, start], since_min, until_min)[1:] < limit_c
        return min(float(np.count_nonzero(cold)) * STEP_S / 60, until_min - since_min)


def _between(core_c: Cores, since_min: float, until_min: float) -> Cores:
    """Return a pot's middles between two times after its loading."""
    last = core_c.shape[0] - 1
    first = min(int(since_min * 60 // STEP_S), last)
    beyond = min(max(int(-(-until_min * 60 // STEP_S)), first), last) + 1
    return core_c[first:beyond]
