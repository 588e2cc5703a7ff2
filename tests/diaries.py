"""Diaries for tests: entries as if pressed at a local clock time of an event's day."""

from __future__ import annotations

from datetime import datetime, time
from zoneinfo import ZoneInfo

from events.diary import Entry, StoredEntry
from events.model import Event


def local(event: Event, clock: str) -> datetime:
    """Return a local clock time of the event's day as an instant."""
    zone = ZoneInfo(event.site.timezone)
    return datetime.combine(event.date, time.fromisoformat(clock), tzinfo=zone)


def pressed(event: Event, *presses: tuple[str, str, dict[str, object]]) -> list[StoredEntry]:
    """Return entries from (kind, clock, fields)."""
    out = []
    for n, (kind, clock, fields) in enumerate(presses, 1):
        at = local(event, clock)
        entry = Entry.model_validate({"id": f"press-{n:06d}", "kind": kind, "at": at} | fields)
        out.append(StoredEntry(entry=entry, received_at=at, happened_at=at, number=n))
    return out
