"""What is asked of an estimate of durations, and what it answers."""

from __future__ import annotations

from dataclasses import dataclass

from events.model import Cooker
from solver.thermal.energy_balance import Array, Ints, Load


@dataclass(frozen=True)
class DurationQuery:
    """One load in one cooker: the starts in question and the last minute of any use."""

    cooker: Cooker
    load: Load
    starts: Ints  # minutes of the day
    until: int


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
