"""The part of a plan that is the contest: who stands where, when each entry is tasted, the sun."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Literal

from solver.part import Part

ContestLevelKey = Literal["left-out", "unsure", "moved", "difference", "longest-held", "held"]
NotTastedKind = Literal[
    "no-pot",  # none on the list holds it
    "no-sun",
    "oven-too-cool",
    "never-ready",  # best_min, cook_min
    "unsafe",  # too long between 5 and 60 °C, from every start
    "held-too-long",  # held_min, limit_min
    "goes-cold",  # reached_c, limit_c
    "no-time-left",  # could be ready, but all its times are taken
]


class DrawnPlace(Part):
    """What the lot gave an entry: its place, its cooker, and its turn in the draw."""

    entry_id: str
    station_id: str
    cooker_id: str
    turn: int | None  # None: its place was not drawn
    cooker_turn: int | None


class Draw(Part):
    """The dealing out by lot from a public seed; anyone can do it again."""

    seed: str
    places: tuple[DrawnPlace, ...]


class JudgeAt(Part):
    """When a judge tastes an entry."""

    judge_id: str
    at: datetime


class Tasting(Part):
    """One entry's tasting: from when its team may cook, by whom it is tasted, how sure, how hot."""

    entry_id: str
    cooker_id: str
    pot_id: str
    lane: int
    cook_from: datetime
    loaded_at: datetime
    ready_at: datetime  # expected
    cautious_at: datetime | None
    at: datetime
    minutes: int
    judges: tuple[JudgeAt, ...]
    # Of a hundred drawn days it is ready by then, in steps of five: told from 200 days, chosen by
    # twenty others. Told from those that chose it, it would flatter.
    of_100: int
    chosen_of_100: int
    held_min: int  # from expected ready to the tasting's end
    coolest_c: float  # from done, or from hot through if that is sooner, to the tasting's end
    middle_c: tuple[float, ...]  # every ten minutes from loading, and at the tasting's end
    between_5_and_60_min: int  # to the tasting's end
    preheat_min: int = 0
    was_at: datetime | None = None  # when the day's first plan had it; None: never moved


class EntrySun(Part):
    """How much sun an entry's place gives over its cooking time."""

    entry_id: str
    sun_min: int  # as minutes of a sun of 700 W/m²
    water_min: int | None  # two kilograms of water from 20 to 90 °C, in a panel of the catalogue


class NotTasted(Part):
    """An entry without a tasting, and why."""

    entry_id: str
    kind: NotTastedKind
    figures: Mapping[str, float]


class ContestLevel(Part):
    """One level of the contest's goal."""

    key: ContestLevelKey
    value: int
    bound: int
    proven: bool


class ContestPlan(Part):
    """The contest's plan; without a draw there are no places and no tastings yet."""

    left_out: tuple[str, ...]  # stations that are not drawn: their sun is least like the others'
    lists_sha256: str  # of what is drawn; shown before the seed is known
    draw: Draw | None
    tastings: tuple[Tasting, ...]  # in time order
    sun: tuple[EntrySun, ...]
    not_tasted: tuple[NotTasted, ...]
    levels: tuple[ContestLevel, ...]

    @property
    def difference_min(self) -> int:
        """Return how many minutes of sun the best entry has more than the worst."""
        minutes = [s.sun_min for s in self.sun]
        return max(minutes, default=0) - min(minutes, default=0)
