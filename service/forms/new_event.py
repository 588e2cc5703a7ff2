"""The first page of a new day, turned into an event's tables: every field has a sensible start."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, time, timedelta

from events.model import Cooker
from events.reading.catalogue import kind_of
from service.forms.coordinates import place_in
from service.forms.event_form import NEW, POTS, POTS_FOR, Form, Table, new_id, new_rows
from service.forms.fields import Field, clock_24, typed
from service.text.cookers import kind_name

OPENS, CLOSES = "08:00", "17:00"


def first_event(
    form: Form, counts: Mapping[str, int], dishes: list[str], own: Mapping[str, Cooker]
) -> Table:
    """Return the tables of a new day from the first page: every field has a sensible start."""
    people = form.get("people", "20").strip()
    portions = int(people) if people.isdigit() and int(people) > 0 else people
    crowd = max(1, -(-portions // POTS_FOR)) if isinstance(portions, int) else 1
    return {
        "format": 1,
        "title": form.get("title", "").strip() or "A day in the sun",
        "date": form.get("date", ""),
        "units": form.get("units", "metric"),
        "clock_h": 12 if form.get("units") == "us" else 24,
        "site": _site(form),
        "station": [{"id": "yard", "name": "The yard"}],
        "cooker": _cookers(counts, own),
        "pot": [{"id": p, "like": p, "count": n * crowd} for p, n in POTS.items()],
        "meal": [_meal(form, portions)],
        "dish": [{"id": d, "like": d, "meal": "meal", "portions": portions} for d in dishes],
        "helper": _helpers(form),
    }


def _site(form: Form) -> Table:
    place = place_in(form.get("where", ""))
    return {
        "name": form.get("place", "").strip() or "The site",
        **_altitude(form),
        "latitude_deg": place.latitude_deg,
        "longitude_deg": place.longitude_deg,
        "opens": OPENS,
        "closes": CLOSES,
    }


def _cookers(counts: Mapping[str, int], own: Mapping[str, Cooker]) -> list[Table]:
    cookers: list[Table] = []
    taken: set[str] = set()
    for like, count in counts.items():
        form = {f"{NEW}.like": like, f"{NEW}.count": str(count)}
        cookers += new_rows("cooker", form, taken, own) if count else []
    for row in cookers:
        row["station"] = "yard"
    _short_names(cookers)
    return cookers


def _meal(form: Form, portions: int | str) -> Table:
    start = clock_24(form.get("meal", "12:30"))
    return {
        "id": "meal",
        "name": form.get("mealname", "").strip() or "Lunch",
        "from": start,
        "until": _hour_later(start),
        "portions": portions,
    }


def _helpers(form: Form) -> list[Table]:
    names = [n.strip() for n in re.split(r"[,\n]+", form.get("helpers", "")) if n.strip()]
    helpers: list[Table] = []
    taken: set[str] = set()
    for name in names or ["Helper 1", "Helper 2"]:
        helper_id = new_id(name, taken)
        taken.add(helper_id)
        may = ["mirrors", "burner", "lift"]
        helpers.append({"id": helper_id, "name": name, "from": OPENS, "until": CLOSES, "may": may})
    return helpers


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
