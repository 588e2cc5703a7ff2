"""The first tables of a contest, and of groups that go round: complete, to be typed over."""

from __future__ import annotations

from datetime import datetime, timedelta

from events.contest import CRITERIA_MOST, ENTRIES_MOST, JUDGES_MOST
from events.errors import FaultyEvent, Place
from events.model import Event
from events.rounds import GROUPS_MOST
from service.forms.contest_rows import APART_M, add_places, enter
from service.forms.event_form import Form, Table, rows_of, table_of
from service.forms.fields import Field, typed
from service.forms.references import new_id
from service.text.formatting import joined, plain_hour

CONTEST_TABLES = ("contest", "team", "entry", "contest_cooker", "judge", "criterion", "votes")
ROTA_TABLES = ("rota", "group", "stop")
STOPS_FIRST = 6
SEEN_FIRST = ("loading", "turn", "first-steam", "boil", "lifted")  # what happens at any cooker
# What points are given for, until somebody types what: our own judgement.
CRITERIA = (("Taste", 5), ("Cooked right", 3), ("Skill with the sun", 2))
assert len(CRITERIA) <= CRITERIA_MOST

CONTEST_START = (
    Field("teams", "Teams", "number"),
    Field("judges", "Judges", "number"),
    Field("from", "Tasting from", "time"),
    Field("until", "Tasting until", "time"),
    Field("dish", "All cook, to begin with", "like-dish"),
    Field("house", "Cooked in", "house", "a mirror is typed later, for a team that may work it"),
    Field("own", "Each team brings its own; else they are drawn by lot", "tick"),
    Field("codes", "Tickets for visitors’ votes", "number", "0: nobody votes"),
)
ROTA_START = (
    Field("groups", "Groups", "number"),
    Field("people", "People in each", "number"),
    Field("from", "Round from", "time"),
    Field("until", "Round until", "time"),
    Field("visit_min", "Minutes at a stop", "number"),
    Field("adults", "Adults who go with them", "phrases", "one for each group, commas between"),
    Field("young", "They are children: each group needs its adult", "tick"),
)


def contest_usual(event: Event) -> dict[str, str]:
    """Return what stands in the form that makes a contest: tasted two hours, one before closing."""
    closes = datetime.combine(event.date, event.site.closes)
    until, begin = closes - timedelta(hours=1), closes - timedelta(hours=3)
    return {
        "teams": "6",
        "judges": "3",
        "from": plain_hour(begin.time(), event.clock_h),
        "until": plain_hour(until.time(), event.clock_h),
        "dish": "vegetable-soup",
        "house": "panel-deep",
        "codes": "0",
    }


def rota_usual(event: Event) -> dict[str, str]:
    """Return what stands in the form that makes groups."""
    hours = event.rota.hours(event.site)
    return {
        "groups": "4",
        "people": "8",
        "from": plain_hour(hours.start, event.clock_h),
        "until": plain_hour(hours.end, event.clock_h),
        "visit_min": str(event.rota.visit_min),
    }


def contest_begun(event: Event, form: Form) -> Table:
    """Return an event's tables with a contest: so many teams, entries, places, judges."""
    table, value = table_of(event), _typed(CONTEST_START, form)
    teams = _count(form, "contest", "teams", ENTRIES_MOST)
    judges = _count(form, "contest", "judges", JUDGES_MOST)
    table["contest"] = {
        "from": value["from"],
        "until": value["until"],
        "stations": add_places(table, teams),
    }
    table["votes"] = {"codes": value["codes"] or 0}
    table["judge"] = [
        {"id": f"j{n}", "name": f"Judge {n}", "from": value["from"], "until": value["until"]}
        for n in range(1, judges + 1)
    ]
    table["criterion"] = [
        {"id": new_id(name, set()), "name": name, "weight": weight} for name, weight in CRITERIA
    ]
    table["team"] = [{"id": f"t{n}", "name": f"Team {n}", "people": 2} for n in range(1, teams + 1)]
    house, dish = str(value["house"]), str(value["dish"])
    for team in rows_of(table, "team"):
        enter(table, team, dish, house if value["own"] else "", event.units)
    if not value["own"]:
        table["contest_cooker"] = [
            {"id": f"house-{n}", "like": house, "name": f"House cooker {n}"}
            for n in range(1, teams + 1)
        ]
    return table


def rota_begun(event: Event, form: Form) -> Table:
    """Return an event's tables with groups, and a stop at each kind of cooker there is."""
    table, value = table_of(event), _typed(ROTA_START, form)
    groups = _count(form, "rota", "groups", GROUPS_MOST)
    adults = value["adults"]
    assert isinstance(adults, list)
    held = table.get("rota", {})
    assert isinstance(held, dict)
    table["rota"] = held | {k: value[k] for k in ("from", "until", "visit_min") if value[k] != ""}
    table["group"] = [
        {
            "id": f"group-{n}",
            "name": f"Group {n}",
            "people": value["people"],
            "young": value["young"],
            "adult": _helper_of(event, adults[n - 1]) if n <= len(adults) else "",
        }
        for n in range(1, groups + 1)
    ]
    table["stop"] = _stops(event)
    return table


def ended(event: Event, kinds: tuple[str, ...]) -> Table:
    """Return an event's tables without those of a part."""
    return {k: v for k, v in table_of(event).items() if k not in kinds}


def _typed(fields: tuple[Field, ...], form: Form) -> Table:
    return {f.key: typed(f, form.get(f.key, "")) for f in fields}


def _count(form: Form, table: str, key: str, most: int) -> int:
    """Return a number of rows that was typed; raises FaultyEvent for what is none."""
    text = form.get(key, "").strip()
    if text.isdecimal() and 0 < int(text) <= most:
        return int(text)
    shown = f"“{text[:20]}”"
    fault = Place(table).fault(key, shown, "whole-from-to", least=1, most=most)
    raise FaultyEvent("the page", [fault])


def _helper_of(event: Event, name: str) -> str:
    same = (h.id for h in event.helpers if h.name.casefold() == name.casefold())
    return next(same, name)


def _stops(event: Event) -> list[Table]:
    """Return a stop at the cookers of each kind on the sun, where they stand; else in a row."""
    stops: list[Table] = []
    seen: set[str] = set()
    for cooker in [c for c in event.cookers if c.on_sun] or event.cookers:
        if cooker.kind in seen or len(stops) == STOPS_FIRST:
            continue
        seen.add(cooker.kind)
        same = [c for c in event.cookers if (c.kind, c.station) == (cooker.kind, cooker.station)]
        stop: Table = {
            "id": f"at-{cooker.id}"[:40].strip("-"),
            "name": joined([c.name for c in same])[:80],
            "cookers": [c.id for c in same],
            "sees": list(SEEN_FIRST),
        }
        if cooker.station:
            stop["station"] = cooker.station
        else:
            stop |= {"x_m": 3 * APART_M * len(stops), "y_m": 0}
        stops.append(stop)
    return stops
