"""Who of the crew does what all do, where the plan names nobody."""

from __future__ import annotations

from datetime import datetime

from events.model import Event, Helper


def who_sets_up(event: Event, at: datetime, ends_at: datetime) -> list[Helper]:
    """Return the adults who set up: who is there then, else who comes for the first job after it.

    Setting up is at cookers: no work for the young.
    """
    there = [
        h
        for h in event.helpers
        if h.adult and event.instant(h.start) < ends_at and at < event.instant(h.end)
    ]
    return there or at_first(event, ends_at)


def at_first(event: Event, at: datetime) -> list[Helper]:
    """Return the adults who are there at a moment."""
    return [
        h for h in event.helpers if h.adult and event.instant(h.start) <= at < event.instant(h.end)
    ]
