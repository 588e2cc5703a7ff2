"""Lists that are typed a line each: the skyline, what throws shade."""

from __future__ import annotations

import re

from service.forms.fields import Field, shown, typed

Table = dict[str, object]
FOOT_M = 0.3048
# What a site has several of, typed a line each.
LINES: dict[str, tuple[str, ...]] = {
    "skyline": ("direction_deg", "height_deg"),
    "obstacles": ("bearing_deg", "height_m", "distance_m", "width_m"),
    "shade": ("date", "at"),
}


def lines_of(site: Table, units: str) -> dict[str, str]:
    """Return the site's lists as they are typed: a line for each, its figures beside each other."""
    out = {}
    for key, columns in LINES.items():
        rows = site.get(key)
        out[key] = "\n".join(
            " ".join(
                shown(value / FOOT_M if isinstance(value, float) and _is_far(c, units) else value)
                for c, value in zip(
                    columns, r if isinstance(r, list) else map(r.get, columns), strict=False
                )
            ).strip()
            for r in (rows if isinstance(rows, list) else [])
        )
    return out


def typed_lines(text: str, columns: tuple[str, ...], units: str) -> list[Table]:
    """Return a row for each line; a line of too few figures lacks some, and is named as a fault."""
    rows = []
    for line in filter(None, map(str.strip, text.splitlines())):
        parts = re.split(r"[,;\s]+", line, maxsplit=len(columns) - 1)
        row: Table = dict.fromkeys(columns[: 2 if columns == LINES["skyline"] else 1], "")
        for column, part in zip(columns, parts, strict=False):
            kind = "text" if column in ("date", "at", "start") else "number"
            value = typed(Field("", "", kind), part)
            if isinstance(value, (int, float)) and _is_far(column, units):
                value = round(value * FOOT_M, 4)
            row[column] = value
        rows.append(row)
    return rows


def _is_far(column: str, units: str) -> bool:
    return units == "us" and column.endswith("_m")
