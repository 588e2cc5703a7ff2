"""What differs between two versions of an event: rows added or gone, keys of another value."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from events.model import Event, EventHead
from events.table import Table

# Each table by its name in a file, and the event's field that holds its rows.
TABLES = (
    ("dish", "dishes"),
    ("meal", "meals"),
    ("helper", "helpers"),
    ("cooker", "cookers"),
    ("pot", "pots"),
    ("talk", "talks"),
    ("station", "stations"),
)
# Where a figure comes from, and what follows from what a dish is made of, is no edit of its own.
DERIVED = frozenset({"provenance", "composition", "like"})


@dataclass(frozen=True)
class Difference:
    """One thing that differs: of which table, which row by its name, which key."""

    kind: Literal["added", "removed", "changed"]
    table: str  # empty for the event's own keys
    name: str = ""
    key: str = ""
    was: object = None
    new: object = None


def differences(old: Event, new: Event) -> list[Difference]:
    """Return what differs from an older version of an event to a newer one."""
    found = list(_keys("", "", old, new, tuple(EventHead.model_fields)))
    for table, one, other in (
        ("site", old.site, new.site),
        ("weather", old.weather, new.weather),
    ):
        found += _keys(table, "", one, other, tuple(type(one).model_fields))
    for table, field in TABLES:
        found += _rows(table, getattr(old, field), getattr(new, field))
    return found


def _rows(table: str, old: Sequence[Table], new: Sequence[Table]) -> Iterator[Difference]:
    before = {getattr(row, "id", ""): row for row in old}
    after = {getattr(row, "id", ""): row for row in new}
    for row_id, row in after.items():
        name = str(getattr(row, "name", row_id))
        if row_id not in before:
            yield Difference("added", table, name)
        else:
            yield from _keys(table, name, before[row_id], row, tuple(type(row).model_fields))
    for row_id, row in before.items():
        if row_id not in after:
            yield Difference("removed", table, str(getattr(row, "name", row_id)))


def _keys(
    table: str, name: str, old: object, new: object, keys: tuple[str, ...]
) -> Iterator[Difference]:
    for key in keys:
        was, is_now = getattr(old, key), getattr(new, key)
        if was != is_now and key not in DERIVED:
            yield Difference("changed", table, name, key, was, is_now)
