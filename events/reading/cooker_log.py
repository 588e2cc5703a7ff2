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
    "water_c": (-5.0, 115.0, "Is it °F? Head the column water_f."),
    "air_c": (-40.0, 55.0, "Is it °F? Head the column air_f."),
    "wind_m_s": (0.0, 60.0, "Is it km/h? Head the column wind_km_h."),
    "sun_w_m2": (0.0, 1500.0, ""),
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
            do = "Head the columns time,water_c,air_c,wind_m_s,sun_w_m2."
            faults.append(Place("row", 1).fault(key, "", "is not in the header", do))
    if faults:
        raise FaultyEvent(source, faults)
    readings: list[LogReading] = []
    for n, raw in enumerate(reader, 2):
        reading = _row(raw, n, zone, day, faults)
        if reading is not None:
            if readings and reading.at <= readings[-1].at:
                shown = str(raw.get("time"))
                limit = "is not after the row before"
                do = "Was the clock changed? Log with an offset, like 10:00+02:00 in ISO form."
                faults.append(Place("row", n).fault("time", repr(shown), limit, do))
            readings.append(reading)
    if not faults and len(readings) < 3:
        faults.append(WHOLE_FILE.fault("", f"{len(readings)} readings", "are too few: 3 at least"))
    swapped = len(readings) > 5 and sum(r.water_c < r.air_c for r in readings) > 0.8 * len(readings)
    if not faults and swapped and _rises([r.air_c for r in readings]) > 20:
        first = f"{readings[0].water_c:g} and {readings[0].air_c:g}"
        faults.append(
            Place("row", 2).fault("water_c, air_c", first, "look swapped", "Mend the header.")
        )
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
    for key, (low, high, do) in _LIMITS.items():
        given = row.get(key)
        if isinstance(given, float) and not (math.isfinite(given) and low <= given <= high):
            limit = f"must be {low:g} to {high:g}"
            faults.append(place.fault(key, f"{given:g}", limit, do))
    for key in ("water_c", "air_c"):
        if key not in row and len(faults) == before:
            faults.append(place.fault(key, "", "is missing"))
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
        do = "Write 2027-06-10T10:00, or 10:00 and give the day."
        faults.append(place.fault("time", repr(text), "is no time", do))
        return None
    return (at if at.tzinfo else at.replace(tzinfo=zone)).astimezone(UTC)
