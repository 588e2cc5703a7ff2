"""The forecast from a table or from a feed's JSON, as hours of one form.

CSV: a header, then a line for each hour: time, cloud_pct, air_c, wind_m_s, and where it is known
cloud_low_pct and cloud_high_pct, which one day in ten is under, or over; `air_f`, `wind_km_h` and
`wind_mph` are read as well. JSON: an object `hourly` of equally long lists, the form of several
public feeds: `time`, `cloud_cover`, `temperature_2m`, `wind_speed_10m`, with their units in
`hourly_units`; from the members of an ensemble (`cloud_cover_member01` …) the middle and both
tenths are taken. Cloud is a value of its instant, so each hour's entry holds from half an hour
before it to half an hour after.
"""

from __future__ import annotations

import csv
import io
import json
from datetime import date, datetime, timedelta
from statistics import quantiles
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from events.errors import WHOLE_FILE, Fault, FaultyEvent, Place
from events.reading.model_faults import faults_of
from events.reading.units import to_metric
from events.site import Weather, WeatherHour
from events.table import RawTable

HALF = timedelta(minutes=30)
MEMBER, MEMBERS_LEAST = "cloud_cover_member", 5  # fewer have no tenths
_WIND = {"m/s": 1.0, "ms": 1.0, "km/h": 1 / 3.6, "kmh": 1 / 3.6, "mph": 0.44704, "mp/h": 0.44704}
_NAMES = {
    "cloud_pct": ("cloud_cover", "cloudcover"),
    "air_c": ("temperature_2m",),
    "wind_m_s": ("wind_speed_10m", "windspeed_10m"),
}


def weather_from(text: str, *, source: str, day: date, zone: ZoneInfo) -> Weather:
    """Return the hours of `day` from a CSV or JSON text; raises FaultyEvent with row and value."""
    faults: list[Fault] = []
    stripped = text.lstrip("\ufeff \n\r\t")
    rows = _json(stripped, faults) if stripped.startswith("{") else _csv(stripped, faults)
    hours: dict[str, WeatherHour] = {}
    for place, row in rows:
        at = _instant(row.pop("time", ""), day, zone, place, faults)
        if at is None or not (day == (at + HALF).date() or day == (at - HALF).date()):
            continue
        start = at - HALF
        if start.date() < day:
            start = start.replace(hour=0, minute=0) + timedelta(days=1)
        try:
            hour = WeatherHour.model_validate({"start": start.time(), **row})
        except ValidationError as error:
            faults += faults_of(error, place)
            continue
        hours[f"{hour.start}"] = hour
    if not faults and not hours:
        faults.append(WHOLE_FILE.fault("time", "", "no-hour-of-day", day=day.isoformat()))
    if faults:
        raise FaultyEvent(source, faults)
    return Weather(source=source[:200], hours=tuple(sorted(hours.values(), key=lambda h: h.start)))


def _csv(text: str, faults: list[Fault]) -> list[tuple[Place, RawTable]]:
    reader = csv.DictReader(io.StringIO(text))
    if not reader.fieldnames or "time" not in reader.fieldnames:
        faults.append(Place("row", 1).fault("time", "", "forecast-header"))
        return []
    rows = []
    for n, raw in enumerate(reader, 2):
        place, row = Place("row", n), {"time": raw.get("time")}
        for key, value in raw.items():
            if key in (None, "time") or value in (None, ""):
                continue
            try:
                row[str(key)] = float(str(value))
            except ValueError:
                faults.append(place.not_a_number(str(key), value))
        rows.append((place, to_metric(row, place, faults)))
    return rows


def _json(text: str, faults: list[Fault]) -> list[tuple[Place, RawTable]]:
    try:
        raw = json.loads(text)
    except (ValueError, RecursionError) as error:
        faults.append(WHOLE_FILE.fault("hourly", "", "feed-not-json", why=str(error)))
        return []
    hourly = raw.get("hourly")
    if not isinstance(hourly, dict) or not isinstance(hourly.get("time"), list):
        faults.append(WHOLE_FILE.fault("hourly", "", "feed-without-lists"))
        return []
    units = raw.get("hourly_units")
    units = units if isinstance(units, dict) else {}
    rows = []
    members = [hourly[key] for key in hourly if key.startswith(MEMBER)]
    for n, at in enumerate(hourly["time"]):
        place, row = Place("hour", n + 1), {"time": at, **_tenths(members, n)}
        for ours_name, theirs in _NAMES.items():
            name = next((t for t in theirs if isinstance(hourly.get(t), list)), None)
            if name is None or n >= len(hourly[name]) or hourly[name][n] is None:
                continue
            value = hourly[name][n]
            if isinstance(value, bool) or not isinstance(value, (int, float)):
                faults.append(place.not_a_number(name, value))
                continue
            row[ours_name] = _converted(ours_name, float(value), str(units.get(name, "")))
        rows.append((place, row))
    return rows


def _tenths(members: list[object], n: int) -> RawTable:
    """Return the middle and both tenths of an ensemble's cloud at one hour; nothing without one."""
    clouds = sorted(
        float(values[n])
        for values in members
        if isinstance(values, list) and n < len(values) and isinstance(values[n], (int, float))
    )
    if len(clouds) < MEMBERS_LEAST:
        return {}
    tenths = quantiles(clouds, n=10, method="inclusive")
    return {"cloud_low_pct": tenths[0], "cloud_pct": tenths[4], "cloud_high_pct": tenths[8]}


def _converted(name: str, value: float, unit: str) -> float:
    if name == "air_c" and "F" in unit:
        return round((value - 32) * 5 / 9, 3)
    if name == "wind_m_s":
        # Without a unit it is km/h: what feeds of this form send unless they are asked otherwise.
        return round(value * _WIND.get(unit.lower(), 1 / 3.6), 3)
    return value


def _instant(
    value: object, day: date, zone: ZoneInfo, place: Place, faults: list[Fault]
) -> datetime | None:
    """Return a row's time as the site's local clock; a bare HH:MM is of the event's day."""
    text = str(value).strip()
    try:
        if len(text) <= 5 and ":" in text:
            text = f"{day.isoformat()}T{text.zfill(5)}"
        at = datetime.fromisoformat(text)
    except ValueError:
        faults.append(place.fault("time", repr(value), "forecast-time"))
        return None
    return at.astimezone(zone).replace(tzinfo=None) if at.tzinfo else at
