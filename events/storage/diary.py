"""The diary in the database: appended, never rewritten, each entry once."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from events.diary import Entry, StoredEntry, happened_at
from events.storage import tables as t
from events.storage.database import Database
from events.storage.events import find_event
from events.storage.tables import stored_entry


class DiaryRows:
    """Entries by event, in the order in which they were received."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def append(self, name: str, entry: Entry, *, now: datetime) -> StoredEntry:
        """Append an entry to an event's diary; the same id again is the entry that is there."""

        def insert(db: Connection) -> StoredEntry:
            find_event(db, name, locked=True)
            same = sa.and_(t.diary.c.event_id == name, t.diary.c.id == entry.id)
            row = db.execute(sa.select(t.diary).where(same)).first()
            if row is not None:
                return stored_entry(row)
            last = sa.select(sa.func.coalesce(sa.func.max(t.diary.c.number), 0))
            number = db.execute(last.where(t.diary.c.event_id == name)).scalar_one() + 1
            db.execute(
                sa.insert(t.diary).values(
                    event_id=name,
                    id=entry.id,
                    number=number,
                    received_at=now,
                    body=entry.model_dump_json(),
                )
            )
            at = happened_at(entry, now)
            return StoredEntry(entry=entry, received_at=now, happened_at=at, number=number)

        busy = f"The diary of {name} is being written by many at once. Send it again."
        return self._database.retried(insert, busy)

    def entries(self, name: str, *, after: int = 0) -> list[StoredEntry]:
        """Return an event's entries in the order in which they were received."""
        query = sa.select(t.diary).where(t.diary.c.event_id == name, t.diary.c.number > after)
        with self._database.connect() as db:
            find_event(db, name)
            return [stored_entry(r) for r in db.execute(query.order_by(t.diary.c.number))]

    def last_number(self, name: str) -> int:
        """Return the number of the newest entry of an event's diary; 0 where there is none."""
        last = sa.select(sa.func.coalesce(sa.func.max(t.diary.c.number), 0))
        with self._database.connect() as db:
            find_event(db, name)
            return int(db.execute(last.where(t.diary.c.event_id == name)).scalar_one())
