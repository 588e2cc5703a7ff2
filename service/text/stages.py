"""The four steps of a plan that is being worked out, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from solver.stages import Stage

StepState = Literal["done", "now", "later"]
WORDS: dict[Stage, str] = {
    "day": "Reading the sun and the cookers",
    "durations": "Minutes of each dish in each cooker",
    "timetable": "A timetable and a crew",
    "chances": "Chances under likely skies",
}


@dataclass(frozen=True)
class Step:
    """A step of a plan, and whether it is done, under way or still to come."""

    words: str
    state: StepState


def steps(stage: Stage | None) -> list[Step]:
    """Return the steps of a plan of which one is under way; None where that is not known."""
    order = list(WORDS)
    at = order.index(stage) if stage else -1
    return [Step(words, _state(n, at)) for n, words in enumerate(WORDS.values())]


def _state(n: int, at: int) -> StepState:
    if n == at:
        return "now"
    return "done" if n < at else "later"
