"""Links in the database: digests of tokens, and what each opens."""

from __future__ import annotations

from datetime import UTC, datetime

import sqlalchemy as sa

from events.storage import tables as t
from events.storage.database import Database
from events.storage.tables import Link, stored_link


class LinkRows:
    """Links by digest; none is ever taken out, so that a closed link stays closed."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def add(self, link: Link) -> None:
        """Store a link's digest and what it opens."""
        with self._database.begin() as db:
            db.execute(sa.insert(t.link).values(**vars(link)))

    def get(self, digest: str) -> Link | None:
        """Return what a digest opens, if it is known; whether it still does is the caller's."""
        with self._database.connect() as db:
            row = db.execute(sa.select(t.link).where(t.link.c.digest == digest)).first()
        return stored_link(row) if row else None

    def of_event(self, name: str) -> list[Link]:
        """Return an event's links."""
        query = sa.select(t.link).where(t.link.c.event_id == name).order_by(t.link.c.role)
        with self._database.connect() as db:
            return [stored_link(r) for r in db.execute(query)]

    def renew(self, digest: str, ends_at: datetime) -> None:
        """Let a link last longer."""
        same = t.link.c.digest == digest
        with self._database.begin() as db:
            db.execute(sa.update(t.link).where(same).values(ends_at=ends_at.astimezone(UTC)))

    def renew_all(self, name: str, ends_at: datetime, *, now: datetime) -> None:
        """Let every link of an event that opens something last until then at least."""
        last, end = t.link.c.ends_at, ends_at.astimezone(UTC)
        sooner = sa.and_(t.link.c.event_id == name, last > now.astimezone(UTC), last < end)
        with self._database.begin() as db:
            db.execute(sa.update(t.link).where(sooner).values(ends_at=end))

    def revoke(self, name: str, digest: str) -> None:
        """Close a link for good."""
        same = sa.and_(t.link.c.event_id == name, t.link.c.digest == digest)
        with self._database.begin() as db:
            db.execute(sa.update(t.link).where(same).values(revoked=True))
