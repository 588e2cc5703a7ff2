"""Parts that a day need not have, in the planner: a contest, and groups that go round.

Such a part has a page of its own with its rules, and one for each of its tables; a day without it
has a short form there that makes all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from events.errors import NotFound
from events.model import Event
from service.forms import event_form, part_start
from service.forms.event_form import Form, Table
from service.forms.fields import Field
from service.forms.table_fields import SINGLES
from service.forms.us_units import US, fields_of

Row = Mapping[str, object]


@dataclass(frozen=True)
class Part:
    """One such part: what it is called, its tables of which there is one, the pages of the rest."""

    tab: str
    name: str
    singles: tuple[str, ...]
    pages: tuple[tuple[str, str], ...]
    tables: tuple[str, ...]  # all that goes when the day is without it
    start: tuple[Field, ...]
    usual: Callable[[Event], dict[str, str]]
    begin: Callable[[Event, Form], Table]
    there: Callable[[Event], bool]
    words: Mapping[str, str]


CONTEST = Part(
    "contest",
    "Contest",
    ("contest", "votes"),
    (
        ("teams", "Teams"),
        ("entries", "Entries"),
        ("contest-cookers", "Their cookers"),
        ("places", "Places"),
        ("judges", "Judges"),
        ("criteria", "Points"),
    ),
    part_start.CONTEST_TABLES,
    part_start.CONTEST_START,
    part_start.contest_usual,
    part_start.contest_begun,
    lambda event: event.contest is not None,
    {
        "ask": "This day is a contest",
        "says": "Teams cook, judges taste by number, visitors may vote. Each team gets an entry, a"
        " place and a cooker; names and all else are typed afterwards.",
        "begin": "Make it a contest",
        "end": "Have no contest",
        "goes": "Teams, entries, judges and points are left out.",
        "day": "Tastings, draw and count",
    },
)
ROTA = Part(
    "rota",
    "Groups",
    ("rota",),
    (("groups", "Groups"), ("stops", "Stops")),
    part_start.ROTA_TABLES,
    part_start.ROTA_START,
    part_start.rota_usual,
    part_start.rota_begun,
    lambda event: bool(event.groups or event.stops),
    {
        "ask": "Groups go round",
        "says": "Each group visits each stop once, when there is something to see. It begins with"
        " a stop at each kind of cooker; more are typed afterwards.",
        "begin": "Make the groups",
        "end": "Have no groups",
        "goes": "Groups and stops are left out.",
        "day": "The rota",
    },
)
PARTS = {part.tab: part for part in (CONTEST, ROTA)}


def part_of(tab: str, event: Event) -> Part | None:
    """Return the part that a page of the planner belongs to; what two have is of the one there."""
    of_it = [p for p in PARTS.values() if tab == p.tab or tab in dict(p.pages)]
    return next((p for p in of_it if p.there(event)), of_it[0] if of_it else None)


def typed_part(event: Event, part: Part, form: Form) -> Table:
    """Return an event's tables with a part begun, ended, or its rules as typed."""
    match form.get("do", ""):
        case "begin":
            return part.begin(event, form)
        case "end":
            return part_start.ended(event, part.tables)
        case "":
            return event_form.with_singles(event, part.singles, form)
        case other:
            raise NotFound(f"Nothing is done as “{other}”.")


def part_values(event: Event, part: Part, table: Table) -> dict[str, object]:
    """Return what a part's own page shows: its rules, or the form that begins it."""
    rows = {key: held if isinstance(held := table.get(key), dict) else {} for key in part.singles}
    return {
        "part": part,
        "there": part.there(event),
        "usual": part.usual(event),
        "single_rows": {key: event_form.as_shown(event, row) for key, row in rows.items()},
        "single_fields": {
            key: near_and_aside(fields_of(SINGLES[key], event.units), key) for key in part.singles
        },
    }


TABLE_OF_PAGE = {
    "teams": "team",
    "entries": "entry",
    "contest-cookers": "contest_cooker",
    "places": "station",
    "judges": "judge",
    "criteria": "criterion",
    "groups": "group",
    "stops": "stop",
}
# What one of ten empty rows has: the rest is typed once the row is there.
NEW_FIELDS: dict[str, tuple[str, ...]] = {
    "team": ("name", "people", "young", "trained"),
    "entry": ("name", "team", "portions"),
    "contest_cooker": ("name", "team"),
    "station": ("name", "x_m", "y_m"),
    "judge": ("name", "from", "until"),
    "criterion": ("name", "weight", "points_max"),
    "group": ("name", "people", "adult", "young"),
    "stop": ("name", "station", "x_m", "y_m", "do"),
}
# What stands under “More of …” in a row: it is seldom typed.
ASIDE: dict[str, tuple[str, ...]] = {
    "entry": (
        *("like", "portion_kg", "thickness_mm"),
        *("raw_meat", "start_c", "out_min", "kidney_beans"),
        *("allergens", "also_contains", "allergens_checked"),
    ),
    "contest_cooker": ("litres", "wind_limit_m_s"),
    "judge": ("helper", "kin", "avoids"),
    "talk": (
        *("dish", "stage", "times", "apart_min"),
        *("speakers", "cooker", "chance_pct", "groups"),
    ),
    "group": ("from", "until", "skips"),
    "stop": ("minutes", "people_max", "ready_min", "guide", "cookers", "sees"),
    "contest": (
        *("judges_at_once", "closed", "together_at", "held_max_min"),
        *("ties", "sheets_least", "results_from"),
    ),
    "votes": ("picks", "from", "until", "ballots_least"),
    "rota": ("walk_min_least", "walk_m_min"),
}
LIKE_OF = {"entry": "like-dish", "contest_cooker": "like-cooker"}


def near_and_aside(fields: tuple[Field, ...], kind: str) -> tuple[list[Field], list[Field]]:
    """Return the fields of a row that are always seen, and those under “More of …”."""
    keys = {*ASIDE.get(kind, ()), *(US[k].key for k in ASIDE.get(kind, ()) if k in US)}
    return [f for f in fields if f.key not in keys], [f for f in fields if f.key in keys]


def new_usual(event: Event, kind: str) -> Row:
    """Return what stands in an empty row: it is added only where it is named."""
    contest = event.contest
    match kind:
        case "team":
            return {"people": 2}
        case "entry":
            return {"portions": 6}
        case "judge" if contest:
            return {"from": contest.start, "until": contest.end}
        case "criterion":
            return {"weight": 1, "points_max": 10}
        case "group" if event.groups:
            return {"people": event.groups[-1].people, "young": event.groups[-1].young}
        case "group":
            return {"people": 8}
    return {}
