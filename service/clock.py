"""What time it is: the system's, or the demo's, which starts in the middle of a sample's day."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, time, timedelta
from time import monotonic

from events.model import Event

Clock = Callable[[], datetime]


def system_clock() -> datetime:
    """Return the time now, aware UTC."""
    return datetime.now(UTC)


def demo_clock(event: Event) -> Clock:
    """Return a clock that stands at 10:30 local on the event's day when it is made, then runs."""
    began = monotonic()
    start = event.instant(time(10, 30))
    return lambda: start + timedelta(seconds=monotonic() - began)
