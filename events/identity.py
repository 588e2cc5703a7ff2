"""What an event is known by: its fingerprint, and its name in addresses."""

from __future__ import annotations

import hashlib

from events.model import Event


def fingerprint_of(event: Event) -> str:
    """Return the event's fingerprint: 12 hex digits over its canonical JSON."""
    return hashlib.sha256(event.model_dump_json().encode()).hexdigest()[:12]


def slug(event: Event) -> str:
    """Return an event's name for addresses: its title and date."""
    words = "".join(c if c.isascii() and c.isalnum() else "-" for c in event.title.lower())
    stem = "-".join(w for w in words.split("-") if w)[:40].strip("-") or "event"
    return f"{stem}-{event.date.isoformat()}"
