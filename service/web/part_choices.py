"""What can be chosen in the fields of a contest and of groups that go round."""

from __future__ import annotations

from typing import cast, get_args

from events.kinds import COOKER_KINDS, Kind
from events.model import Event
from events.reading.catalogue import entries
from events.rounds import Moment
from service.text.allergens import columns, name_of
from service.text.catalogue import name_in

Pairs = list[tuple[str, str]]
MOMENTS: Pairs = [(m, m.replace("-", " ")) for m in get_args(Moment)]
STOP_MOMENTS: Pairs = [*MOMENTS, ("served", "food is served and tasted")]
_LOT = ("", "drawn by lot")
TIES: Pairs = [
    ("heaviest, more-judges, shared", "weightiest points, then more judges, then shared"),
    ("heaviest, more-judges, lot", "weightiest points, then more judges, then by lot"),
    ("more-judges, heaviest, shared", "more judges, then weightiest points, then shared"),
    ("more-judges, heaviest, lot", "more judges, then weightiest points, then by lot"),
    ("shared", "they share the place"),
    ("lot", "by lot"),
]


def part_choices(event: Event) -> dict[str, Pairs]:
    """Return the choices by the kind of field."""
    teams = [(t.id, t.name) for t in event.teams]
    cookers = [(c.id, c.name) for c in event.cookers]
    dishes = [(k, name_in(v, event.units)) for k, v in entries("dish").items()]
    return {
        "team": teams,
        "teams": teams,
        "owner": [_LOT, *teams],
        "own-cooker": [_LOT, *((c.id, c.name) for c in event.contest_cookers if c.team)],
        "own-place": [_LOT, *((s.id, s.name) for s in event.stations)],
        "stops": [(s.id, s.name) for s in event.stops],
        "these-cookers": cookers,
        "moments": STOP_MOMENTS,
        "avoided": [(a, name_of(event, a)) for a in columns(event)],
        "instead": [("", "a recipe of one’s own"), *dishes],
        "house": house_cookers(event),
        "brings": [_LOT, *kinds_of_cookers(event)],
        "how": [
            ("table", "sit at a table"),
            ("walk", "walk from pot to pot"),
        ],
        "ties": TIES,
        "who-comes": [("none", "do not come to it"), ("all", "all come to it")],
    }


def kinds_of_cookers(event: Event) -> Pairs:
    """Return the catalogue's cookers of a contest: those on the sun."""
    return [
        (key, name_in(cooker, event.units))
        for key, cooker in entries("cooker").items()
        if COOKER_KINDS[cast("Kind", cooker["kind"])].heat == "sun"
    ]


def house_cookers(event: Event) -> Pairs:
    """Return the catalogue's cookers that anybody may work on the sun: no mirror, no gas."""
    return [
        (key, name_in(cooker, event.units))
        for key, cooker in entries("cooker").items()
        for kind in [COOKER_KINDS[cast("Kind", cooker["kind"])]]
        if kind.heat == "sun" and not kind.concentrates
    ]
