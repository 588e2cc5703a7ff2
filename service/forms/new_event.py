"""The first page of a new day, turned into an event's tables: every field has a sensible start."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, time, timedelta

from events.errors import WHOLE_FILE, FaultyEvent
from events.model import Cooker
from events.reading.catalogue import kind_of
from service.forms.event_form import NEW, POTS, POTS_FOR, Form, Table, new_id, new_rows
from service.forms.fields import Field, clock_24, typed
from service.text.cookers import kind_name

PLACE = re.compile(r"(-?\d{1,2}\.\d+)\s*[,;/ ]\s*(-?\d{1,3}\.\d+)")


def place_in(text: str) -> tuple[float, float]:
    """Return (latitude, longitude) found in coordinates or a pasted map link."""
    found = PLACE.search(text.replace("%2C", ",").replace("°", " "))
    if found is None:
        shown = f"“{text[:60]}”"
        fault = WHOLE_FILE.fault("where", shown, "has no coordinates", "Write them: -34.6, 19.0.")
        raise FaultyEvent("the page", [fault])
    return float(found[1]), float(found[2])


def first_event(
    form: Form, counts: Mapping[str, int], dishes: list[str], own: Mapping[str, Cooker]
) -> Table:
    """Return the tables of a new day from the first page: every field has a sensible start."""
    latitude, longitude = place_in(form.get("where", ""))
    people = form.get("people", "20").strip()
    portions = int(people) if people.isdigit() and int(people) > 0 else people
    meal = clock_24(form.get("meal", "12:30"))
    crowd = max(1, -(-portions // POTS_FOR)) if isinstance(portions, int) else 1
    cookers: list[Table] = []
    taken: set[str] = set()
    for like, count in counts.items():
        one = {f"{NEW}.like": like, f"{NEW}.count": str(count)}
        rows = new_rows("cooker", one, taken, own) if count else []
        for row in rows:
            row["station"] = "yard"
        cookers += rows
    _short_names(cookers)
    names = [n.strip() for n in re.split(r"[,\n]+", form.get("helpers", "")) if n.strip()]
    people_taken: set[str] = set()
    helpers: list[Table] = []
    for name in names or ["Helper 1", "Helper 2"]:
        helpers.append(
            {
                "id": new_id(name, people_taken),
                "name": name,
                "from": "08:00",
                "until": "17:00",
                "may": ["mirrors", "burner", "lift"],
            }
        )
        people_taken.add(str(helpers[-1]["id"]))
    return {
        "format": 1,
        "title": form.get("title", "").strip() or "A day in the sun",
        "date": form.get("date", ""),
        "units": form.get("units", "metric"),
        "clock_h": 12 if form.get("units") == "us" else 24,
        "site": {
            "name": form.get("place", "").strip() or "The site",
            **_altitude(form),
            "latitude_deg": latitude,
            "longitude_deg": longitude,
            "opens": "08:00",
            "closes": "17:00",
        },
        "station": [{"id": "yard", "name": "The yard"}],
        "cooker": cookers,
        "pot": [{"id": p, "like": p, "count": n * crowd} for p, n in POTS.items()],
        "meal": [
            {
                "id": "meal",
                "name": form.get("mealname", "").strip() or "Lunch",
                "from": meal,
                "until": _hour_later(meal),
                "portions": portions,
            }
        ],
        "dish": [{"id": d, "like": d, "meal": "meal", "portions": portions} for d in dishes],
        "helper": helpers,
    }


def _altitude(form: Form) -> Table:
    text = form.get("altitude", "").strip()
    key = "altitude_ft" if form.get("units") == "us" else "altitude_m"
    return {key: typed(Field(key, "", "number"), text)} if text else {}


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
