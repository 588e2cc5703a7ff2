"""What concerns everybody at once: who is hurt, where it burns, who needs help."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from events.model import Event
from service.application.diary import DiaryEntry
from service.text import formatting, messages
from service.text.trouble import GRAVE

ALERTS_LAST = timedelta(minutes=30)


def alerts(event: Event, entries: Sequence[DiaryEntry], at: datetime) -> list[str]:
    """Return who is hurt, where it burns, who needs help: shown for a while."""
    helpers = {h.id: h.name for h in event.helpers}
    cookers = {c.id: c.name for c in event.cookers}
    found = []
    for stored in (e.stored for e in entries if at - e.stored.received_at < ALERTS_LAST):
        entry = stored.entry
        if entry.kind in GRAVE:
            who = helpers.get(entry.helper_id or "", "")
            where = cookers.get(entry.cooker_id or "", "")
            parts = (messages.PRESSED[entry.kind], where, who)
            clock = formatting.clock(event, stored.happened_at)
            found.append(f"{', '.join(p for p in parts if p)}, {clock}")
    return found
