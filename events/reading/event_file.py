"""Event files (TOML) read; every fault is collected with its place, value and limit."""

from __future__ import annotations

import json
import re
import tomllib
from datetime import date, time
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

from pydantic import BaseModel, ValidationError

from events import model
from events.contest import ENTRY_KEYS, TASTING
from events.errors import NOT_UTF8, SITE, WEATHER, WHOLE_FILE, Fault, FaultyEvent, Place
from events.reading.catalogue import entries, resolve
from events.reading.cooker_facts import to_parameters, with_opening
from events.reading.food_safety import food_faults
from events.reading.forecast_file import weather_from
from events.reading.limits import (
    Faults,
    TooManyFaults,
    oversize,
    oversize_json,
)
from events.reading.model_faults import faults_of, nearest, short, unknown_key
from events.reading.old_spellings import modern
from events.reading.recipes import from_ingredients, with_allergens
from events.reading.schema import AS, HOURS, LISTS, ROWS_MOST, SINGLE
from events.reading.site_facts import skyline_from, with_turbidity
from events.reading.units import to_metric
from events.reading.validation import validate
from events.site import Site, Weather
from events.table import RawTable


def read_event(
    text: str, *, source: str = "event.toml", base: Path | None = None, stored: bool = False
) -> model.Event:
    """Return the event in a file's text; raises FaultyEvent with every fault at once.

    `base` is the folder from which the file may name others (a skyline, a forecast). A `stored`
    file was read before: where food rules have become stricter since, it can still be looked at,
    and whoever plans it or changes it is given the faults.
    """
    return read_table(read_toml(text, source=source), source=source, base=base, stored=stored)


def read_json(text: str, *, source: str) -> model.Event:
    """Return the event in the text of a file's tables as JSON; raises FaultyEvent."""

    too_large = oversize_json(text)
    if too_large is not None:
        raise FaultyEvent(source, [too_large])
    try:
        table = json.loads(text)
    except (ValueError, RecursionError) as error:
        fault = WHOLE_FILE.fault("", "", "not-json", why=str(error))
        raise FaultyEvent(source, [fault]) from None
    if not isinstance(table, dict):
        raise FaultyEvent(source, [WHOLE_FILE.fault("", "", "not-json-object")])
    return read_table(table, source=source)


def read_table(
    raw: RawTable, *, source: str, base: Path | None = None, stored: bool = False
) -> model.Event:
    """Return the event in a file's tables (as JSON has them); raises FaultyEvent."""
    faults, event = Faults(), None
    try:
        event = _build(raw, base, faults)
        if event is not None and not faults:
            faults += [*validate(event), *(() if stored else food_faults(event))]
    except TooManyFaults:
        pass  # these are enough to mend at once
    if faults or event is None:
        units, clock_h = raw.get("units"), raw.get("clock_h")
        raise FaultyEvent(
            source,
            faults,
            units="us" if units == "us" else "metric",
            clock_h=12 if clock_h == 12 else 24,
        )
    return event


def load_event(path: Path) -> model.Event:
    """Return the event in a file; raises FaultyEvent where it can't be read as UTF-8 text."""
    try:
        data = path.read_bytes()
        return read_event(data.decode("utf-8"), source=str(path), base=path.parent)
    except UnicodeDecodeError:
        fault = NOT_UTF8
    except OSError as error:
        fault = WHOLE_FILE.fault("", "", "no-such-path", why=str(error.strerror or error))
    raise FaultyEvent(str(path), [fault])


def read_toml(text: str, *, source: str) -> RawTable:
    """Return the tables of a file's text; raises FaultyEvent where it is too large or no TOML."""
    if not text.strip():
        raise FaultyEvent(source, [WHOLE_FILE.fault("", "", "empty-file")])
    too_large = oversize(text)
    if too_large is not None:
        raise FaultyEvent(source, [too_large])
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        fault = WHOLE_FILE.fault("", "", "not-toml", why=str(error))
        raise FaultyEvent(source, [fault]) from None


def _build(raw: RawTable, base: Path | None, faults: list[Fault]) -> model.Event | None:
    known = {*model.EventHead.model_fields, "site", "weather", *SINGLE, *LISTS}
    for key in raw.keys() - known:
        faults.append(unknown_key(WHOLE_FILE, key, known))
    top: RawTable = {k: raw[k] for k in model.EventHead.model_fields if k in raw}
    if isinstance(top.get("date"), str):
        top["date"] = _date(str(top["date"]), faults)
    site = top["site"] = _site(raw, top.get("date"), base, faults)
    weather = _weather(raw.get("weather", {}), top.get("date"), site, base, faults)
    top["weather"] = _checked(Weather, weather, WEATHER, faults)
    for key, single in SINGLE.items():
        if key in raw:
            top[key] = _single(key, single, raw[key], faults)
    for key, (field, kind) in LISTS.items():
        top[field] = _rows(key, kind, raw.get(key, []), base, faults)
    if faults:
        # Tables that failed are left out, so only the event's own keys are looked at here.
        own = {k: top[k] for k in model.EventHead.model_fields if k in top}
        _checked(model.EventHead, own, WHOLE_FILE, faults)
        return None
    event = _checked(model.Event, top, WHOLE_FILE, faults)
    return event if isinstance(event, model.Event) else None


def _site(raw: RawTable, day: object, base: Path | None, faults: list[Fault]) -> BaseModel | None:
    given = raw.get("site")
    if not isinstance(given, dict):
        faults.append(SITE.fault("", "", "no-site"))
        return None
    site = with_turbidity(to_metric(dict(given), SITE, faults), day, faults)
    site = _with_skyline(site, SITE, base, faults)
    site.setdefault("name", "The site")
    if "timezone" not in site:
        site["timezone"] = zone_at(site.get("latitude_deg"), site.get("longitude_deg"))
    elif str(site["timezone"]) not in _zones():
        near = nearest(str(site["timezone"]), _zones())
        faults.append(SITE.fault("timezone", repr(site["timezone"]), "no-such-zone", near=near))
    return _checked(Site, site, SITE, faults)


@cache
def _zones() -> frozenset[str]:
    """Return the zones there are: listing them walks a folder of files."""
    return frozenset(available_timezones())


def zone_at(latitude: object, longitude: object) -> str:
    """Return the zone at coordinates; UTC where they are no coordinates (faulted elsewhere)."""
    if not (isinstance(latitude, (int, float)) and isinstance(longitude, (int, float))):
        return "UTC"
    if not (abs(latitude) <= 90 and abs(longitude) <= 180):
        return "UTC"
    from tzfpy import get_tz  # noqa: PLC0415  57 MB of shapes, for who asks

    name = get_tz(float(longitude), float(latitude))
    return name if name in _zones() else "UTC"


def _with_skyline(
    table: RawTable, place: Place, base: Path | None, faults: list[Fault]
) -> RawTable:
    """Read the skyline from the CSV it names: azimuth_deg,elevation_deg, clockwise from north."""
    name = table.get("skyline")
    if not isinstance(name, str):
        return table
    text = _beside(name, place, "skyline", base, faults)
    return {**table, "skyline": skyline_from(text, name, faults) if text is not None else ()}


def _beside(
    name: str, place: Place, key: str, base: Path | None, faults: list[Fault]
) -> str | None:
    if base is None:
        faults.append(place.fault(key, repr(name), "no-folder"))
        return None
    try:
        return (base / name).read_text(encoding="utf-8")
    except (OSError, ValueError) as error:
        faults.append(place.fault(key, repr(name), "unreadable-file", why=str(error)))
        return None


def _weather(
    weather: object, day: object, site: object, base: Path | None, faults: list[Fault]
) -> object:
    """Return the weather table, its hours from the file it names."""
    if not isinstance(weather, dict) or not isinstance(weather.get("file"), str):
        return _hours(weather)
    name = str(weather["file"])
    text = _beside(name, WEATHER, "file", base, faults)
    if text is None or not isinstance(day, date) or not isinstance(site, Site):
        return {}
    try:
        return weather_from(
            text, source=str(weather.get("source", name)), day=day, zone=ZoneInfo(site.timezone)
        )
    except FaultyEvent as error:
        faults += error.faults
        return {}


def _hours(weather: object) -> object:
    if not isinstance(weather, dict) or not isinstance(weather.get("hours"), list):
        return weather
    hours = [
        to_metric(_renamed(h), WEATHER, []) if isinstance(h, dict) else h for h in weather["hours"]
    ]
    return {**weather, "hours": hours}


def _renamed(table: RawTable) -> RawTable:
    return {HOURS.get(k, k): v for k, v in table.items()}


def _single(
    key: str, kind: type[BaseModel], given: object, faults: list[Fault]
) -> BaseModel | None:
    if not isinstance(given, dict):
        faults.append(Place(key).fault("", repr(given), "not-one-table"))
        return None
    return _checked(kind, to_metric(_renamed(given), Place(key), faults), Place(key), faults)


def _rows(
    key: str, kind: type[BaseModel], given: object, base: Path | None, faults: list[Fault]
) -> list[BaseModel]:
    if not isinstance(given, list):
        faults.append(Place(key).fault("", "", "not-a-list"))
        return []
    most = ROWS_MOST[key]
    if len(given) > most:
        faults.append(Place(key).fault("", len(given), "too-many-rows", most=most))
        return []
    rows = []
    for n, table in enumerate(given, 1):
        if not isinstance(table, dict):
            faults.append(Place(key, n).fault("", short(table), "not-a-table"))
            continue
        place = Place(key, n, str(table.get("id", "")))
        row = _completed(key, to_metric(_renamed(table), place, faults), place, base, faults)
        if key == "entry" and row is not None:
            row = _with_dish(row, place, faults)
        checked = _checked(kind, row, place, faults) if row is not None else None
        if checked is not None:
            rows.append(checked)
    return rows


def _with_dish(row: RawTable, place: Place, faults: list[Fault]) -> RawTable | None:
    """Return an entry's row with its dish as a table of its own."""
    own = {k: v for k, v in row.items() if k in ENTRY_KEYS}
    given = {k: v for k, v in row.items() if k not in ENTRY_KEYS}
    if "meal" in given:
        faults.append(place.fault("meal", short(given["meal"]), "entry-has-meal"))
    dish = {**given, "meal": TASTING, "id": own.get("id"), "name": own.get("name")}
    checked = _checked(model.Dish, dish, place, faults)
    return None if checked is None else {**own, "dish": checked}


def _completed(
    key: str, row: RawTable, place: Place, base: Path | None, faults: list[Fault]
) -> RawTable | None:
    """Return a row with what it leaves to the catalogue, to measurements and to other files."""
    key = AS.get(key, key)
    row = modern(key, row)
    if key == "cooker":
        row = with_opening(row, place, faults)
    if "like" in row and key in ("cooker", "pot", "dish"):
        try:
            row = resolve(key, row)
        except KeyError:
            like, there = str(row["like"]), entries(key)
            near, known = nearest(like, there), tuple(there)
            fault = place.fault(
                "like", repr(row["like"]), "not-in-catalogue", near=near, known=known
            )
            faults.append(fault)
            return None
    if key == "cooker":
        row = to_parameters(row, place, faults)
    elif key == "dish":
        row = with_allergens(from_ingredients(row, place, faults), place, faults)
    elif key == "station":
        row = _with_skyline(row, place, base, faults)
    if "name" not in row and isinstance(row.get("id"), str):
        row["name"] = str(row["id"]).replace("-", " ").capitalize()
    return row


def _checked(
    kind: type[BaseModel], table: object, place: Place, faults: list[Fault]
) -> BaseModel | None:
    if isinstance(table, dict):
        table = _with_times(kind, table, place, faults)
    try:
        return kind.model_validate(table)
    except ValidationError as error:
        faults += faults_of(error, place, known=kind.model_fields)
        return None


_IN_FILES = {field: key for key, field in HOURS.items()}
CLOCKS = (
    *("start", "end", "opens", "closes", "at", "visitors_from", "visitors_until", "load_at"),
    *("pause_from", "pause_until", "together_at", "results_from"),
)
_CLOCK = re.compile(r"^([01]?\d|2[0-3]):[0-5]\d(:[0-5]\d)?$")


def _with_times(
    kind: type[BaseModel], table: RawTable, place: Place, faults: list[Fault]
) -> RawTable:
    """Read "12:30" as a clock time where one belongs; refuse what is none."""
    read = dict(table)
    for key in CLOCKS:
        value = table.get(key)
        if key not in kind.model_fields or value is None or isinstance(value, time):
            continue
        if isinstance(value, str) and _CLOCK.match(value):
            hours, minutes, *_ = (int(part) for part in value.split(":"))
            read[key] = time(hours, minutes)
            continue
        shown = _IN_FILES.get(key, key)
        faults.append(place.fault(shown, f"“{value}”", "not-a-time"))
        read[key] = time(12, 0)
    return read


def _date(text: str, faults: list[Fault]) -> object:
    try:
        return date.fromisoformat(text)
    except ValueError:
        faults.append(WHOLE_FILE.fault("date", f"“{text}”", "not-a-date"))
        return date(2026, 1, 1)
