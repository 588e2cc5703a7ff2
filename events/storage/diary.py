"""The diary in the database: appended, never rewritten, each entry once."""

from __future__ import annotations

from collections import OrderedDict
from datetime import datetime
from threading import Lock

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from events.diary import Entry, StoredEntry, happened_at
from events.errors import Busy
from events.storage import tables as t
from events.storage.database import Database
from events.storage.events import require_event
from events.storage.tables import stored_entry

REMEMBERED_MOST = 200_000  # entries of all events: some 200 MB


class DiaryRows:
    """Entries by event, in the order in which they were received."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._lock = Lock()
        self._read: OrderedDict[str, list[StoredEntry]] = OrderedDict()

    def append(self, name: str, entry: Entry, *, now: datetime) -> StoredEntry:
        """Append an entry to an event's diary; the same id again is the entry that is there."""

        def insert(db: Connection) -> StoredEntry:
            require_event(db, name, locked=True)
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

        return self._database.retried(insert, Busy(kind="many-entries", name=name))

    def entries(self, name: str, *, after: int = 0) -> list[StoredEntry]:
        """Return an event's entries in the order in which they were received.

        What was read is remembered: a diary only grows, so only what is new is asked for.
        """
        with self._lock:
            read = self._read.get(name, [])
        last = last_of(read)
        query = sa.select(t.diary).where(t.diary.c.event_id == name, t.diary.c.number >= last)
        with self._database.connect() as db:
            require_event(db, name)
            newer = [stored_entry(r) for r in db.execute(query.order_by(t.diary.c.number))]
        if read and (not newer or newer[0].entry.id != read[-1].entry.id):
            return self._anew(name, after)  # archived, and its name given to another event
        read = [*read, *newer[1:]] if read else newer
        self._remember(name, read)
        return read[after:] if len(read) == last_of(read) else [s for s in read if s.number > after]

    def _anew(self, name: str, after: int) -> list[StoredEntry]:
        with self._lock:
            self._read.pop(name, None)
        return self.entries(name, after=after)

    def _remember(self, name: str, read: list[StoredEntry]) -> None:
        with self._lock:
            if len(read) >= len(self._read.get(name, [])):
                self._read[name] = read
                self._read.move_to_end(name)
            while len(self._read) > 1 and sum(map(len, self._read.values())) > REMEMBERED_MOST:
                self._read.popitem(last=False)

    def has(self, name: str, entry_id: str) -> bool:
        """Return whether an event's diary has an entry of this id."""
        same = sa.and_(t.diary.c.event_id == name, t.diary.c.id == entry_id)
        with self._database.connect() as db:
            return db.execute(sa.select(t.diary.c.id).where(same)).first() is not None

    def last_number(self, name: str) -> int:
        """Return the number of the newest entry of an event's diary; 0 where there is none."""
        last = sa.select(sa.func.coalesce(sa.func.max(t.diary.c.number), 0))
        with self._database.connect() as db:
            require_event(db, name)
            return int(db.execute(last.where(t.diary.c.event_id == name)).scalar_one())


def last_of(read: list[StoredEntry]) -> int:
    """Return the number of the last of some entries; 0 where there is none."""
    return read[-1].number if read else 0
