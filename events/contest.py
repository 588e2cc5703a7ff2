"""A cook-off as a contest: teams, their entries, judges, criteria, tastings, visitors' votes.

An entry says its dish as a [[dish]] does; its cooker is the team's own or drawn by lot.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from events.allergens import Allergen
from events.kitchen import Break, Cooker, Dish
from events.table import Id, Name, Table, Time

ENTRIES_MOST, JUDGES_MOST, CRITERIA_MOST = 60, 24, 12
TASTING = "tasting"  # the meal of an entry's dish, which no file names
TieRule = Literal["heaviest", "more-judges", "lot", "shared"]
Seed = Annotated[
    str, StringConstraints(pattern=r"^[A-Za-z0-9]+( [A-Za-z0-9]+)*$", min_length=6, max_length=64)
]


class Contest(Table):
    """How entries are tasted, and by which rules they are placed."""

    how: Literal["table", "walk"] = (
        "table"  # plates come to all judges, or judges go from pot to pot
    )
    minutes: Annotated[int, Field(ge=5, le=30, multiple_of=5)] = 5  # of one tasting by one judge
    judges_at_once: Annotated[int, Field(ge=1, le=4)] = 1  # at one pot, walking
    start: Time
    end: Time
    closed: Annotated[tuple[Break, ...], Field(max_length=6)] = ()  # judges' breaks
    together_at: Time | None = None  # all may load from then; else cook_min before their tasting
    cook_min: Annotated[int, Field(ge=60, le=600, multiple_of=5)] = 180
    held_max_min: Annotated[int, Field(ge=5, le=120)] = 60  # from done to the tasting's end
    stations: Annotated[tuple[Id, ...], Field(max_length=60)]  # places that are drawn
    seed: Seed | None = None  # not drawn yet
    ties: tuple[TieRule, ...] = ("heaviest", "more-judges", "shared")
    sheets_least: Annotated[int, Field(ge=1, le=20)] | None = None  # half of those asked
    results_from: Time | None = None  # the end of tasting
    runner: Id | None = None  # a helper who carries plates and has no other work meanwhile

    def span_and_lanes(self, judges: int) -> tuple[int, int]:
        """Return how many minutes an entry's tasting takes, and how many may be open at once.

        At a table all taste at once. Walking, so many judges are at one pot, then all move on:
        as many pots are open as there are parties, and each pot until every party was there.
        """
        if self.how == "table":
            return self.minutes, 1
        parties = max(1, -(-judges // self.judges_at_once))
        return self.minutes * parties, parties


class Team(Table):
    """Who cooks an entry."""

    id: Id
    name: Name
    people: Annotated[int, Field(ge=1, le=20)]
    young: Annotated[int, Field(ge=0, le=20)] = 0
    trained: bool = False  # one of them may work mirrors


class ContestCooker(Cooker):
    """A cooker of the contest: a team's own, or without a team one that is drawn."""

    team: Id | None = None


class Entry(Table):
    """One team's dish in the contest."""

    id: Id
    name: Name
    team: Id
    dish: Dish
    cooker: Id | None = None  # the team's own; not given: drawn
    station: Id | None = None  # a place that is not drawn
    withdrawn: bool = False


class Judge(Table):
    """Who tastes, when, and which entries they pass by."""

    id: Id
    name: Name
    start: Time
    end: Time
    kin: Annotated[tuple[Id, ...], Field(max_length=20)] = ()  # teams they are close to
    avoids: tuple[Allergen, ...] = ()
    helper: Id | None = None  # where a helper judges: no other work in tasting hours


class Criterion(Table):
    """What points are given for."""

    id: Id
    name: Name
    weight: Annotated[int, Field(ge=1, le=100)] = 1
    points_max: Annotated[int, Field(ge=3, le=100)] = 10


class Votes(Table):
    """The visitors' choice, by single-use codes."""

    codes: Annotated[int, Field(ge=0, le=5000)] = 0
    picks: Annotated[int, Field(ge=1, le=3)] = 1
    start: Time | None = None
    end: Time | None = None
    ballots_least: Annotated[int, Field(ge=3, le=50)] = 5


ENTRY_KEYS = frozenset({"id", "name", "team", "cooker", "station", "withdrawn"})
