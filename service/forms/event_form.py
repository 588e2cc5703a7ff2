"""From what people type to an event: forms over an event file's tables, nothing typed is lost."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import time

from events.errors import FaultyEvent, Place
from events.model import Cooker, Event
from events.reading.catalogue import entries
from events.reading.event_file import read_table
from events.reading.write import write_event
from service.forms.fields import Field, shown, typed
from service.forms.multiline import LINES, lines_of, typed_lines
from service.forms.sky_table import NUMBER, typed_hours
from service.forms.sky_words import hours_of
from service.forms.us_units import SPELLINGS, fields_of, in_units, size_key
from service.text.catalogue import name_in

Table = dict[str, object]
Form = Mapping[str, str]


SITE = (
    Field("name", "Place"),
    Field("latitude_deg", "Latitude", "number", "degrees, south is minus"),
    Field("longitude_deg", "Longitude", "number", "degrees, west is minus"),
    Field("altitude_m", "Altitude, m", "number", "water boils cooler higher up"),
    Field("opens", "Crew from", "time", "may set up and load"),
    Field("closes", "Crew until", "time", "all packed"),
    Field("visitors_from", "Visitors from", "time", "if it is public"),
    Field("visitors_until", "Visitors until", "time"),
    Field("turbidity", "Haze", "number", "Linke turbidity: 2 very clear, 3 clear, 5 hazy"),
    Field("food_rules", "Food rules", "rules", "strictest, where you are not sure"),
    Field("emergency", "Emergency contact"),
    Field("fire_rules_read", "I have read the local fire rules for this date", "tick"),
)
EVENT = (
    Field("title", "Name of the event"),
    Field("date", "Date", "date"),
    Field("units", "Units", "units"),
    Field("wanted_margin_min", "Minutes wanted between ready and served", "number"),
    Field(
        "chance_pct",
        "Go ahead if at least so many of 100 likely skies work",
        "number",
        "otherwise cut dishes",
    ),
    Field(
        "gas_price_dishes_h",
        "An hour of gas must save so much of a dish",
        "number",
        "0: gas as it comes; 0.1: as usual; 10: only where the sun can't",
    ),
    Field(
        "gas_day_under_pct",
        "Switch to gas if fewer than this % of dishes can stay on the sun",
        "number",
    ),
    Field("vulnerable_guests", "Guests under five, old, ill or with child", "tick"),
)
ROWS: dict[str, tuple[Field, ...]] = {
    "cooker": (
        Field("name", "Name"),
        Field("station", "Where", "station"),
        Field("diameter_m", "Across, m", "number", "scales the typical figures"),
        Field("aperture_m2", "Opening, m²", "number", "scales the typical figures"),
        Field("litres", "Holds, L", "number"),
        Field("wind_limit_m_s", "Wind limit, m/s", "number", "the maker's or your own"),
        Field("opens", "From", "time"),
        Field("closes", "Until", "time"),
        Field("attended", "Always staffed", "tick"),
    ),
    "dish": (
        Field("name", "Name"),
        Field("meal", "Eaten at", "meal"),
        Field("portions", "Portions", "number"),
        Field("portion_kg", "Portion size (raw), kg", "number"),
        Field("thickness_mm", "Thickness of the largest piece, mm", "number"),
        Field("priority", "Priority", "number", "9 = most important"),
        Field("only_in", "Must go in", "cookers", "and nowhere else"),
        Field("load_at", "Load at", "time"),
        Field("not_in", "Keep out of", "cookers"),
        Field("kidney_beans", "Kidney beans", "kidney", "where there are beans in it"),
        Field("out_min", "Minutes out of the cold", "number", "before it is loaded"),
        Field("holding_max_min", "Held hot at most, min", "number"),
        Field("allergens", "Other allergens", "allergens", "beside those of its ingredients"),
        Field("also_contains", "Also contains", "phrases", "what no list of allergens has"),
        Field("allergens_checked", "Every label is read: nothing else is in it", "tick"),
    ),
    "meal": (
        Field("name", "Name"),
        Field("from", "From", "time"),
        Field("until", "Until", "time"),
        Field("portions", "Portions", "number"),
        Field("waves", "Groups", "number", "people come in this many groups"),
    ),
    "helper": (
        Field("name", "Name"),
        Field("from", "From", "time"),
        Field("until", "Until", "time"),
        Field("may", "Can do", "abilities"),
        Field("adult", "Adult (under 18: light jobs only, beside an adult)", "tick"),
    ),
    "talk": (
        Field("name", "Name"),
        Field("at", "At", "time", "leave it empty and the plan chooses the time"),
        Field("minutes", "Minutes", "number"),
        Field("speaker", "Speaker", "helper"),
        Field("dish", "Shows", "dish"),
        Field("stage", "At the stage", "stage", "at a fixed time"),
        Field("from", "Not before", "time", "where the plan chooses"),
        Field("until", "Over by", "time", "where the plan chooses"),
        Field("times", "How often", "number", "where the plan chooses"),
        Field("apart_min", "Minutes apart", "number", "from one’s end to the next"),
        Field("speakers", "Any of these may speak", "speakers", "where the plan chooses"),
        Field("moment", "To be seen", "moment", "where the plan chooses"),
        Field("cooker", "At which cooker", "cooker", "where the plan chooses"),
        Field("chance_pct", "Seen in at least, of 100", "number", "empty: as the event asks"),
    ),
    "station": (
        Field("name", "Name"),
        Field("x_m", "East, m", "number", "of the middle of the place"),
        Field("y_m", "North, m", "number"),
    ),
    "pot": (
        Field("name", "Name"),
        Field("count", "How many", "number"),
        Field("litres", "Holds, L", "number"),
        Field("mass_kg", "Empty, it weighs, kg", "number"),
    ),
}
TICKED = ("tick", "abilities", "allergens", "speakers")
LIKE = ("cooker", "dish", "pot")
NEW = "new"
ADDED_MOST = 20


def _put(row: Table, key: str, value: object) -> None:
    """Put what was typed into a row; its other spellings go: of another unit, of an opening."""
    for other in SPELLINGS.get(key, ()):
        row.pop(other, None)
    if value == "" or (value == [] and key != "may"):  # who may nothing is asked for nothing
        row.pop(key, None)
    else:
        row[key] = value


def table_of(event: Event) -> Table:
    """Return an event as its file's tables."""
    return tomllib.loads(write_event(event))


def rows_of(table: Table, kind: str) -> list[Table]:
    """Return the rows of one kind in a file's tables."""
    rows = table.get(kind, [])
    return rows if isinstance(rows, list) else []


def _end_follows(old: Table, new: Table) -> None:
    """Move a meal's end with its beginning, where only the beginning was typed anew."""
    try:
        was, until, now = (
            time.fromisoformat(shown(v)) for v in (old["from"], old["until"], new["from"])
        )
    except (KeyError, ValueError):
        return
    if shown(new.get("until")) == shown(old["until"]) and now != was:
        minutes = 60 * (now.hour - was.hour + until.hour) + now.minute - was.minute + until.minute
        if minutes < 24 * 60:
            new["until"] = f"{minutes // 60:02d}:{minutes % 60:02d}"


def with_site(event: Event, form: Form) -> Table:
    """Return an event's tables with the site's and the event's own fields as typed."""
    table = table_of(event)
    site = table["site"]
    assert isinstance(site, dict)
    moved = False
    as_shown = in_units(site, event.units)
    for field in fields_of(SITE, event.units):
        if field.kind == "tick":
            site[field.key] = form.get(field.key) == "on"
        elif field.key in form and not _stands(form[field.key], as_shown.get(field.key), event):
            moved = moved or field.key in ("latitude_deg", "longitude_deg")
            _put(site, field.key, typed(field, form[field.key]))
    if moved:
        site.pop("timezone", None)  # found anew from the coordinates
    for field in EVENT:
        if field.kind == "tick":
            table[field.key] = form.get(field.key) == "on"
        elif form.get(field.key, "") and not _stands(form[field.key], table.get(field.key), event):
            table[field.key] = typed(field, form[field.key])
    lines = lines_of(site, event.units)
    for key, columns in LINES.items():
        if key in form and form[key].strip().splitlines() != lines[key].splitlines():
            rows = typed_lines(form[key], columns, event.units)
            pairs: list[object] = [list(r.values()) for r in rows]
            site[key] = pairs if key == "skyline" else rows
    _with_forecast(event, form, table)
    return table


def _with_forecast(event: Event, form: Form, table: Table) -> None:
    """Put the forecast as typed by the hour or in words, and its age, into an event's tables."""
    hours = typed_hours(event, form)
    if hours is not None:  # what was not touched keeps its source and all its digits
        table["weather"] = {"source": "typed in by hand", "hours": hours} if hours else {}
    if words := form.get("sky_words", "").strip():
        table["weather"] = {"source": f"in words: {words}", "hours": hours_of(words, event)}
    weather = table.get("weather")
    if "days_ahead" in form and isinstance(weather, dict) and weather.get("hours"):
        weather["days_ahead"] = typed(NUMBER, form["days_ahead"])


def with_rows(event: Event, kind: str, form: Form, own: Mapping[str, Cooker]) -> Table:
    """Return an event's tables with the rows of one kind as typed; a new row where one is named."""
    table = table_of(event)
    old = {str(r["id"]): r for r in rows_of(table, kind)}
    rows: list[Table] = []
    for name, row in old.items():
        if form.get(f"{name}.drop") == "on":
            continue
        rows.append(_filled(event, row, kind, form))
        if kind == "meal":
            _end_follows(row, rows[-1])
    gone = set(old) - {str(r["id"]) for r in rows}
    rows += new_rows(kind, form, set(old), own, event.units)
    table[kind] = rows
    _let_go(table, kind, gone)
    if kind == "cooker":
        _with_pots(table)
    return table


def _stands(text: str, value: object, event: Event) -> bool:
    """Return whether a field's text is what was shown: then the value keeps all its digits."""
    return text.strip() == shown(value, event.clock_h)


def _let_go(table: Table, kind: str, gone: set[str]) -> None:
    """Take what is left out of the places that named it."""
    for talk in rows_of(table, "talk"):
        if kind == "helper" and talk.get("speaker") in gone:
            talk.pop("speaker")
        speakers = talk.get("speakers")
        if kind == "helper" and isinstance(speakers, list):
            talk["speakers"] = [s for s in speakers if s not in gone]
        if kind == "cooker" and talk.get("cooker") in gone:
            talk.pop("cooker")
        if kind == "dish" and talk.get("dish") in gone:
            talk.pop("dish")
            talk.pop("stage", None)
    for dish in rows_of(table, "dish") if kind == "cooker" else []:
        for key in ("only_in", "not_in"):
            cooker_ids = dish.get(key)
            if isinstance(cooker_ids, list):
                dish[key] = [c for c in cooker_ids if c not in gone]


def _filled(event: Event, row: Table, kind: str, form: Form) -> Table:
    """Return a row with what was typed; what stands as it was shown keeps all its digits."""
    out, name = dict(row), str(row["id"])
    if f"{name}.id" not in form:
        return out  # this row was not on the page
    as_shown = in_units(row, event.units)
    for field in row_fields(kind, row, event.units):
        key = f"{name}.{field.key}"
        # A box that is not ticked is not sent: it counts only where the whole row was on the page.
        if key not in form and not (field.kind in TICKED and f"{name}.whole" in form):
            continue
        text = form.get(key, "")
        if field.kind in TICKED or not _stands(text, as_shown.get(field.key), event):
            _put(out, field.key, typed(field, text))
    return out


def new_rows(
    kind: str, form: Form, taken: set[str], own: Mapping[str, Cooker], units: str = "metric"
) -> list[Table]:
    """Return the rows that a form's last, empty fields add: as many as it says."""
    like, name = form.get(f"{NEW}.like", ""), form.get(f"{NEW}.name", "").strip()
    if not name and not like:
        return []
    count = _count(kind, form)
    rows: list[Table] = []
    for n in range(count):
        row: Table = {}
        if like.startswith("own:"):
            row = own_row(own[like.removeprefix("own:")])
        elif like:
            row = {"like": like}
        base = name or str(row.get("name") or _like_name(kind, like, units))
        row["name"] = f"{base} {n + 1}" if count > 1 else base
        row["id"] = new_id(str(row["name"]), taken)
        taken.add(str(row["id"]))
        for field in fields_of(ROWS[kind], units):
            text = form.get(f"{NEW}.{field.key}", "")
            boxes = field.kind in TICKED and f"{NEW}.whole" in form  # unticked: no, not unsaid
            if field.key != "name" and (text or boxes):
                row[field.key] = typed(field, text)
        rows.append(row)
    return rows


def _like_name(kind: str, like: str, units: str) -> str:
    return name_in(entries(kind).get(like, {"name": like}), units)


def row_fields(kind: str, row: Table, units: str) -> tuple[Field, ...]:
    """Return the fields of a row as they are typed: a cooker has those in which it is sized."""
    fields = ROWS[kind]
    if kind == "cooker":
        others = {"diameter_m", "aperture_m2"} - {size_key(row)}
        fields = tuple(f for f in fields if f.key not in others)
    return fields_of(fields, units)


def _count(kind: str, form: Form) -> int:
    """Return how many rows are to be added; raises FaultyEvent for what is no such number."""
    text = form.get(f"{NEW}.count", "").strip() or "1"
    if text.isdecimal() and 0 < int(text) <= ADDED_MOST:
        return int(text)
    shown = f"“{text[:20]}”"
    fault = Place(kind).fault("count", shown, "whole-from-to", least=1, most=ADDED_MOST)
    raise FaultyEvent("the page", [fault])


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


# For every 25 people. Common practice, no published source: shown, and to be changed.
POTS_SUGGESTED = {"pot-3l": 4, "pot-5l": 4, "pot-8l": 3, "pot-12l": 2, "loaf-tin": 4, "pot-1l": 2}


def _with_pots(table: Table) -> None:
    """See to it that there are pots at all: the usual ones, in usual numbers."""
    if not rows_of(table, "pot"):
        table["pot"] = [{"id": p, "like": p, "count": n} for p, n in POTS_SUGGESTED.items()]


def event_of(table: Table) -> Event:
    """Return the event that a file's tables make; raises FaultyEvent."""
    return read_table(table, source="the page")
