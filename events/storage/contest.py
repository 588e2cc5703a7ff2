"""A contest in the database: records appended, never rewritten; ballots that nobody can trace."""

from __future__ import annotations

import json
import secrets
from datetime import UTC, datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from events.errors import Busy
from events.storage import tables as t
from events.storage.database import Database
from events.storage.events import require_event
from events.storage.tables import ContestRecord


class ContestRows:
    """Records by event in the order in which they were received, and the votes."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def append(self, name: str, *, id: str, kind: str, body: str, now: datetime) -> ContestRecord:
        """Append a record; the same id again is the record that is there."""

        def insert(db: Connection) -> ContestRecord:
            require_event(db, name)
            row = t.contest_record.c
            same = sa.and_(row.event_id == name, row.id == id)
            there = db.execute(sa.select(t.contest_record).where(same)).first()
            if there is not None:
                return _record(there)
            last = sa.select(sa.func.coalesce(sa.func.max(row.number), 0))
            number = db.execute(last.where(row.event_id == name)).scalar_one() + 1
            values = {"number": number, "received_at": now, "kind": kind, "body": body}
            db.execute(sa.insert(t.contest_record).values(event_id=name, id=id, **values))
            return ContestRecord(id, number, now, kind, body)

        return self._database.retried(insert, Busy(kind="many-sheets", name=name))

    def records(self, name: str) -> list[ContestRecord]:
        """Return an event's records in the order in which they were received."""
        query = sa.select(t.contest_record).where(t.contest_record.c.event_id == name)
        with self._database.connect() as db:
            require_event(db, name)
            ordered = query.order_by(t.contest_record.c.number)
            return [_record(row) for row in db.execute(ordered)]

    def vote(self, name: str, *, digest: str, picks: tuple[str, ...]) -> bool:
        """Take a ballot for a code, both or neither; False where the code was used before."""
        try:
            with self._database.begin() as db:
                db.execute(sa.insert(t.used_code).values(event_id=name, digest=digest))
                row = {"id": secrets.token_hex(16), "picks": json.dumps(picks)}
                db.execute(sa.insert(t.ballot).values(event_id=name, **row))
        except sa.exc.IntegrityError:
            return False
        return True

    def ballots(self, name: str) -> list[tuple[str, ...]]:
        """Return the picks of every ballot, in no order."""
        query = sa.select(t.ballot.c.picks).where(t.ballot.c.event_id == name)
        with self._database.connect() as db:
            return [
                tuple(json.loads(row.picks)) for row in db.execute(query.order_by(t.ballot.c.id))
            ]


def _record(row: sa.Row[tuple[object, ...]]) -> ContestRecord:
    return ContestRecord(
        row.id, row.number, row.received_at.replace(tzinfo=UTC), row.kind, row.body
    )
