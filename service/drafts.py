"""From what people type to an event: forms over an event file's tables, nothing typed is lost."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time, timedelta

import tomlkit
from pydantic import ValidationError

from events.catalogue import entries
from events.errors import Fault, FaultyEvent
from events.files import read_table, write_event
from events.model import Cooker, Event

Table = dict[str, object]
Form = Mapping[str, str]


@dataclass(frozen=True)
class Field:
    """One thing to type: its key in the file, what it is called, how it is typed, a hint."""

    key: str
    label: str
    kind: str = "text"  # text, number, time, date, tick, words, or the name of a list of choices
    hint: str = ""


SITE = (
    Field("name", "Place"),
    Field("latitude_deg", "Latitude", "number", "degrees, south is minus"),
    Field("longitude_deg", "Longitude", "number", "degrees, west is minus"),
    Field("altitude_m", "Altitude, m", "number", "it lowers the boil"),
    Field("opens", "Opens", "time"),
    Field("closes", "Closes", "time"),
    Field("turbidity", "Haze", "number", "Linke turbidity: 2 very clear, 3 clear, 5 hazy"),
    Field("food_rules", "Food rules", "rules", "strictest, where you are not sure"),
    Field("emergency", "Who is called"),
    Field("fire_rules_read", "Local fire rules for this date are read", "tick"),
)
EVENT = (
    Field("title", "Name of the day"),
    Field("date", "Date", "date"),
    Field("units", "Units", "units"),
    Field("wanted_margin_min", "Minutes to spare wanted", "number"),
    Field("chance_pct", "Go at so many of 100 skies", "number"),
    Field("gas_day_under_pct", "Gas day under so many of 100 dishes", "number"),
)
ROWS: dict[str, tuple[Field, ...]] = {
    "cooker": (
        Field("name", "Name"),
        Field("station", "Where", "station"),
        Field("aperture_m2", "Opening, m²", "number", "scales the typical figures"),
        Field("wind_limit_m_s", "Wind limit, m/s", "number", "the maker's or your own"),
        Field("opens", "From", "time"),
        Field("closes", "Until", "time"),
        Field("attended", "Somebody stays at it", "tick"),
    ),
    "dish": (
        Field("name", "Name"),
        Field("meal", "Eaten at", "meal"),
        Field("portions", "Portions", "number"),
        Field("portion_kg", "One portion, kg", "number"),
        Field("thickness_mm", "Thickest part, mm", "number"),
        Field("priority", "Priority", "number", "9 is given up last"),
        Field("only_in", "Hold in", "cookers", "nowhere else"),
        Field("load_at", "Hold at", "time", "loaded then"),
        Field("not_in", "Keep out of", "cookers"),
    ),
    "meal": (
        Field("name", "Name"),
        Field("from", "From", "time"),
        Field("until", "Until", "time"),
        Field("portions", "Portions", "number"),
        Field("waves", "In waves", "number", "people come in so many goes"),
    ),
    "helper": (
        Field("name", "Name"),
        Field("from", "From", "time"),
        Field("until", "Until", "time"),
        Field("may", "May work", "words", "mirrors, burner, lift"),
        Field("adult", "Adult", "tick"),
    ),
    "talk": (
        Field("name", "Name"),
        Field("at", "At", "time"),
        Field("minutes", "Minutes", "number"),
        Field("speaker", "Speaker", "helper"),
        Field("dish", "Shows", "dish"),
        Field("stage", "At the stage", "stage"),
    ),
    "station": (
        Field("name", "Name"),
        Field("x_m", "East, m", "number"),
        Field("y_m", "North, m", "number"),
    ),
    "pot": (Field("name", "Name"), Field("count", "How many", "number")),
}
LIKE = ("cooker", "dish", "pot")
NEW = "new"


def table_of(event: Event) -> Table:
    """Return an event as its file's tables."""
    return tomllib.loads(write_event(event))


def rows_of(table: Table, kind: str) -> list[Table]:
    """Return the rows of one kind in a file's tables."""
    rows = table.get(kind, [])
    return rows if isinstance(rows, list) else []


def shown(value: object) -> str:
    """Return a value as it stands in a field."""
    if value is None or value is False:
        return ""
    if isinstance(value, time):
        return f"{value:%H:%M}"
    if isinstance(value, list):
        return ", ".join(str(v) for v in value)
    if isinstance(value, float):
        return f"{value:g}"
    return str(value)


def typed(field: Field, text: str) -> object:
    """Return what a field's text means; what can't be read stays text, to be named as a fault."""
    text = text.strip()
    if field.kind == "tick":
        return text == "on"
    if field.kind in ("words", "cookers"):
        return [w for w in re.split(r"[,\s]+", text) if w]
    if field.kind == "number":
        try:
            number = float(text.replace(",", "."))
        except ValueError:
            return text
        return int(number) if number.is_integer() else number
    return text


def with_site(event: Event, form: Form) -> Table:
    """Return an event's tables with the site's and the event's own fields as typed."""
    table = table_of(event)
    site = table["site"]
    assert isinstance(site, dict)
    moved = False
    for field in SITE:
        if field.kind == "tick":
            site[field.key] = form.get(field.key) == "on"
        elif field.key in form:
            value = typed(field, form[field.key])
            if field.key in ("latitude_deg", "longitude_deg") and value != site.get(field.key):
                moved = True
            if value == "":
                site.pop(field.key, None)
            else:
                site[field.key] = value
    if moved:
        site.pop("timezone", None)  # found anew from the coordinates
    for field in EVENT:
        if form.get(field.key, "") != "":
            table[field.key] = typed(field, form[field.key])
    if "skyline" in form:
        site["skyline"] = _skyline(form["skyline"])
    return table


def _skyline(text: str) -> list[list[object]]:
    """Return pairs of compass direction and height from lines of two numbers."""
    out: list[list[object]] = []
    for line in text.splitlines():
        parts = re.split(r"[,;\s]+", line.strip())
        if len(parts) == 2:
            out.append([typed(Field("", "", "number"), p) for p in parts])
        elif line.strip():
            out.append([line.strip(), ""])
    return out


def with_rows(event: Event, kind: str, form: Form, own: Mapping[str, Cooker]) -> Table:
    """Return an event's tables with the rows of one kind as typed; a new row where one is named."""
    table = table_of(event)
    old = {str(r["id"]): r for r in rows_of(table, kind)}
    rows: list[Table] = []
    for name, row in old.items():
        if form.get(f"{name}.drop") == "on":
            continue
        rows.append(_filled(row, kind, name, form))
    gone = set(old) - {str(r["id"]) for r in rows}
    rows += _new_rows(kind, form, set(old), own)
    table[kind] = rows
    _let_go(table, kind, gone)
    if kind == "cooker":
        _with_pots(table, rows)
    return table


def _let_go(table: Table, kind: str, gone: set[str]) -> None:
    """Take what is left out of the places that named it."""
    for talk in rows_of(table, "talk"):
        if kind == "helper" and talk.get("speaker") in gone:
            talk.pop("speaker")
        if kind == "dish" and talk.get("dish") in gone:
            talk.pop("dish")
            talk.pop("stage", None)
    for dish in rows_of(table, "dish") if kind == "cooker" else []:
        for key in ("only_in", "not_in"):
            held = dish.get(key)
            if isinstance(held, list):
                dish[key] = [c for c in held if c not in gone]


def _filled(row: Table, kind: str, name: str, form: Form) -> Table:
    out = dict(row)
    if f"{name}.id" not in form:
        return out  # this row was not on the page
    for field in ROWS[kind]:
        key = f"{name}.{field.key}"
        if field.kind == "tick":
            out[field.key] = form.get(key) == "on"
        elif key in form:
            value = typed(field, form[key])
            if value in ("", []):
                out.pop(field.key, None)
            else:
                out[field.key] = value
    return out


def _new_rows(kind: str, form: Form, taken: set[str], own: Mapping[str, Cooker]) -> list[Table]:
    like, name = form.get(f"{NEW}.like", ""), form.get(f"{NEW}.name", "").strip()
    if not name and not like:
        return []
    count = form.get(f"{NEW}.count", "1") or "1"
    rows: list[Table] = []
    for n in range(int(count) if count.isdigit() and 0 < int(count) <= 20 else 1):
        row: Table = {}
        if like.startswith("own:"):
            row = own_row(own[like.removeprefix("own:")])
        elif like:
            row = {"like": like}
        base = name or str(row.get("name") or entries(kind).get(like, {}).get("name", like))
        row["name"] = f"{base} {n + 1}" if int(count or 1) > 1 else base
        row["id"] = new_id(str(row["name"]), taken)
        taken.add(str(row["id"]))
        for field in ROWS[kind]:
            text = form.get(f"{NEW}.{field.key}", "")
            if field.key != "name" and text:
                row[field.key] = typed(field, text)
        rows.append(row)
    return rows


def own_row(cooker: Cooker) -> Table:
    """Return one of the house's own cookers as a row of an event's file."""
    row = {k: v for k, v in cooker.model_dump(mode="json").items() if v is not None}
    row.pop("like", None)
    return row


def new_id(name: str, taken: set[str]) -> str:
    """Return an id made of a name that none of its kind has yet."""
    words = "".join(c if c.isascii() and c.isalnum() else "-" for c in name.lower())
    stem = "-".join(w for w in words.split("-") if w)[:34].strip("-") or "one"
    if stem not in taken:
        return stem
    return next(f"{stem}-{n}" for n in range(2, 500) if f"{stem}-{n}" not in taken)


POTS_FOR = 25  # people
POTS = {"pot-3l": 4, "pot-5l": 4, "pot-8l": 3, "pot-12l": 2, "loaf-tin": 4, "pot-1l": 2}


def _with_pots(table: Table, _cookers: list[Table]) -> None:
    """See to it that there are pots at all: the usual ones, in usual numbers."""
    if not rows_of(table, "pot"):
        table["pot"] = [{"id": p, "like": p, "count": n} for p, n in POTS.items()]


def event_of(table: Table) -> Event:
    """Return the event that a file's tables make; raises FaultyEvent."""
    return read_table(table, source="the page")


PLACE = re.compile(r"(-?\d{1,2}\.\d+)\s*[,;/ ]\s*(-?\d{1,3}\.\d+)")


def place_in(text: str) -> tuple[float, float]:
    """Return (latitude, longitude) found in coordinates or a pasted map link."""
    found = PLACE.search(text.replace("%2C", ",").replace("°", " "))
    if found is None:
        fault = Fault(
            "", "where", f"“{text[:60]}”", "has no coordinates", "Write them: -34.6, 19.0."
        )
        raise FaultyEvent("the page", [fault])
    return float(found[1]), float(found[2])


def first_event(
    form: Form, counts: Mapping[str, int], dishes: list[str], own: Mapping[str, Cooker]
) -> Table:
    """Return the tables of a new day from the first page: every field has a sensible start."""
    latitude, longitude = place_in(form.get("where", ""))
    people = form.get("people", "20").strip()
    portions = int(people) if people.isdigit() and int(people) > 0 else people
    meal = form.get("meal", "12:30")
    crowd = max(1, -(-portions // POTS_FOR)) if isinstance(portions, int) else 1
    cookers: list[Table] = []
    taken: set[str] = set()
    for like, count in counts.items():
        one = {f"{NEW}.like": like, f"{NEW}.count": str(count)}
        rows = _new_rows("cooker", one, taken, own) if count else []
        for row in rows:
            row["station"] = "yard"
        cookers += rows
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


def _hour_later(clock: str) -> str:
    try:
        at = time.fromisoformat(clock)
    except ValueError:
        return clock
    return f"{min(at.hour + 1, 23):02d}:{at.minute:02d}"


def next_saturday(today: date) -> date:
    """Return the Saturday after a day: what a new event's date starts as."""
    return today + timedelta(days=(5 - today.weekday()) % 7 or 7)


def own_text(cookers: list[Cooker]) -> str:
    """Return cookers as the [[cooker]] tables of a file."""
    return tomlkit.dumps({"cooker": [own_row(c) for c in cookers]})


def own_from(text: str) -> list[Cooker]:
    """Return the cookers of a file's [[cooker]] tables; raises FaultyEvent with every fault."""
    try:
        rows = rows_of(tomllib.loads(text), "cooker")
    except tomllib.TOMLDecodeError as error:
        fault = Fault("", "", "", f"is not TOML: {error}", "Take the file as it was written.")
        raise FaultyEvent("the file", [fault]) from None
    out, faults = [], []
    for n, row in enumerate(rows, 1):
        try:
            out.append(Cooker.model_validate(row))
        except ValidationError as error:
            where = f"[[cooker]] {n} ({row.get('id', '')})"
            faults += [
                Fault(where, ".".join(map(str, e["loc"])), repr(e["input"])[:60], e["msg"], "")
                for e in error.errors()
            ]
    if not rows:
        faults.append(Fault("", "cooker", "", "none is in it", "Take the file as it was written."))
    if faults:
        raise FaultyEvent("the file", faults)
    return out
