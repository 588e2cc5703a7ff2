"""What planning again starts from: the plan before, what has begun, what is out of use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from solver.plan import CurvePoint, Placement, Plan

if TYPE_CHECKING:
    from solver.simulation.query import DurationEstimate
    from solver.thermal.energy_balance import Ensemble

Stage = Literal["cooking", "on-ring", "lifted"]


@dataclass(frozen=True)
class LoadInProgress:
    """A load that is in a cooker, or out of it and waiting to be served.

    `durations` count from its loading, by (pot, one start); `state`: (weak, expected, strong) now.
    """

    placements: tuple[Placement, ...]  # with their times as they really were
    stage: Stage
    durations: DurationEstimate
    state: Ensemble
    clock_min: tuple[float, ...]
    curves: tuple[tuple[CurvePoint, ...], ...]


@dataclass(frozen=True)
class Absence:
    """A helper who can't be asked between two minutes of the day."""

    helper_id: str
    start: int
    end: int


@dataclass(frozen=True)
class Preheating:
    """A cooker that stands empty on the sun: since which minute of the day, for how long."""

    start: int
    for_min: int

    @property
    def end(self) -> int:
        """Return the minute of the day at which it is to be loaded."""
        return self.start + self.for_min


@dataclass(frozen=True)
class PlannedUse:
    """Where the plan before has a batch: the pool's representative, and minutes of the day."""

    representative: str
    load: int
    lift: int


@dataclass(frozen=True)
class ReplanState:
    """What planning again starts from; nothing new begins before `minute`."""

    plan: Plan
    minute: int
    in_progress: tuple[LoadInProgress, ...]
    warm_c: Mapping[str, float]  # by batch that is to be loaded anew, how warm it is
    spent_min: Mapping[str, float]  # its minutes between 5 and 60 °C so far, which go on counting
    finished_ids: frozenset[str]  # batches served or thrown away
    unavailable: frozenset[str]  # cookers out of action
    absences: tuple[Absence, ...]
    aimed_at: Mapping[str, int]  # by cooker, the minute of the day at which it was last aimed
    preheating: Mapping[str, Preheating]  # by cooker that stands empty on the sun
    representatives: Mapping[str, str]  # by cooker, the first of those that are alike
    planned_uses: Mapping[str, PlannedUse]  # by batch
