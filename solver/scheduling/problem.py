"""The timetable's problem and its solution: columns, stocks, people, talks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from events.kinds import Ability
from solver.plan import Level, Route


@dataclass(frozen=True)
class Need:
    """Work in one slot: how many people, and what they must be allowed to do."""

    slot: int
    ability: Ability | None
    people: int


@dataclass(frozen=True)
class Column:
    """A column: one to three batches put together into one cooker at one start by one route."""

    batch_ids: tuple[str, ...]
    pot_ids: tuple[str, ...]
    cooker_id: str
    route: Route
    then_cooker_id: str | None
    load_slot: int
    occupies: tuple[int, int]
    then_occupies: tuple[int, int] | None
    pots_busy: tuple[int, int]
    needs: tuple[Need, ...]
    watched: str | None
    missed: int  # expected, in steps of a dish's share, and gas at its price
    short_min: int
    stale_min: int
    work_min: int
    done_slot: int
    lift_slot: int
    serve_slot: int
    gas_min: int = 0
    changed: int = 0  # of its pots that an earlier plan has elsewhere or at another time


@dataclass(frozen=True)
class Person:
    """A helper by slot: free, or away or speaking."""

    id: str
    abilities: frozenset[Ability]
    adult: bool
    free: tuple[bool, ...]


@dataclass(frozen=True)
class DishDemand:
    """A dish with its priority (9 is dropped last) and its batches: all are placed, or none.

    `alternatives` are other ways to cut it into batches; one way is taken.
    """

    id: str
    priority: int
    batch_ids: tuple[str, ...]
    alternatives: tuple[tuple[str, ...], ...] = ()

    def splits(self) -> tuple[tuple[str, ...], ...]:
        """Return every way to cut it, as batch ids."""
        return (self.batch_ids, *self.alternatives)


@dataclass(frozen=True)
class TalkDemand:
    """If the dish is placed, one of these options must be chosen."""

    id: str
    dish_id: str
    column_indexes: frozenset[int]


@dataclass(frozen=True)
class Problem:
    """All that the timetable has to know."""

    slots: int
    dishes: tuple[DishDemand, ...]
    columns: tuple[Column, ...]
    cooker_capacity: Mapping[str, int]  # options at once; batches for burner and insulated
    pot_count: Mapping[str, int]
    people: tuple[Person, ...]
    talks: tuple[TalkDemand, ...]
    walk_window_slots: int


@dataclass(frozen=True)
class Solution:
    """The chosen options by index, and how good each level of the goal is."""

    chosen: tuple[int, ...]
    levels: tuple[Level, ...]
