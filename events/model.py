"""What stands in an event: the site, the cookers, the dishes, the people, the hours.

Frozen pydantic models, one for each table of an event file. Keys carry their unit. `Event` is
always complete: catalogue entries (`like`) and US units are resolved by `events.reading` before.
"""

from __future__ import annotations

from datetime import UTC, datetime, time
from datetime import date as Date
from functools import cached_property
from typing import Annotated, Literal, TypeVar
from zoneinfo import ZoneInfo

from pydantic import Field

from events.contest import (
    CRITERIA_MOST,
    ENTRIES_MOST,
    JUDGES_MOST,
    Contest,
    ContestCooker,
    Criterion,
    Entry,
    Judge,
    Team,
    Votes,
)
from events.errors import NotFound
from events.kitchen import (
    Before,
    Break,
    Composition,
    Cooker,
    Dish,
    Helper,
    Ingredient,
    Meal,
    Pot,
    Shape,
    round_opening_m2,
)
from events.quantities import within
from events.rounds import GROUPS_MOST, STOPS_MOST, Group, Hours, Moment, Rota, Stop
from events.site import Site, Station, Weather
from events.table import Id, Minutes, Name, Table, Time

__all__ = [
    "COOKERS_MOST",
    "HELPERS_MOST",
    "Before",
    "Break",
    "Composition",
    "Cooker",
    "Dish",
    "Event",
    "EventHead",
    "Helper",
    "Ingredient",
    "Meal",
    "Pot",
    "Shape",
    "Talk",
    "round_opening_m2",
]
COOKERS_MOST, HELPERS_MOST = 150, 80
Row = TypeVar("Row", bound=Table)


class Talk(Table):
    """A programme item at a fixed time, or one whose time the plan chooses within its hours.

    At a fixed time it may need a dish at a stage: the timetable keeps to it. One that floats may
    need a moment at a cooker: it is given when that is to be seen, by any of its speakers.
    """

    id: Id
    name: Name
    at: Time | None = None  # fixed; not given: it floats
    minutes: Annotated[int, Field(ge=5, le=240)]
    speaker: Id | None = None
    dish: Id | None = None
    stage: Literal["loaded", "simmering", "lifted"] | None = None
    groups: Literal["none", "all"] = "none"  # all: the groups of the rota come to it
    start: Time | None = None  # floating: between these; not given, the visitors' hours
    end: Time | None = None
    times: Annotated[int, Field(ge=1, le=12)] = 1  # how often it is given
    apart_min: Annotated[int, Field(ge=0, le=480, multiple_of=5)] = 0  # from an end to the next
    speakers: Annotated[tuple[Id, ...], Field(max_length=12)] = ()  # any one of them
    moment: Moment | None = None
    cooker: Id | None = None  # at which the moment is seen; not given: at any
    chance_pct: Annotated[int, within("chance_pct")] | None = None  # wanted; else the event's

    def hours(self, site: Site) -> Hours:
        """Return between which times it may be given."""
        start = self.start or site.visitors_from or site.opens
        return Hours(start, self.end or site.visitors_until or site.closes)


class EventHead(Table):
    """An event's own keys, those that stand above its tables."""

    format: Literal[1] = 1
    title: Name
    date: Date
    units: Literal["metric", "us"] = "metric"  # how figures are shown; files take both
    clock_h: Literal[12, 24] = 24
    wanted_margin_min: Minutes = 20
    chance_pct: Annotated[int, within("chance_pct")] = 80
    # What an hour on a gas ring may cost in dishes: 0 as it comes, 0.1 where it wins a tenth of a
    # dish, 10 only where the sun can't do a dish at all.
    gas_price_dishes_h: Annotated[float, within("gas_price_dishes_h")] = 0.1
    gas_day_under_pct: Annotated[int, within("chance_pct")] = 50  # of dishes that the sun can do
    vulnerable_guests: bool = False  # under five, pregnant, old or ill: the strictest food rules


class Event(EventHead):
    """The gathering on one date at one site, complete: all a plan needs."""

    site: Site
    weather: Weather = Weather()
    stations: Annotated[tuple[Station, ...], Field(max_length=60)] = ()
    cookers: Annotated[tuple[Cooker, ...], Field(max_length=COOKERS_MOST)]
    pots: Annotated[tuple[Pot, ...], Field(max_length=120)]
    meals: Annotated[tuple[Meal, ...], Field(max_length=24)]
    dishes: Annotated[tuple[Dish, ...], Field(max_length=400)]
    helpers: Annotated[tuple[Helper, ...], Field(max_length=HELPERS_MOST)]
    talks: Annotated[tuple[Talk, ...], Field(max_length=40)] = ()
    rota: Rota = Rota()
    groups: Annotated[tuple[Group, ...], Field(max_length=GROUPS_MOST)] = ()
    stops: Annotated[tuple[Stop, ...], Field(max_length=STOPS_MOST)] = ()
    contest: Contest | None = None
    teams: Annotated[tuple[Team, ...], Field(max_length=ENTRIES_MOST)] = ()
    entries: Annotated[tuple[Entry, ...], Field(max_length=ENTRIES_MOST)] = ()
    contest_cookers: Annotated[tuple[ContestCooker, ...], Field(max_length=ENTRIES_MOST)] = ()
    judges: Annotated[tuple[Judge, ...], Field(max_length=JUDGES_MOST)] = ()
    criteria: Annotated[tuple[Criterion, ...], Field(max_length=CRITERIA_MOST)] = ()
    votes: Votes = Votes()

    @cached_property
    def zone(self) -> ZoneInfo:
        """The site's time zone."""
        return ZoneInfo(self.site.timezone)

    def instant(self, local: time, *, day: Date | None = None) -> datetime:
        """Return a local clock time of the event's day (or of another) as aware UTC."""
        return datetime.combine(day or self.date, local, tzinfo=self.zone).astimezone(UTC)

    def station(self, id: str) -> Station:
        """Return the station of that id; raises NotFound."""
        return self._row(Station, id)

    def cooker(self, id: str) -> Cooker:
        """Return the cooker of that id; raises NotFound."""
        return self._row(Cooker, id)

    def pot(self, id: str) -> Pot:
        """Return the kind of pot of that id; raises NotFound."""
        return self._row(Pot, id)

    def meal(self, id: str) -> Meal:
        """Return the meal of that id; raises NotFound."""
        return self._row(Meal, id)

    def dish(self, id: str) -> Dish:
        """Return the dish of that id; raises NotFound."""
        return self._row(Dish, id)

    def helper(self, id: str) -> Helper:
        """Return the helper of that id; raises NotFound."""
        return self._row(Helper, id)

    def talk(self, id: str) -> Talk:
        """Return the talk of that id; raises NotFound."""
        return self._row(Talk, id)

    def group(self, id: str) -> Group:
        """Return the group of that id; raises NotFound."""
        return self._row(Group, id)

    def stop(self, id: str) -> Stop:
        """Return the stop of that id; raises NotFound."""
        return self._row(Stop, id)

    def team(self, id: str) -> Team:
        """Return the team of that id; raises NotFound."""
        return self._row(Team, id)

    def entry(self, id: str) -> Entry:
        """Return the entry of that id; raises NotFound."""
        return self._row(Entry, id)

    def judge(self, id: str) -> Judge:
        """Return the judge of that id; raises NotFound."""
        return self._row(Judge, id)

    def contest_cooker(self, id: str) -> ContestCooker:
        """Return the contest's cooker of that id; raises NotFound."""
        return self._row(ContestCooker, id)

    @cached_property
    def _rows(self) -> dict[tuple[type[Table], str], Table]:
        lists = (self.stations, self.cookers, self.pots, self.meals, self.dishes)
        people = (self.helpers, self.talks, self.groups, self.stops)
        contest = (self.teams, self.entries, self.contest_cookers, self.judges)
        rows = [row for many in (*lists, *people, *contest) for row in many]
        return {(type(row), row.id): row for row in rows}

    def _row(self, kind: type[Row], id: str) -> Row:
        row = self._rows.get((kind, id))
        if not isinstance(row, kind):
            table = kind.__name__.lower()
            raise NotFound(kind="no-row", event=self.title, table=table, id=id)
        return row
