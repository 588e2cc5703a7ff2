"""What a site's file may say in words or in a table: how hazy the air is, how high trees stand."""

from __future__ import annotations

import csv
import io
from datetime import date

from events.errors import SITE, Fault, Place
from events.table import RawTable

# Linke turbidity in words (common values, as in the design's check figures).
HAZE = {"very clean": 2.0, "clear": 3.0, "warm": 4.0, "town": 4.0, "humid": 5.5, "dusty": 6.0}


def with_turbidity(site: RawTable, day: object, faults: list[Fault]) -> RawTable:
    """Return the site with its turbidity as a figure: a word, or twelve values by month, read."""
    given = site.get("turbidity")
    if isinstance(given, str):
        if given not in HAZE:
            fault = SITE.fault("turbidity", repr(given), "no-word-for-haze", known=tuple(HAZE))
            faults.append(fault)
            return {**site, "turbidity": 3.0}
        return {**site, "turbidity": HAZE[given]}
    if isinstance(given, list):
        if len(given) != 12:
            faults.append(SITE.fault("turbidity", len(given), "not-twelve"))
            return {**site, "turbidity": 3.0}
        return {**site, "turbidity": given[day.month - 1] if isinstance(day, date) else given[0]}
    return site


def skyline_from(text: str, name: str, faults: list[Fault]) -> tuple[tuple[float, float], ...]:
    """Return the pairs of a skyline CSV; each bad row is a fault with its number and value."""
    rows = [
        r for r in csv.reader(io.StringIO(text.lstrip("\ufeff"))) if r and any(c.strip() for c in r)
    ]
    if rows and not _number(rows[0][0]):
        head = [c.strip().lower() for c in rows[0]]
        if head[:2] != ["azimuth_deg", "elevation_deg"]:
            faults.append(Place("row", 1, name).fault("", ",".join(rows[0])[:40], "skyline-header"))
            return ()
    pairs = []
    for n, row in enumerate(rows, 1):
        place = Place("row", n, name)
        if n == 1 and not _number(row[0]):
            continue
        if len(row) < 2 or not (_number(row[0]) and _number(row[1])):
            faults.append(place.fault("", ",".join(row)[:40], "not-two-numbers"))
            continue
        azimuth, elevation = float(row[0]), float(row[1])
        if not (0 <= azimuth <= 360 and 0 <= elevation <= 89):
            faults.append(place.fault("", f"{azimuth:g}, {elevation:g}", "not-in-the-sky"))
            continue
        pairs.append((azimuth, elevation))
    return tuple(pairs)


def _number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
