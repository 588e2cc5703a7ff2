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
class ReplanState:
    """What planning again starts from; nothing new begins before `minute`."""

    plan: Plan
    minute: int
    in_progress: tuple[LoadInProgress, ...]
    warm: Mapping[str, float]  # batches to be loaded anew, at this temperature (°C)
    spent: Mapping[str, float]  # their minutes between 5 and 60 °C so far, which go on counting
    gone: frozenset[str]  # batches served or thrown away
    out: frozenset[str]  # cookers out of action
    away: tuple[Absence, ...]
    aimed: Mapping[str, int]  # by cooker, the minute at which it was last brought to the sun
    heating: Mapping[str, tuple[int, int]]  # by cooker: since when, for how long, it stands empty
    heads: Mapping[str, str]  # by cooker, the first of those that are alike
    slots: Mapping[str, tuple[str, int, int]]  # by batch: cooker's head, loaded, lifted, before
