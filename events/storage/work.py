"""Work in the database: asked once for a key, done by whichever solver takes it, kept a while."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import fields
from datetime import UTC, datetime, timedelta

import sqlalchemy as sa

from events.errors import Busy
from events.storage import tables as t
from events.storage.database import Database
from events.storage.tables import OpenWork, Work, WorkState, open_work, stored_work

TRIES_MOST = 2  # of work whose solver died
JUST_BEGUN = timedelta(seconds=5)  # two workers may both find that a third is gone
OPEN: tuple[WorkState, ...] = ("asked", "running")


class WorkRows:
    """Pieces of work by key."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def ask(self, work: Work) -> bool:
        """Store a piece of work; False where it is there and open or done: it is asked once."""

        def insert(db: sa.Connection) -> bool:
            state = db.execute(sa.select(t.work.c.state).where(t.work.c.key == work.key)).scalar()
            if state in (*OPEN, "done"):
                return False
            db.execute(sa.delete(t.work).where(t.work.c.key == work.key))
            db.execute(sa.insert(t.work).values(**vars(work)))
            return True

        return self._database.retried(insert, Busy(kind="many-questions"))

    def begin(self, key: str, *, now: datetime, died: str) -> Work | None:
        """Take a piece of work to do it; None where it is done, stopped, or begun just now.

        None as well where it has killed solvers: `died` becomes its result.
        """
        again = sa.and_(t.work.c.key == key, t.work.c.state.in_(OPEN))
        with self._database.begin() as db:
            row = db.execute(sa.select(t.work).where(again).with_for_update()).first()
            began_at = stored_work(row).began_at if row else None
            if row is None or (began_at and now - began_at < JUST_BEGUN):
                return None
            gone = row.tries >= TRIES_MOST
            values = {"state": "stopped", "result": died} if gone else {"state": "running"}
            more = {
                **values,
                "tries": row.tries + 1,
                "began_at": now.astimezone(UTC),
                "stage": None,
            }
            db.execute(sa.update(t.work).where(again).values(**more))
        return None if gone else stored_work(row)

    def end(self, key: str, state: WorkState, result: str) -> None:
        """Store what came of a piece of work, unless it was stopped meanwhile."""
        still = sa.and_(t.work.c.key == key, t.work.c.state.in_(OPEN))
        with self._database.begin() as db:
            db.execute(sa.update(t.work).where(still).values(state=state, result=result))

    def reach(self, key: str, stage: str | None) -> None:
        """Store which stage of a plan has begun."""
        with self._database.begin() as db:
            db.execute(sa.update(t.work).where(t.work.c.key == key).values(stage=stage))

    def put_back(self, key: str) -> None:
        """Let a piece of work that runs wait again, as if it had not begun."""
        runs = sa.and_(t.work.c.key == key, t.work.c.state == "running")
        waits = {"state": "asked", "began_at": None, "stage": None, "tries": t.work.c.tries - 1}
        with self._database.begin() as db:
            db.execute(sa.update(t.work).where(runs).values(**waits))

    def stop(self, event_id: str, lane: int) -> list[str]:
        """Stop an event's work in a lane; return the keys of what was stopped."""
        same = sa.and_(
            t.work.c.event_id == event_id, t.work.c.lane == lane, t.work.c.state.in_(OPEN)
        )
        with self._database.begin() as db:
            keys = [r.key for r in db.execute(sa.select(t.work.c.key).where(same))]
            db.execute(sa.update(t.work).where(same).values(state="stopped", result="stopped"))
        return keys

    def ended(self, keys: Collection[str]) -> list[Work]:
        """Return those of some pieces of work that have ended, however they did."""
        over = sa.and_(t.work.c.key.in_(keys), t.work.c.state.not_in(OPEN))
        with self._database.connect() as db:
            return [stored_work(r) for r in db.execute(sa.select(t.work).where(over))]

    def open(self) -> list[OpenWork]:
        """Return what runs and what waits, the longest first."""
        columns = [t.work.c[field.name] for field in fields(OpenWork)]
        query = sa.select(*columns).where(t.work.c.state.in_(OPEN)).order_by(t.work.c.asked_at)
        with self._database.connect() as db:
            return [open_work(r) for r in db.execute(query)]

    def clear(self, *, before: datetime) -> None:
        """Take out what ended before an instant."""
        old = sa.and_(t.work.c.asked_at < before.astimezone(UTC), t.work.c.state.not_in(OPEN))
        with self._database.begin() as db:
            db.execute(sa.delete(t.work).where(old))
