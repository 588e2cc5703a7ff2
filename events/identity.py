"""What an event is known by: its fingerprint, and its name in addresses."""

from __future__ import annotations

import hashlib

from pydantic.main import IncEx

from events.model import Event

# Tables that came later: an event without them is known by what it was known by before.
LATER = ("rota", "groups", "stops")


def fingerprint_of(event: Event) -> str:
    """Return the event's fingerprint: 12 hex digits over its canonical JSON."""
    unused = {k for k in LATER if getattr(event, k) == type(event).model_fields[k].default}
    if all(talk.groups == "none" for talk in event.talks):
        return _digest(event, {**dict.fromkeys(unused, True), "talks": {"__all__": {"groups"}}})
    return _digest(event, dict.fromkeys(unused, True))


def _digest(event: Event, leave_out: IncEx) -> str:
    return hashlib.sha256(event.model_dump_json(exclude=leave_out).encode()).hexdigest()[:12]


def slug(event: Event) -> str:
    """Return an event's name for addresses: its title and date."""
    words = "".join(c if c.isascii() and c.isalnum() else "-" for c in event.title.lower())
    stem = "-".join(w for w in words.split("-") if w)[:40].strip("-") or "event"
    return f"{stem}-{event.date.isoformat()}"
