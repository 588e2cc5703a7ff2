"""What time it is: the system's, or the demo's, which starts in the middle of a sample's day."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from events.model import Event
from events.reading.event_file import zone_of

Clock = Callable[[], datetime]


def system_clock() -> datetime:
    """Return the time now, aware UTC."""
    return datetime.now(UTC)


def demo_clock(event: Event) -> Clock:
    """Return a clock that stands at 10:30 local on the event's day when it is made, then runs."""
    began = time.monotonic()
    noonish = datetime(
        event.date.year, event.date.month, event.date.day, 10, 30, tzinfo=zone_of(event)
    ).astimezone(UTC)
    return lambda: noonish + timedelta(seconds=time.monotonic() - began)
