"""A log of a cooker's test: a header, then a line for each reading.

`time` (local, ISO or HH:MM), `water_c`, `air_c`, `wind_m_s`, and `sun_w_m2` where it was logged;
other units as everywhere (`water_f`, `wind_km_h`). A bad row is a fault with its number and value.
"""

from __future__ import annotations

import csv
import io
import itertools
import math
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from events.errors import WHOLE_FILE, Fault, FaultyEvent, Place
from events.reading.units import to_metric

_LIMITS = {
    # Lowest, highest, and what it may be in instead, with the head of such a column.
    "water_c": (-5.0, 115.0, "°F", "water_f"),
    "air_c": (-40.0, 55.0, "°F", "air_f"),
    "wind_m_s": (0.0, 60.0, "km/h", "wind_km_h"),
    "sun_w_m2": (0.0, 1500.0, "", ""),
}


@dataclass(frozen=True)
class LogReading:
    """One line of a log."""

    at: datetime
    water_c: float
    air_c: float
    wind_m_s: float | None
    sun_w_m2: float | None


def read_log(
    text: str, *, source: str, zone: ZoneInfo, day: date | None = None
) -> list[LogReading]:
    """Return a log's readings in time order; raises FaultyEvent with every bad row."""
    faults: list[Fault] = []
    reader = csv.DictReader(io.StringIO(text.lstrip("\ufeff")))
    head = {str(h).strip() for h in reader.fieldnames or ()}
    known = to_metric(dict.fromkeys(head, 1.0), Place("row", 1), faults)
    for key in ("time", "water_c", "air_c"):
        if key not in known:
            faults.append(Place("row", 1).fault(key, "", "log-header"))
    if faults:
        raise FaultyEvent(source, faults)
    readings: list[LogReading] = []
    for n, raw in enumerate(reader, 2):
        reading = _row(raw, n, zone, day, faults)
        if reading is not None:
            if readings and reading.at <= readings[-1].at:
                shown = repr(str(raw.get("time")))
                faults.append(Place("row", n).fault("time", shown, "not-after-row-before"))
            readings.append(reading)
    if not faults and len(readings) < 3:
        faults.append(WHOLE_FILE.fault("", len(readings), "too-few-readings"))
    swapped = len(readings) > 5 and sum(r.water_c < r.air_c for r in readings) > 0.8 * len(readings)
    if not faults and swapped and _rises([r.air_c for r in readings]) > 20:
        first = f"{readings[0].water_c:g} and {readings[0].air_c:g}"
        faults.append(Place("row", 2).fault("water_c, air_c", first, "columns-swapped"))
    if faults:
        raise FaultyEvent(source, faults[:40])
    return readings


def gaps(log: list[LogReading]) -> list[tuple[datetime, datetime]]:
    """Return where more than five minutes pass between two readings."""
    pairs = itertools.pairwise(log)
    return [(a.at, b.at) for a, b in pairs if b.at - a.at > timedelta(minutes=5)]


def _rises(values: list[float]) -> float:
    return max(values) - values[0]


def _row(
    raw: dict[str, str], n: int, zone: ZoneInfo, day: date | None, faults: list[Fault]
) -> LogReading | None:
    place, row = Place("row", n), dict[str, object]()
    before = len(faults)
    for key, value in raw.items():
        if key is None or str(key).strip() == "time" or value in (None, ""):
            continue
        try:
            row[str(key).strip()] = float(value)
        except (TypeError, ValueError):
            faults.append(place.not_a_number(str(key), value))
    row = to_metric(row, place, faults)
    for key, (low, high, unit, head) in _LIMITS.items():
        given = row.get(key)
        if isinstance(given, float) and not (math.isfinite(given) and low <= given <= high):
            fault = place.fault(key, given, "out-of-range", low=low, high=high)
            if unit:
                fault = place.fault(
                    key, given, "out-of-range-or-unit", low=low, high=high, unit=unit, head=head
                )
            faults.append(fault)
    for key in ("water_c", "air_c"):
        if key not in row and len(faults) == before:
            faults.append(place.fault(key, "", "no-figure"))
    at = _time(str(raw.get("time") or ""), zone, day, place, faults)
    if len(faults) > before or at is None:
        return None
    figures = {k: float(str(row[k])) for k in _LIMITS if k in row}
    return LogReading(
        at,
        figures["water_c"],
        figures["air_c"],
        figures.get("wind_m_s"),
        figures.get("sun_w_m2"),
    )


def _time(
    text: str, zone: ZoneInfo, day: date | None, place: Place, faults: list[Fault]
) -> datetime | None:
    text = text.strip()
    try:
        if "-" not in text.lstrip("-"):
            if day is None:
                raise ValueError
            text = f"{day.isoformat()}T{text.zfill(5)}"
        at = datetime.fromisoformat(text)
    except ValueError:
        faults.append(place.fault("time", repr(text), "log-time"))
        return None
    return (at if at.tzinfo else at.replace(tzinfo=zone)).astimezone(UTC)
