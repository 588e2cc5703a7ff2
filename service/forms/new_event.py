"""The first page of an event, turned into its tables: every field has a sensible start."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time, timedelta

from events.errors import WHOLE_FILE, Fault, FaultyEvent
from events.fault_kinds import FaultKind
from events.model import Cooker
from events.reading.catalogue import entries, kind_of
from service.forms.event_form import NEW, Form, Table, new_rows
from service.forms.fields import Field, clock_24, days_between, typed
from service.forms.menu import menu_of, tin_litres
from service.forms.pot_guess import guessed_pots, places_of
from service.forms.references import new_id
from service.forms.sky_words import cloud_of
from service.forms.where import Spot, spot_of
from service.text.catalogue import name_in
from service.text.cookers import kind_name

USUAL = {
    "where": "",
    "title": "",
    "meal": "12:30",
    "until": "",
    "mealname": "Lunch",
    "people": "20",
    "sittings": "1",
    "altitude": "",
    "units": "",
    "crewfrom": "08:00",
    "crewuntil": "17:00",
    "visitorsfrom": "",
    "visitorsuntil": "",
    "helpers": "Helper 1, Helper 2",
    "sky": "",
}
COUNT_MOST, POTS_MOST, PEOPLE_MOST = 20, 200, 5000
SITTINGS_MOST = 12
ADULT_YEARS = 18
# In brackets or with "years": a bare number is part of a name, as in "Helper 1".
_AGE = re.compile(r"\s*(?:\(\s*(\d{1,2})(?:\s*years?)?\s*\)|\b(\d{1,2})\s*years?)$")


@dataclass
class FirstPage:
    """What was typed on the first page, and the faults that were met while it was read."""

    form: Form
    own: Mapping[str, Cooker]
    faults: list[Fault] = field(default_factory=list)

    def text(self, key: str) -> str:
        """Return a field as it was typed, or as it starts."""
        return self.form.get(key, "").strip() or USUAL.get(key, "")

    def refuse(self, label: str, kind: FaultKind) -> None:
        """Note that a field can't be left as it is."""
        self.faults.append(WHOLE_FILE.fault(label, "", kind))

    def whole(self, key: str, label: str, most: int, *, least: int = 0) -> int:
        """Return a whole number, or its least where it is none: that is a fault."""
        text = self.text(key) or "0"
        if text.isdecimal() and least <= int(text) <= most:
            return int(text)
        fault = WHOLE_FILE.fault(label, f"“{text}”", "whole-from-to", least=least, most=most)
        self.faults.append(fault)
        return least


def first_event(form: Form, own: Mapping[str, Cooker], today: date) -> Table:
    """Return the tables of a new event; raises FaultyEvent with all that is in the way.

    A sky in words was told on the day on which it is typed.
    """
    page = FirstPage(form, own)
    spot = _spot(page)
    people = page.whole("people", "People", PEOPLE_MOST, least=1)
    menu = menu_of(form, people, page.faults)
    us = (page.text("units") or _usual_units(spot)) == "us"
    cookers = _cookers(page)
    guess = guessed_pots(map(places_of, cookers), tin_litres(menu))
    table: Table = {
        "format": 1,
        "title": page.text("title") or f"{page.text('mealname')}, {spot.name.split(',')[0]}",
        "date": page.text("date"),
        "units": "us" if us else "metric",
        "clock_h": 12 if us else 24,
        "site": _site(page, spot, us),
        "station": [{"id": "yard", "name": "The yard"}],
        "cooker": cookers,
        "pot": _pots(page, guess, us=us),
        "meal": [_meal(page, people)],
        "dish": [
            {"id": p.dish_id, "like": p.dish_id, "meal": "meal", "portions": p.portions}
            for p in menu
        ],
        "helper": _helpers(page),
        "weather": _weather(page, today),
    }
    if page.faults:
        raise FaultyEvent("the page", page.faults)
    return table


def pots_guessed(form: Form, own: Mapping[str, Cooker]) -> dict[str, int]:
    """Return the pots that are guessed by the cookers and dishes so far, whatever else is typed."""
    page = FirstPage(form, own)
    menu = menu_of(form, page.whole("people", "People", PEOPLE_MOST, least=1), page.faults)
    return guessed_pots(map(places_of, _cookers(page)), tin_litres(menu))


def _spot(page: FirstPage) -> Spot:
    text = page.text("where")
    if not text:
        page.refuse("Where", "no-where")
        return Spot("", "", 0, 0, 0)
    try:
        return spot_of(text)
    except FaultyEvent as error:
        page.faults += error.faults
        return Spot("", "", 0, 0, 0)


def _figure_and_unit(text: str, usual: str) -> tuple[str, str]:
    """Return a height's figure and its unit, which may be typed with it: 230 ft."""
    with_unit = re.fullmatch(r"([\d.,]+) *(m|ft)", text)
    return (with_unit[1], with_unit[2]) if with_unit else (text, usual)


def _usual_units(spot: Spot) -> str:
    return "us" if spot.country_code == "US" else "metric"


def _site(page: FirstPage, spot: Spot, us: bool) -> Table:
    site: Table = {
        "name": page.text("place") or spot.name,
        "latitude_deg": spot.latitude_deg,
        "longitude_deg": spot.longitude_deg,
        "opens": clock_24(page.text("crewfrom")),
        "closes": clock_24(page.text("crewuntil")),
    }
    for key, name in (("visitors_from", "visitorsfrom"), ("visitors_until", "visitorsuntil")):
        if page.text(name):
            site[key] = clock_24(page.text(name))
    if page.text("altitude"):
        figure, unit = _figure_and_unit(page.text("altitude"), "ft" if us else "m")
        key = f"altitude_{unit}"
        site[key] = typed(Field(key, "", "number"), figure)
    elif spot.altitude_m is not None:
        site["altitude_m"] = spot.altitude_m
    return site


def _cookers(page: FirstPage) -> list[Table]:
    cookers: list[Table] = []
    taken: set[str] = set()
    names = {k: str(c["name"]) for k, c in entries("cooker").items()}
    names |= {f"own:{k}": c.name for k, c in page.own.items()}
    for like, name in names.items():
        count = page.whole(f"count.{like}", name, COUNT_MOST)
        form = {f"{NEW}.like": like, f"{NEW}.count": str(count)}
        cookers += new_rows("cooker", form, taken, page.own) if count else []
    if not any(page.form.get(f"count.{k}", "").strip() not in ("", "0") for k in names):
        page.refuse("Cookers", "no-cooker-counted")
    for row in cookers:
        row["station"] = "yard"
    _short_names(cookers)
    return cookers


def _pots(page: FirstPage, guess: Mapping[str, int], *, us: bool) -> list[Table]:
    """Return the pots as they are counted; a field left empty means the guess that it shows."""
    rows: list[Table] = []
    for pot, entry in entries("pot").items():
        left = page.form.get(f"pot.{pot}", "0").strip() == ""
        count = guess[pot] if left else page.whole(f"pot.{pot}", str(entry["name"]), POTS_MOST)
        if count:
            name = name_in(entry, "us" if us else "metric")
            rows.append({"id": pot, "like": pot, "name": name, "count": count})
    if not rows and not page.faults:
        page.refuse("Pots", "no-pot-counted")
    return rows


def _meal(page: FirstPage, people: int) -> Table:
    start = clock_24(page.text("meal"))
    return {
        "id": "meal",
        "name": page.text("mealname"),
        "from": start,
        "until": clock_24(page.text("until")) or _hour_later(start),
        "portions": people,
        "waves": page.whole("sittings", "In so many sittings", SITTINGS_MOST, least=1),
    }


def _helpers(page: FirstPage) -> list[Table]:
    helpers: list[Table] = []
    taken: set[str] = set()
    start, end = clock_24(page.text("crewfrom")), clock_24(page.text("crewuntil"))
    for name in _names(page.text("helpers")):
        age = _AGE.search(name)
        young = age is not None and int(age[1] or age[2]) < ADULT_YEARS
        bare = name[: age.start()].strip() if age else name
        helper_id = new_id(bare, taken)
        taken.add(helper_id)
        may = [] if young else ["mirrors", "burner", "lift"]
        helpers.append({"id": helper_id, "name": bare, "from": start, "until": end})
        helpers[-1] |= {"may": may, "adult": not young}
    return helpers


def _names(text: str) -> list[str]:
    """Return the names in a list; a number alone means so many helpers without a name yet."""
    if text.isdecimal() and 0 < int(text) <= COUNT_MOST:
        return [f"Helper {n + 1}" for n in range(int(text))]
    return list(filter(None, map(str.strip, re.split(r"[,;\n]+", text))))


def _weather(page: FirstPage, today: date) -> Table:
    try:
        changes = cloud_of(page.text("sky"))
    except FaultyEvent as error:
        page.faults += error.faults
        return {}
    hours = [{"start": c.start, "cloud_pct": c.cloud_pct} for c in changes]
    if not hours:
        return {}
    ahead = days_between(today, page.text("date"))
    return {"source": f"in words: {page.text('sky')}", "days_ahead": ahead, "hours": hours}


def _short_names(cookers: list[Table]) -> None:
    """Call cookers out of the catalogue by what they are, numbered: pictures have little room."""
    kinds = [kind_of(str(r.get("like"))) for r in cookers]
    taken = {str(r["id"]) for r, kind in zip(cookers, kinds, strict=True) if not kind}
    for n, (row, kind) in enumerate(zip(cookers, kinds, strict=True)):
        if kind:
            name = kind_name(kind).capitalize()
            row["name"] = f"{name} {kinds[: n + 1].count(kind)}" if kinds.count(kind) > 1 else name
            row["id"] = new_id(str(row["name"]), taken)
            taken.add(str(row["id"]))


def _hour_later(clock: str) -> str:
    try:
        at = time.fromisoformat(clock)
    except ValueError:
        return clock
    return f"{min(at.hour + 1, 23):02d}:{at.minute:02d}"


def next_saturday(today: date) -> date:
    """Return the Saturday after a day: what a new event's date starts as."""
    return today + timedelta(days=(5 - today.weekday()) % 7 or 7)
