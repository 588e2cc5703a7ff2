"""Event files (TOML) in and out; every fault is collected with its place, value and limit."""

from __future__ import annotations

import difflib
import hashlib
import math
import re
import tomllib
from datetime import date, time
from importlib.resources import files
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

import tomlkit
from pydantic import BaseModel, ValidationError

from events import model
from events.errors import Fault, FaultyEvent, NotFound
from events.reading.catalogue import entries, resolve
from events.reading.cooker_facts import parameters
from events.reading.forecast_file import weather_from
from events.reading.recipes import mixed
from events.reading.schema import HOURS, LISTS
from events.reading.site_facts import skyline_from, with_turbidity
from events.reading.units import Table, ours
from events.reading.validation import sense

LARGEST_BYTES = 1_000_000
_OWN = (
    *("format", "title", "date", "units", "clock_h"),
    *("wanted_margin_min", "chance_pct", "gas_day_under_pct"),
)


def read_event(text: str, *, source: str = "event.toml", base: Path | None = None) -> model.Event:
    """Return the event in a file's text; raises FaultyEvent with every fault at once.

    `base` is the folder from which the file may name others (a skyline, a forecast).
    """
    return read_table(_parse(text, source), source=source, base=base)


def read_table(raw: Table, *, source: str, base: Path | None = None) -> model.Event:
    """Return the event in a file's tables (as JSON has them); raises FaultyEvent."""
    faults: list[Fault] = []
    event = _build(raw, base, faults)
    if event is not None and not faults:
        faults += sense(event)
    if faults or event is None:
        raise FaultyEvent(source, faults)
    return event


def load_event(path: Path) -> model.Event:
    """Return the event in a file; raises FaultyEvent where it can't be read as UTF-8 text."""
    try:
        data = path.read_bytes()
        return read_event(data.decode("utf-8"), source=str(path), base=path.parent)
    except UnicodeDecodeError:
        fault = Fault("", "", "", "is not UTF-8 text", "Save it as UTF-8.")
    except OSError as error:
        fault = Fault("", "", "", str(error.strerror or error), "Check the path.")
    raise FaultyEvent(str(path), [fault])


def _parse(text: str, source: str) -> Table:
    def refuse(limit: str, do: str) -> FaultyEvent:
        return FaultyEvent(source, [Fault("", "", "", limit, do)])

    if not text.strip():
        raise refuse(
            "is empty", 'Start with format = 1, a title and a date; see "noonfare schema".'
        )
    if len(text.encode()) > LARGEST_BYTES:
        raise refuse(f"is over {LARGEST_BYTES} bytes", "One file holds one event.")
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise refuse(f"is not TOML: {error}", "Mend that line; text stands in quotes.") from None


def _build(raw: Table, base: Path | None, faults: list[Fault]) -> model.Event | None:
    known = {*_OWN, "site", "weather", *LISTS}
    for key in raw.keys() - known:
        faults.append(_unknown("", key, known))
    top: Table = {k: raw[k] for k in _OWN if k in raw}
    if isinstance(top.get("date"), str):
        top["date"] = _date(str(top["date"]), faults)
    site = top["site"] = _site(raw, top.get("date"), base, faults)
    weather = _weather(raw.get("weather", {}), top.get("date"), site, base, faults)
    top["weather"] = _one(model.Weather, weather, "[weather]", faults)
    for key, (field, kind) in LISTS.items():
        top[field] = _many(key, kind, raw.get(key, []), base, faults)
    if faults:
        # Tables that failed are left out, so only the event's own keys are looked at here.
        own = {k: top[k] for k in _OWN if k in top}
        _one(_Own, own, "", faults)
        return None
    event = _one(model.Event, top, "", faults)
    return event if isinstance(event, model.Event) else None


class _Own(model.Table):
    """The event's own keys, for a file whose tables are at fault."""

    format: int = 1
    title: model.Name
    date: date
    units: str = "metric"
    clock_h: int = 24
    wanted_margin_min: model.Minutes = 20
    chance_pct: int = 80
    gas_day_under_pct: int = 50


def _site(raw: Table, day: object, base: Path | None, faults: list[Fault]) -> BaseModel | None:
    given = raw.get("site")
    if not isinstance(given, dict):
        faults.append(Fault("[site]", "", "", "is missing", "Give latitude_deg, longitude_deg."))
        return None
    site = with_turbidity(ours(dict(given), "[site]", faults), day, faults)
    site = _with_skyline(site, "[site]", base, faults)
    site.setdefault("name", "The site")
    if "timezone" not in site:
        site["timezone"] = _zone_at(site.get("latitude_deg"), site.get("longitude_deg"))
    elif site["timezone"] not in available_timezones():
        near = difflib.get_close_matches(str(site["timezone"]), available_timezones(), 1)
        hint = f'Did you mean "{near[0]}"?' if near else 'Write it like "Europe/Paris".'
        faults.append(
            Fault("[site]", "timezone", repr(site["timezone"]), "is no known time zone", hint)
        )
    return _one(model.Site, site, "[site]", faults)


def _zone_at(latitude: object, longitude: object) -> str:
    """Return the zone at coordinates; UTC where they are no coordinates (faulted elsewhere)."""
    if not (isinstance(latitude, (int, float)) and isinstance(longitude, (int, float))):
        return "UTC"
    if not (abs(latitude) <= 90 and abs(longitude) <= 180):
        return "UTC"
    from tzfpy import get_tz  # noqa: PLC0415  5 MB of shapes, only where a zone is asked for

    name = get_tz(float(longitude), float(latitude))
    return name if name in available_timezones() else "UTC"


def _with_skyline(table: Table, where: str, base: Path | None, faults: list[Fault]) -> Table:
    """Read the skyline from the CSV it names: azimuth_deg,elevation_deg, clockwise from north."""
    name = table.get("skyline")
    if not isinstance(name, str):
        return table
    text = _beside(name, where, "skyline", base, faults)
    return {**table, "skyline": skyline_from(text, name, faults) if text is not None else ()}


def _beside(name: str, where: str, key: str, base: Path | None, faults: list[Fault]) -> str | None:
    if base is None:
        do = "Put the figures in the event file, or use the command with a file on disk."
        faults.append(Fault(where, key, repr(name), "names a file, and there is no folder", do))
        return None
    try:
        return (base / name).read_text(encoding="utf-8")
    except (OSError, ValueError) as error:
        faults.append(Fault(where, key, repr(name), f"can't be read: {error}", "Check the path."))
        return None


def _weather(
    weather: object, day: object, site: object, base: Path | None, faults: list[Fault]
) -> object:
    """Return the weather table, its hours from the file it names."""
    if not isinstance(weather, dict) or not isinstance(weather.get("file"), str):
        return _hours(weather)
    name = str(weather["file"])
    text = _beside(name, "[weather]", "file", base, faults)
    if text is None or not isinstance(day, date) or not isinstance(site, model.Site):
        return {}
    try:
        told = weather_from(
            text, source=str(weather.get("source", name)), day=day, zone=ZoneInfo(site.timezone)
        )
    except FaultyEvent as error:
        faults += error.faults
        return {}
    return told


def _hours(weather: object) -> object:
    if not isinstance(weather, dict) or not isinstance(weather.get("hours"), list):
        return weather
    hours = [
        ours(_renamed(h), "[weather]", []) if isinstance(h, dict) else h for h in weather["hours"]
    ]
    return {**weather, "hours": hours}


def _renamed(table: Table) -> Table:
    return {HOURS.get(k, k): v for k, v in table.items()}


def _many(
    key: str, kind: type[BaseModel], given: object, base: Path | None, faults: list[Fault]
) -> list[BaseModel]:
    if not isinstance(given, list):
        faults.append(Fault(f"[[{key}]]", "", "", "is not a list", f"Head each with [[{key}]]."))
        return []
    out = []
    for n, table in enumerate(given, 1):
        if not isinstance(table, dict):
            faults.append(Fault(f"[[{key}]] {n}", "", repr(table), "is not a table", ""))
            continue
        where = f"[[{key}]] {n}" + (f" ({table['id']})" if "id" in table else "")
        own = ours(_renamed(table), where, faults)
        if "like" in own and key in ("cooker", "pot", "dish"):
            try:
                own = resolve(key, own)
            except KeyError:
                near = difflib.get_close_matches(str(own["like"]), entries(key), 1)
                hint = f'Did you mean "{near[0]}"?' if near else ", ".join(entries(key))
                faults.append(
                    Fault(where, "like", repr(own["like"]), "is not in the catalogue", hint)
                )
                continue
        if key == "cooker":
            own = parameters(own, where, faults)
        elif key == "dish":
            own = mixed(own, where, faults)
        if key == "station":
            own = _with_skyline(own, where, base, faults)
        if "name" not in own and isinstance(own.get("id"), str):
            own["name"] = str(own["id"]).replace("-", " ").capitalize()
        made = _one(kind, own, where, faults)
        if made is not None:
            out.append(made)
    return out


def _one(kind: type[BaseModel], table: object, where: str, faults: list[Fault]) -> BaseModel | None:
    if isinstance(table, dict):
        table = _clocks(kind, table, where, faults)
    try:
        return kind.model_validate(table)
    except ValidationError as error:
        for e in error.errors(include_url=False):
            faults.append(_fault(kind, where, e["loc"], e["type"], e["msg"], e["input"]))
        return None


_CLOCK = re.compile(r"^([01]?\d|2[0-3]):[0-5]\d(:[0-5]\d)?$")


def _clocks(kind: type[BaseModel], table: Table, where: str, faults: list[Fault]) -> Table:
    """Read "12:30" as a clock time where one belongs; refuse what is none."""
    out = dict(table)
    for key in kind.model_fields:
        if key not in ("start", "end", "opens", "closes", "at") or key not in out:
            continue
        value = out[key]
        if isinstance(value, time):
            continue
        if isinstance(value, str) and _CLOCK.match(value):
            hours, minutes, *_ = (int(p) for p in value.split(":"))
            out[key] = time(hours, minutes)
            continue
        if kind.model_fields[key].annotation is not None and value is None:
            continue
        shown = {"start": "from", "end": "until"}.get(key, key)
        faults.append(Fault(where, shown, f"“{value}”", "is not a time", "Write 12:30."))
        out[key] = time(12, 0)
    return out


def _fault(
    kind: type[BaseModel],
    where: str,
    loc: tuple[int | str, ...],
    problem: str,
    words: str,
    value: object,
) -> Fault:
    key = ".".join(str(part) for part in loc)
    if problem == "extra_forbidden":
        return _unknown(where, key, {*kind.model_fields})
    shown = {"start": "from", "end": "until"}.get(key, key)
    if problem == "missing":
        return Fault(where, shown, "", "is missing", f"Add {shown} = …")
    if isinstance(value, float) and not math.isfinite(value):
        words = "is not a number"
    text = repr(value)
    return Fault(
        where,
        shown,
        text if len(text) < 60 else text[:57] + "…",
        words.replace("Input should be", "must be").replace("Value error, ", ""),
        "",
    )


def _unknown(where: str, key: str, known: set[str]) -> Fault:
    near = difflib.get_close_matches(key, known, 1)
    hint = f'Did you mean "{near[0]}"?' if near else "Remove it, or see noonfare schema."
    return Fault(where, key, "", "is not a key here", hint)


def _date(text: str, faults: list[Fault]) -> object:
    try:
        return date.fromisoformat(text)
    except ValueError:
        faults.append(Fault("", "date", f"“{text}”", "is not a date", "Write 2026-11-28."))
        return date(2026, 1, 1)


def write_event(event: model.Event) -> str:
    """Return the event as a file's text; reading it gives the same event."""
    doc = tomlkit.document()
    for key in _OWN:
        doc[key] = getattr(event, key)
    doc["site"] = _plain(event.site)
    if event.weather != model.Weather():
        doc["weather"] = _plain(event.weather)
    for key, (field, _) in LISTS.items():
        many = getattr(event, field)
        if many:
            tables = tomlkit.aot()
            for one in many:
                tables.append(tomlkit.item(_plain(one)))
            doc[key] = tables
    return tomlkit.dumps(doc)


def _plain(table: BaseModel) -> Table:
    """Return a table's keys and values as TOML has them; what is None is left out."""
    out: Table = {}
    swap = {v: k for k, v in HOURS.items()} if isinstance(table, (model.Meal, model.Helper)) else {}
    for key in type(table).model_fields:
        value = getattr(table, key)
        if value is None:
            continue
        if isinstance(value, model.Measured):
            out |= value.model_dump(exclude_unset=True, exclude_none=True)
            continue
        if isinstance(value, BaseModel):
            value = _plain(value)
        elif isinstance(value, tuple):
            value = [
                _plain(v) if isinstance(v, BaseModel) else list(v) if isinstance(v, tuple) else v
                for v in value
            ]
        out[swap.get(key, key)] = value
    return out


def event_id(event: model.Event) -> str:
    """Return the event's fingerprint: 12 hex digits over its canonical JSON."""
    return hashlib.sha256(event.model_dump_json().encode()).hexdigest()[:12]


def sample_names() -> list[str]:
    """Return the ready events' names."""
    found = (files("events") / "samples").iterdir()
    return sorted(f.name.removesuffix(".toml") for f in found if f.name.endswith(".toml"))


def sample_text(name: str) -> str:
    """Return a ready event's text; raises NotFound with the names there are."""
    if name not in sample_names():
        raise NotFound(f'No sample "{name}". There are: {", ".join(sample_names())}.')
    return (files("events") / "samples" / f"{name}.toml").read_text(encoding="utf-8")


def slug(event: model.Event) -> str:
    """Return an event's name for addresses: its title and date."""
    words = "".join(c if c.isascii() and c.isalnum() else "-" for c in event.title.lower())
    stem = "-".join(w for w in words.split("-") if w)[:40].strip("-") or "event"
    return f"{stem}-{event.date.isoformat()}"
