"""What is asked of an estimate, and what it answers."""

from __future__ import annotations

from dataclasses import dataclass

from events.model import Cooker
from solver.thermal.energy_balance import Array, Ints, Load


@dataclass(frozen=True)
class DurationQuery:
    """One load in one cooker: which starts are wanted (minutes of the day) and the last use."""

    cooker: Cooker
    load: Load
    starts: Ints
    until: int


@dataclass(frozen=True)
class DurationEstimate:
    """The answer to an Ask: arrays by (pot, start); inf where never."""

    ask: DurationQuery
    expected_min: Array
    fast_min: Array
    cautious_min: Array
    hot_min: Array
    clock_min: Array
    peak_c: Array
    body_peak_c: Array
