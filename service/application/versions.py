"""Versions of an event that have a plan: what changed in each, two side by side, going back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from pydantic import ValidationError

from events.differences import Difference, differences
from events.errors import NotFound
from events.model import Event
from events.storage.tables import StoredEvent
from service.application.context import Context
from service.application.events import EventService
from service.application.plans import EventAndPlan, read_plan
from solver.plan import Plan

LISTED_MOST = 20


@dataclass(frozen=True)
class PlannedVersion:
    """A version with its plan, and what it changed; None for the first that is listed."""

    number: int
    made_at: datetime | None
    event: Event
    plan: Plan
    changes: list[Difference] | None


class VersionService:
    """The plans that an event had; nothing of them is ever lost."""

    def __init__(self, context: Context, events: EventService) -> None:
        self._store, self._events = context.store, events

    def planned(self, name: str) -> list[PlannedVersion]:
        """Return the newest versions that have a plan, the newest first."""
        listed: list[PlannedVersion] = []
        before: Event | None = None
        for stored in reversed(self._store.plans.newest_done(name, most=LISTED_MOST)):
            try:
                plan = read_plan(stored.body)
            except ValidationError:
                continue  # an earlier program's
            event = self._store.events.version(name, stored.version)
            changes = differences(before, event) if before is not None else None
            listed.append(PlannedVersion(stored.version, stored.made_at, event, plan, changes))
            before = event
        return listed[::-1]

    def at(self, name: str, number: int) -> EventAndPlan:
        """Return a version with its plan; raises NotFound where it has none."""
        event = self._store.events.version(name, number)
        stored = self._store.plans.get(name, number)
        try:
            if stored.state == "done":
                return EventAndPlan(event, read_plan(stored.body))
        except ValidationError:
            pass
        raise NotFound(f"Version {number} of {name} has no plan.")

    def go_back(self, name: str, number: int, *, etag: str | None) -> StoredEvent:
        """Make an older version the newest: it is planned again, and none is lost."""
        return self._events.change(name, self._store.events.version(name, number), etag=etag)
