"""Events in the database: each version as its file's text, under a name of its own."""

from __future__ import annotations

from datetime import UTC, date, datetime
from functools import lru_cache

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from events.errors import Busy, NotFound, StaleVersion
from events.identity import fingerprint_of, slug
from events.model import Event
from events.reading.event_file import read_event
from events.reading.write import write_event
from events.storage import tables as t
from events.storage.database import Database
from events.storage.tables import EventLine, StoredEvent


class EventRows:
    """Events by name and version."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def add(self, event: Event, *, now: datetime) -> StoredEvent:
        """Store a new event under a name of its own, also one that equals another's.

        Whoever puts an event in gets its keys: none may lead to what somebody else made.
        """

        def insert(db: Connection) -> str:
            stem = slug(event)
            same = sa.select(t.event.c.id).where(t.event.c.id.startswith(stem, autoescape=True))
            name = _free_name(stem, {r.id for r in db.execute(same)})
            values = _row(event, fingerprint_of(event), now)
            db.execute(sa.insert(t.event).values(id=name, version=1, **values))
            _ask_plan(db, name, 1)
            return name

        return self.get(self._database.retried(insert, Busy(kind="many-events")))

    def change(self, name: str, event: Event, *, fingerprint: str, now: datetime) -> StoredEvent:
        """Store a new version of an event; `fingerprint` is that of the version it changes.

        Raises StaleVersion where somebody changed it in between, NotFound where it is not here.
        """
        with self._database.begin() as db:
            old = find_event(db, name, locked=True)
            if old.fingerprint != fingerprint:
                raise StaleVersion(name, old.fingerprint)
            version = int(old.version) + 1
            done = db.execute(  # first: it fails where another changed it in this moment
                sa.update(t.event)
                .where(t.event.c.id == name, t.event.c.version == old.version)
                .values(version=version, **_row(event, fingerprint_of(event), now))
            )
            if done.rowcount != 1:
                raise StaleVersion(name, old.fingerprint)
            db.execute(
                sa.insert(t.earlier).values(event_id=name, version=old.version, file=old.file)
            )
            _ask_plan(db, name, version)
        return self.get(name)

    def has(self, name: str) -> bool:
        """Return whether an event of that name is here."""
        with self._database.connect() as db:
            same = sa.select(t.event.c.id).where(t.event.c.id == name)
            return db.execute(same).first() is not None

    def get(self, name: str) -> StoredEvent:
        """Return an event; raises NotFound."""
        with self._database.connect() as db:
            return _stored_event(find_event(db, name))

    def remove(self, name: str) -> None:
        """Take an event out with all that hangs on it; raises NotFound. Write it out before."""
        with self._database.begin() as db:
            require_event(db, name, locked=True)
            for table in (t.plan, t.replan, t.diary, t.link, t.earlier):
                db.execute(sa.delete(table).where(table.c.event_id == name))
            db.execute(sa.delete(t.own).where(t.own.c.owner == name))
            db.execute(sa.delete(t.event).where(t.event.c.id == name))

    def before(self, day: date) -> list[str]:
        """Return the names of the events before a day, the oldest first."""
        query = sa.select(t.event.c.id).where(t.event.c.date < day).order_by(t.event.c.date)
        with self._database.connect() as db:
            return [str(row.id) for row in db.execute(query)]

    def count(self) -> int:
        """Return how many events there are."""
        with self._database.connect() as db:
            return int(db.execute(sa.select(sa.func.count()).select_from(t.event)).scalar_one())

    def page(self, *, first: int, most: int) -> list[EventLine]:
        """Return some events, latest date first, without reading their files."""
        e = t.event.c
        query = sa.select(e.id, e.version, e.fingerprint, e.title, e.date)
        query = query.order_by(e.date.desc(), e.id).offset(first).limit(most)
        with self._database.connect() as db:
            return [EventLine(*row) for row in db.execute(query)]

    def version(self, name: str, version: int) -> Event:
        """Return any version of an event; raises NotFound."""
        present = self.get(name)
        same = version == present.version
        return present.event if same else self.earlier_version(name, version)

    def earlier_version(self, name: str, version: int) -> Event:
        """Return an earlier version of an event; raises NotFound."""
        query = sa.select(t.earlier).where(
            t.earlier.c.event_id == name, t.earlier.c.version == version
        )
        with self._database.connect() as db:
            row = db.execute(query).first()
        if row is None:
            raise NotFound(kind="no-version", name=name, version=version)
        return _read(row.file)


def find_event(db: Connection, name: str, *, locked: bool = False) -> sa.Row[tuple[object, ...]]:
    """Return an event's row; raises NotFound.

    `locked` keeps others from writing to the same event until the transaction ends (PostgreSQL;
    SQLite has one writer at a time).
    """
    return _found(db, sa.select(t.event), name, locked=locked)


def require_event(db: Connection, name: str, *, locked: bool = False) -> None:
    """Raise NotFound where there is no such event; its file is not read. `locked` as above."""
    _found(db, sa.select(t.event.c.id), name, locked=locked)


def _found(
    db: Connection, columns: sa.Select[tuple[object, ...]], name: str, *, locked: bool
) -> sa.Row[tuple[object, ...]]:
    query = columns.where(t.event.c.id == name)
    row = db.execute(query.with_for_update() if locked else query).first()
    if row is None:
        raise NotFound(kind="no-event", name=name)
    return row


def _ask_plan(db: Connection, name: str, version: int) -> None:
    db.execute(sa.insert(t.plan).values(event_id=name, version=version, state="asked", body=""))


def _stored_event(row: sa.Row[tuple[object, ...]]) -> StoredEvent:
    event = _read(row.file)
    return StoredEvent(row.id, row.version, row.fingerprint, row.title, row.date, event)


@lru_cache(maxsize=128)
def _read(file: str) -> Event:
    """Return the event of a stored file; the same text is read once."""
    return read_event(file, stored=True)


def _row(event: Event, fingerprint: str, now: datetime) -> dict[str, object]:
    file = write_event(event)
    _read(file)  # what could not be read again is not stored: it raises FaultyEvent
    return {
        "title": event.title,
        "date": event.date,
        "fingerprint": fingerprint,
        "file": file,
        "put_at": now.astimezone(UTC),
    }


def _free_name(stem: str, taken: set[str]) -> str:
    name, number = stem, 1
    while name in taken:
        number += 1
        name = f"{stem}-{number}"
    return name
