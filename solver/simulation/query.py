"""What is asked of an estimate of durations, and what it answers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from events.model import Cooker
from solver.simulation.run import STEP_S, Cores
from solver.thermal.energy_balance import Array, Ints, Load


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
    core_c: Cores | None = None  # the expected middle by (step, pot, start), from loading on

    def coldest_c(self, pot: int, start: int, *, since_min: float, until_min: float) -> float:
        """Return the coldest middle of a pot between two times after its loading; NaN if unknown.

        `start` is the number of the start.
        """
        if self.core_c is None:
            return float("nan")
        last = self.core_c.shape[0] - 1
        first = min(int(since_min * 60 // STEP_S), last)
        beyond = min(max(int(-(-until_min * 60 // STEP_S)), first), last) + 1
        return float(np.min(self.core_c[first:beyond, pot, start]))
