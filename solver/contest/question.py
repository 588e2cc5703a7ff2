"""The order of tastings as a question: entries, their possible times with costs, lanes."""

from __future__ import annotations

from dataclasses import dataclass

from solver.contest_plan import ContestLevel


@dataclass(frozen=True)
class Choice:
    """One time of an entry's tasting, in slots, and its costs."""

    entry: int
    at: int
    unsure: int
    sun: int
    held: int
    moved: int = 0  # on the day, 1 at another time than the earlier plan had


@dataclass(frozen=True)
class Question:
    """All that the order of tastings has to know."""

    entries: int
    choices: tuple[Choice, ...]
    span: int  # slots of a tasting
    lanes: int

    @property
    def on_the_day(self) -> bool:
        """Whether an earlier plan had other times."""
        return any(c.moved for c in self.choices)


@dataclass(frozen=True)
class Answer:
    """The chosen times by number, and the levels of the goal."""

    chosen: tuple[int, ...]
    levels: tuple[ContestLevel, ...]
