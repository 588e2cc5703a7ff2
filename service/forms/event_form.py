"""From what people type to an event: forms over an event file's tables, nothing typed is lost."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, time

from events.allergens import names_what_spoils
from events.contest import ENTRY_KEYS
from events.errors import FaultyEvent, Place
from events.model import Cooker, Event, Ingredient
from events.reading.catalogue import entries
from events.reading.event_file import read_table
from events.reading.recipes import from_ingredients, is_called_raw
from events.reading.schema import AS
from events.reading.write import event_table
from events.table import changed
from service.forms.contest_rows import bring_entries, draw_ticked, give_own
from service.forms.fields import Field, days_between, parts_shown, shown, typed
from service.forms.multiline import LINES, lines_of, typed_lines
from service.forms.pot_guess import baked_litres, guessed_pots, places_of
from service.forms.references import let_go, name_helpers, new_id
from service.forms.sky_table import NUMBER, typed_hours
from service.forms.sky_words import hours_of
from service.forms.table_fields import EVENT, LIKE, ROWS, SINGLES, SITE, TICKED
from service.forms.us_units import SPELLINGS, fields_of, in_units, size_key
from service.text.catalogue import name_in

Table = dict[str, object]
Form = Mapping[str, str]


ROW_KEYS = frozenset(f.key for f in ROWS["entry"])
NEW = "new"
NEWS = (NEW, *(f"{NEW}{n}" for n in range(1, 11)))  # rows that can be added at once
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
    return event_table(event)


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


def with_site(event: Event, form: Form, today: date | None = None) -> Table:
    """Return an event's tables with the site's and the event's own fields as typed.

    A sky that is typed was told today, unless its age is typed too.
    """
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
    _with_forecast(event, form, table, today)
    return table


def with_crew_hours(old: Event, new: Event) -> Event:
    """Return an event in which helpers whose hours were the crew's have the crew's new ones."""
    was, site = (old.site.opens, old.site.closes), new.site
    helpers = tuple(
        changed(h, start=site.opens, end=site.closes) if (h.start, h.end) == was else h
        for h in new.helpers
    )
    return changed(new, helpers=helpers) if (site.opens, site.closes) != was else new


def with_sky(event: Event, words: str, today: date) -> Table:
    """Return an event's tables with the sky as words have it today, and nothing else changed."""
    table = table_of(event)
    ahead = days_between(today, shown(table["date"]))
    table["weather"] = _in_words(event, words) | {"days_ahead": ahead}
    return table


def _in_words(event: Event, words: str) -> Table:
    return {"source": f"in words: {words}", "hours": hours_of(words, event)}


def _with_forecast(event: Event, form: Form, table: Table, today: date | None) -> None:
    """Put the forecast as typed by the hour or in words, and its age, into an event's tables."""
    hours = typed_hours(event, form)
    if hours is not None:  # what was not touched keeps its source and all its digits
        table["weather"] = {"source": "typed in by hand", "hours": hours} if hours else {}
    if words := form.get("sky_words", "").strip():
        table["weather"] = _in_words(event, words)
    weather = table.get("weather")
    if not isinstance(weather, dict) or not weather.get("hours"):
        return
    if form.get("days_ahead", "").strip() not in ("", str(event.weather.days_ahead)):
        weather["days_ahead"] = typed(NUMBER, form["days_ahead"])
    elif today is not None and (hours is not None or words):
        weather["days_ahead"] = days_between(today, shown(table["date"]))
    elif event.weather.hours:
        weather["days_ahead"] = event.weather.days_ahead


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
    gone, taken = set(old) - {str(r["id"]) for r in rows}, set(old)
    for new in NEWS:
        added = new_rows(kind, form, taken, own, event.units, new=new)
        rows += added
        if kind == "team":
            bring_entries(table, form, new, added, event.units)
    table[kind] = rows
    let_go(table, kind, gone)
    if kind == "cooker":
        _with_pots(event, table)
    elif kind == "station":
        draw_ticked(table, form, set(old))
    elif kind == "contest_cooker":
        give_own(table, old)
    elif kind == "group":
        name_helpers(event, rows, old)
    return table


def with_singles(event: Event, kinds: tuple[str, ...], form: Form) -> Table:
    """Return an event's tables with those as typed of which it has one of each."""
    table = table_of(event)
    for kind in kinds:
        held = table.get(kind, {})
        assert isinstance(held, dict)
        table[kind] = _filled(event, held, kind, form, name=kind)
    return table


def _stands(text: str, value: object, event: Event) -> bool:
    """Return whether a field's text is what was shown: then the value keeps all its digits."""
    return text.strip() == shown(value, event.clock_h)


def as_shown(event: Event, row: Table) -> Table:
    """Return a row as it stands in its fields: in the event's units, a helper by name."""
    out, adult = in_units(row, event.units), row.get("adult")
    if "raw_meat" in row:
        out["raw_meat"] = _raw_as_shown(row)
    if made_of := _ingredients(row):
        out["ingredients"] = parts_shown(made_of, "parts-oz" if event.units == "us" else "parts-g")
    if isinstance(adult, str):
        out["adult"] = next((h.name for h in event.helpers if h.id == adult), adult)
    return out


def _ingredients(row: Table) -> list[Ingredient]:
    """Return what a dish's row is made of, by itself or by its kind."""
    given = row.get("ingredients", entries("dish").get(str(row.get("like")), {}).get("ingredients"))
    return [Ingredient.model_validate(part) for part in given] if isinstance(given, list) else []


def _raw_as_shown(row: Table) -> str:
    """Return whether a dish is raw meat or fish; nothing where nobody would take it for that."""
    unsaid = {k: v for k, v in row.items() if k != "raw_meat"}
    taken_for_raw = is_called_raw(row) or from_ingredients(unsaid, Place(), []).get("raw_meat")
    return str(row["raw_meat"]) if row["raw_meat"] or taken_for_raw else ""


def _say_raw(row: Table, *, is_renamed: bool) -> None:
    """Let a dish that is called after meat or fish be raw, until somebody says that it is not.

    What is raw can spoil, and so can what a name says is in it, whatever its kind is taken for.
    """
    whole = {**entries("dish").get(str(row.get("like", "")), {}), **row}
    if "raw_meat" not in row and is_called_raw(whole):
        row["raw_meat"] = True
    spoils = is_renamed and whole.get("shape") != "baked" and names_what_spoils(str(row["name"]))
    if spoils or row.get("raw_meat") is True:
        row["hazardous"] = True


def _filled(event: Event, row: Table, kind: str, form: Form, name: str = "") -> Table:
    """Return a row with what was typed; what stands as it was shown keeps all its digits."""
    out, name = dict(row), name or str(row["id"])
    if f"{name}.id" not in form:
        return out  # this row was not on the page
    held = as_shown(event, row)
    for field in row_fields(kind, row, event.units):
        key = f"{name}.{field.key}"
        # A box that is not ticked is not sent: it counts only where the whole row was on the page.
        if key not in form and not (field.kind in TICKED and f"{name}.whole" in form):
            continue
        text = form.get(key, "")
        if field.kind in TICKED or not _stands(text, held.get(field.key), event):
            _put(out, field.key, typed(field, text))
    if out.get("ingredients") != row.get("ingredients") and out.get("portion_kg") == row.get(
        "portion_kg"
    ):
        out.pop("portion_kg", None)  # a portion is as large as what is in it now
    if kind == "entry" and out.get("like", row.get("like")) != row.get(
        "like"
    ):  # another dish: nothing of the one before is kept
        new = {k for k, v in out.items() if k in ROW_KEYS and v != row.get(k)}
        out = {k: v for k, v in out.items() if k in ENTRY_KEYS | new | {"portions"}}
    if f"{name}.raw_meat" in form:
        if not form[f"{name}.raw_meat"]:
            out.pop("raw_meat", None)
        _say_raw(out, is_renamed=out.get("name") != row.get("name"))
    return out


def new_rows(
    kind: str,
    form: Form,
    taken: set[str],
    own: Mapping[str, Cooker],
    units: str = "metric",
    *,
    new: str = NEW,
) -> list[Table]:
    """Return the rows that one of a form's empty rows adds: as many as it says."""
    like, name = form.get(f"{new}.like", ""), form.get(f"{new}.name", "").strip()
    if not name and not like:
        return []
    if not like and (kind in LIKE or kind in AS):
        raise FaultyEvent("the page", [Place(kind, id=new).fault("like", "", "missing")])
    count = _count(kind, form) if kind == "cooker" else 1  # of pots a row has a count of its own
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
            text = form.get(f"{new}.{field.key}", "")
            boxes = field.kind in TICKED and f"{new}.whole" in form  # unticked: no, not unsaid
            if field.key not in ("name", "like") and (text or boxes):
                row[field.key] = typed(field, text)
        if kind in ("dish", "entry"):
            _say_raw(row, is_renamed=True)
        rows.append(row)
    return rows


def added_rows(event: Event, kind: str, form: Form, own: Mapping[str, Cooker]) -> dict[str, str]:
    """Return which of a form's empty rows each row that it adds was typed in, by the row's id."""
    taken = {str(r["id"]) for r in rows_of(table_of(event), kind)}
    return {
        str(row["id"]): new
        for new in NEWS
        for row in new_rows(kind, form, taken, own, event.units, new=new)
    }


def _like_name(kind: str, like: str, units: str) -> str:
    return name_in(entries(AS.get(kind, kind)).get(like, {"name": like}), units)


def row_fields(kind: str, row: Table, units: str) -> tuple[Field, ...]:
    """Return the fields of a row as they are typed: a cooker has those in which it is sized."""
    fields = ROWS[kind] if kind in ROWS else SINGLES[kind]
    if kind in ("cooker", "contest_cooker"):
        others = {"diameter_m", "aperture_m2"} - {size_key(row)}
        fields = tuple(f for f in fields if f.key not in others)
    return fields_of(fields, units)


def _count(kind: str, form: Form) -> int:
    """Return how many rows are to be added; raises FaultyEvent for what is no such number."""
    text = form.get(f"{NEW}.count", "").strip() or "1"
    if text.isdecimal() and 0 < int(text) <= ADDED_MOST:
        return int(text)
    shown = f"“{text[:20]}”"
    fault = Place(kind, id=NEW).fault("count", shown, "whole-from-to", least=1, most=ADDED_MOST)
    raise FaultyEvent("the page", [fault])


def own_row(cooker: Cooker) -> Table:
    """Return one of the house's own cookers as a row of an event's file."""
    row = {k: v for k, v in cooker.model_dump(mode="json").items() if v is not None}
    row.pop("like", None)
    return row


def _with_pots(event: Event, table: Table) -> None:
    """See to it that there are pots at all: those that go with its cookers."""
    if not rows_of(table, "pot"):
        places = [places_of(row) for row in rows_of(table, "cooker")]
        guess = guessed_pots(places, baked_litres(event.dishes))
        table["pot"] = [{"id": p, "like": p, "count": n} for p, n in guess.items() if n]


def event_of(table: Table) -> Event:
    """Return the event that a file's tables make; raises FaultyEvent."""
    return read_table(table, source="the page")
