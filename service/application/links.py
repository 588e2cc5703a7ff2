"""Links, not accounts: 192 random bits, stored hashed, by role, ending, revocable."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from dataclasses import dataclass
from datetime import timedelta

from events.errors import NotFound
from events.storage.tables import Link, Role
from service.application.context import Context

LASTS = timedelta(days=30)
TOKEN_LONGEST = 200


@dataclass(frozen=True)
class FreshToken:
    """A token just made, and the event that it opens."""

    event_id: str
    token: str


class LinkService:
    """Who may sign in to an event."""

    def __init__(self, context: Context) -> None:
        self._now, self._store = context.now, context.store.links

    def make(self, name: str, role: Role, *, helper_id: str | None = None) -> str:
        """Make a link and return its token; only this once can it be read."""
        token = secrets.token_urlsafe(24)
        self._store.add(Link(_digest(token), name, role, helper_id, self._now() + LASTS))
        return token

    def resolve_token(self, token: str | None) -> Link | None:
        """Return the link of a token that opens something now, or None."""
        if not token or len(token) > TOKEN_LONGEST:
            return None
        link = self._store.get(_digest(token))
        return link if link and self.is_open(link) else None

    def is_open(self, link: Link) -> bool:
        """Return whether a link has neither ended nor been closed."""
        return not link.revoked and link.ends_at > self._now()

    def exchange(self, token: str) -> FreshToken:
        """Return a fresh token for an organiser's, which is spent by it; raises NotFound."""
        link = self.resolve_token(token)
        if link is None or link.role != "organiser":
            raise NotFound("This link opens nothing: it may have ended or been used.")
        fresh = self.make(link.event_id, "organiser")
        self.revoke(link.event_id, link.digest)
        return FreshToken(link.event_id, fresh)

    def of_event(self, name: str) -> list[Link]:
        """Return an event's links."""
        return self._store.of_event(name)

    def revoke(self, name: str, digest: str) -> None:
        """Close a link for good."""
        self._store.revoke(name, digest)

    def visitor_code(self, name: str) -> str:
        """Return the code of an event's public board; empty for one without an organiser.

        It is derived, so that every screen can show it again. It opens that one page.
        """
        first = min(
            (link for link in self.of_event(name) if link.role == "organiser"),
            key=lambda link: link.ends_at,
            default=None,
        )
        return _derived(first.digest, "visitors") if first else ""

    def is_visitor_code(self, name: str, code: str) -> bool:
        """Return whether a code opens an event's public board."""
        right = self.visitor_code(name)
        return bool(right) and hmac.compare_digest(right.encode(), code.encode())


def _derived(digest: str, purpose: str) -> str:
    """Return a code that only the store can make again; nothing is learnt from it of the link."""
    return hmac.digest(digest.encode(), purpose.encode(), "sha256").hex()[:32]


def _digest(token: str) -> str:
    """Return what is stored of a token."""
    return hashlib.sha256(token.encode()).hexdigest()
