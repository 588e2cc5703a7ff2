"""What names what: a row that is left out leaves the places that named it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from events.model import Event
from events.reading.validation import REFERENCES

Table = dict[str, object]
# Without these a row can't be: it goes with what it names, or is named as a fault.
NEEDED = {("dish", "meal"), ("entry", "team"), ("contest_cooker", "team")}
_OF_THE_CONTEST = {"helper": "runner", "station": "stations"}


def rows_in(table: Table, kind: str) -> list[Table]:
    """Return the rows of one kind in a file's tables."""
    rows = table.get(kind, [])
    return rows if isinstance(rows, list) else []


def new_id(name: str, taken: set[str]) -> str:
    """Return an id made of a name that none of its kind has yet."""
    words = "".join(c if c.isascii() and c.isalnum() else "-" for c in name.lower())
    stem = "-".join(w for w in words.split("-") if w)[:34].strip("-") or "one"
    if stem not in taken:
        return stem
    return next(f"{stem}-{n}" for n in range(2, 500) if f"{stem}-{n}" not in taken)


def let_go(table: Table, kind: str, gone: set[str]) -> None:
    """Take what is left out of the places that named it; a team's entry and cookers go with it."""
    for other, key, target in REFERENCES:
        if target == kind and (other, key) not in NEEDED:
            for row in rows_in(table, other):
                had = row.get(key)
                _without(row, key, gone)
                if (other, key) == ("talk", "dish") and had in gone:
                    row.pop("stage", None)
    if kind == "team":
        for other in ("entry", "contest_cooker"):
            table[other] = [r for r in rows_in(table, other) if r.get("team") not in gone]
    contest = table.get("contest")
    if isinstance(contest, dict) and kind in _OF_THE_CONTEST:
        _without(contest, _OF_THE_CONTEST[kind], gone)
    if kind == "helper":
        for group in rows_in(table, "group"):
            _without(group, "adult", gone)


def _without(row: Table, key: str, gone: set[str]) -> None:
    held = row.get(key)
    if isinstance(held, list):
        row[key] = [name for name in held if name not in gone]
    elif held in gone:
        row.pop(key)


def name_helpers(event: Event, rows: Sequence[Table], old: Mapping[str, Table]) -> None:
    """Let an adult who was typed by a helper's name be that helper: who then has no other work."""
    helpers = {h.name.casefold(): h.id for h in event.helpers}
    for row in rows:
        adult = row.get("adult")
        if isinstance(adult, str) and adult != old.get(str(row["id"]), {}).get("adult"):
            row["adult"] = helpers.get(adult.casefold(), adult)
