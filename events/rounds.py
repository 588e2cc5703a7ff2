"""Groups that go round: who goes together, the stops of their round, and its hours.

Each group is at each stop once; the plan gives the rota.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import time
from typing import Annotated, Literal, get_args

from pydantic import Field, StringConstraints

from events.quantities import within
from events.site import Site, Station
from events.table import Id, Name, Table, Time

# What can be seen at a cooker: work of hands, or a heat that is reached.
HandMoment = Literal["loading", "lid-opened", "lifted", "turn"]
HeatMoment = Literal["first-steam", "boil", "over-100"]
Moment = Literal[HandMoment, HeatMoment]
# A stop may be there for food that is tasted: some dish of the day is done and being served.
StopMoment = Literal[Moment, "served"]
HAND_MOMENTS: tuple[HandMoment, ...] = get_args(HandMoment)
GROUPS_MOST = STOPS_MOST = 24

Task = Annotated[str, StringConstraints(max_length=300, strip_whitespace=True)]
People = Annotated[int, Field(ge=1, le=60)]
VisitMinutes = Annotated[int, Field(ge=5, le=120, multiple_of=5)]


@dataclass(frozen=True)
class Hours:
    """Between which local times something may be."""

    start: time
    end: time

    @property
    def minutes(self) -> int:
        """How long that is; not above zero where it ends before it begins."""
        return (self.end.hour - self.start.hour) * 60 + self.end.minute - self.start.minute


class Rota(Table):
    """The hours of the round and how it goes; what is not given is the visitors' hours."""

    start: Time | None = None
    end: Time | None = None
    visit_min: VisitMinutes = 20
    walk_m_min: Annotated[int, Field(ge=10, le=100)] = 40  # metres a minute; the young no faster
    walk_min_least: Annotated[int, Field(ge=0, le=30, multiple_of=5)] = 5
    pause_min: Annotated[int, Field(ge=0, le=120, multiple_of=5)] = 0
    pause_from: Time | None = None  # each group's pause begins between the two
    pause_until: Time | None = None
    bell: bool = False  # all change together

    def hours(self, site: Site) -> Hours:
        """Return when the round may be: the visitors' hours where the file gives none."""
        start = self.start or site.visitors_from or site.opens
        return Hours(start, self.end or site.visitors_until or site.closes)

    def minutes_at(self, stop: Stop) -> int:
        """Return how long a visit to a stop lasts."""
        return stop.minutes or self.visit_min


class Group(Table):
    """People who stay together on the round; the young with a named adult."""

    id: Id
    name: Name
    people: People
    young: bool = False
    adult: Annotated[str, StringConstraints(max_length=80, strip_whitespace=True)] = ""
    start: Time | None = None  # where they come later or leave earlier than the rota
    end: Time | None = None
    skips: Annotated[tuple[Id, ...], Field(max_length=STOPS_MOST)] = ()

    def hours(self, rota: Hours) -> Hours:
        """Return between which times it goes round."""
        return Hours(max(rota.start, self.start or rota.start), min(rota.end, self.end or rota.end))


class Stop(Table):
    """A place on the round: where, what is done there, and what is to be seen at its cookers."""

    id: Id
    name: Name
    station: Id | None = None
    x_m: Annotated[float, within("x_m")] | None = None
    y_m: Annotated[float, within("y_m")] | None = None
    cookers: Annotated[tuple[Id, ...], Field(max_length=20)] = ()
    do: Task = ""
    minutes: VisitMinutes | None = None  # not given: the rota's
    sees: tuple[StopMoment, ...] = ()  # nothing given: there is always something to do
    guide: Id | None = None
    people_max: People = 60
    ready_min: Annotated[int, Field(ge=0, le=60, multiple_of=5)] = 0  # between two visits

    def is_for(self, moment: StopMoment, cooker_id: str) -> bool:
        """Return whether a moment at a cooker is what it is there for.

        What is tasted is out of any cooker where the stop has none of its own.
        """
        at_it = cooker_id in self.cookers or (moment == "served" and not self.cookers)
        return at_it and moment in self.sees

    def place(self, stations: Sequence[Station]) -> tuple[float, float]:
        """Return where it is, east and north in metres: its own place, else its station's."""
        if self.x_m is not None and self.y_m is not None:
            return self.x_m, self.y_m
        return next((s.x_m, s.y_m) for s in stations if s.id == self.station)
