"""Links, not accounts: 192 random bits, stored hashed, by role, ending, revocable."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from events.errors import NotFound
from events.storage.store import Store
from events.storage.tables import Link, Role
from service.application.context import Context

LASTS = timedelta(days=30)  # after the event's day, and an organiser's after its last use
RENEWED_UNDER = timedelta(days=20)
TOKEN_LONGEST = 200


@dataclass(frozen=True)
class FreshToken:
    """A token just made, and the event that it opens."""

    event_id: str
    token: str


def link_end(day: date, now: datetime) -> datetime:
    """Return when a link made now to an event on a day ends: some weeks after the event."""
    return max(now, datetime.combine(day, time(), tzinfo=UTC)) + LASTS


def make_link(
    store: Store, name: str, role: Role, *, helper_id: str | None = None, now: datetime
) -> str:
    """Make a link to an event and return its token; only its digest is stored."""
    token = secrets.token_urlsafe(24)
    ends_at = link_end(store.events.get(name).date, now)
    store.links.add(Link(_digest(token), name, role, helper_id, ends_at))
    return token


class LinkService:
    """Who may sign in to an event."""

    def __init__(self, context: Context) -> None:
        self._context, self._now, self._store = context, context.now, context.store.links

    def make(self, name: str, role: Role, *, helper_id: str | None = None) -> str:
        """Make a link and return its token; only this once can it be read."""
        return make_link(self._context.store, name, role, helper_id=helper_id, now=self._now())

    def resolve_token(self, token: str | None) -> Link | None:
        """Return the link of a token that opens something now, or None.

        An organiser's is renewed by being used, so that nobody is locked out of what they plan.
        """
        if not token or len(token) > TOKEN_LONGEST:
            return None
        link, now = self._store.get(_digest(token)), self._now()
        if link is None or not self.is_open(link):
            return None
        if link.role == "organiser" and link.ends_at < now + RENEWED_UNDER:
            self._store.renew(link.digest, now + LASTS)
        return link

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
        organisers = [link for link in self.of_event(name) if link.role == "organiser"]
        first = min(organisers, key=lambda link: link.ends_at, default=None)
        return _derived(first.digest, "visitors") if first else ""

    def is_visitor_code(self, name: str, code: str) -> bool:
        """Return whether a code opens an event's public board: also one that was shown earlier."""
        organisers = (link for link in self.of_event(name) if link.role == "organiser")
        return any(_is_derived(code, link.digest, "visitors") for link in organisers)

    def calendar_code(self, name: str, helper_id: str) -> str:
        """Return the code of a helper's calendar; empty where no link of theirs is open.

        It ends with the link that it is derived from, and opens nothing but that calendar.
        """
        links = self._open_links(name, helper_id)
        latest = max(links, key=lambda link: (link.ends_at, link.digest), default=None)
        return _derived(latest.digest, "calendar") if latest else ""

    def is_calendar_code(self, name: str, helper_id: str, code: str) -> bool:
        """Return whether a code opens a helper's calendar now."""
        links = self._open_links(name, helper_id)
        return any(_is_derived(code, link.digest, "calendar") for link in links)

    def _open_links(self, name: str, helper_id: str) -> list[Link]:
        return [
            link
            for link in self.of_event(name)
            if link.role == "helper" and link.helper_id == helper_id and self.is_open(link)
        ]


def _is_derived(code: str, digest: str, purpose: str) -> bool:
    return hmac.compare_digest(_derived(digest, purpose).encode(), code.encode())


def _derived(digest: str, purpose: str) -> str:
    """Return a code that only the store can make again; nothing is learnt from it of the link."""
    return hmac.digest(digest.encode(), purpose.encode(), "sha256").hex()[:32]


def _digest(token: str) -> str:
    """Return what is stored of a token."""
    return hashlib.sha256(token.encode()).hexdigest()
