"""The one place that speaks to the database: events by version, and each version's plan.

SQLite in WAL by default, any SQLAlchemy URL otherwise. An event is kept as its file's text; a
plan is kept as asked, done or broken, and is never changed once it is done.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, date, datetime
from functools import lru_cache
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from events.diary import Entry, KeptEntry, happened_at
from events.errors import Busy, NotFound, StaleVersion
from events.model import Cooker, Event
from events.reading.event_file import event_id, read_event, slug, write_event
from events.storage import tables as t
from events.storage.tables import (
    Kept,
    KeptPlan,
    Link,
    PlanState,
    Replan,
    kept_entry,
    kept_link,
    kept_replan,
)


class Store:
    """An open database. Close it when done."""

    def __init__(self, url: str) -> None:
        self._engine: Engine = sa.create_engine(url)
        if self._engine.dialect.name == "sqlite":
            sa.event.listen(self._engine, "connect", _tune)
        _step_forward(self._engine)

    def close(self) -> None:
        """Give the connections back."""
        self._engine.dispose()

    @contextmanager
    def _write(self) -> Iterator[Connection]:
        with self._engine.begin() as connection:
            yield connection

    def add(self, event: Event, *, now: datetime) -> Kept:
        """Keep a new event under a name of its own; the same event again is the same entry."""
        for _ in range(3):
            try:
                return self.get(self._add(event, now))
            except sa.exc.IntegrityError:  # another took the name in the same moment
                continue
        return self.get(self._add(event, now))

    def _add(self, event: Event, now: datetime) -> str:
        mark = event_id(event)
        with self._write() as db:
            same = db.execute(sa.select(t.event.c.id).where(t.event.c.mark == mark)).first()
            if same is not None:
                return str(same.id)
            stem = name = slug(event)
            taken = {r.id for r in db.execute(sa.select(t.event.c.id))}
            number = 1
            while name in taken:
                number += 1
                name = f"{stem}-{number}"
            db.execute(sa.insert(t.event).values(id=name, version=1, **_row(event, mark, now)))
            db.execute(sa.insert(t.plan).values(event_id=name, version=1, state="asked", body=""))
        return name

    def change(self, name: str, event: Event, *, mark: str, now: datetime) -> Kept:
        """Keep a new version of an event whose present fingerprint is `mark`.

        Raises StaleVersion where somebody changed it in between, NotFound where it is not here.
        """
        with self._write() as db:
            kept = self._find(db, name)
            if kept.mark != mark:
                raise StaleVersion(name, kept.mark)
            version = int(kept.version) + 1
            db.execute(
                sa.insert(t.earlier).values(event_id=name, version=kept.version, file=kept.file)
            )
            done = db.execute(
                sa.update(t.event)
                .where(t.event.c.id == name, t.event.c.version == kept.version)
                .values(version=version, **_row(event, event_id(event), now))
            )
            if done.rowcount != 1:
                raise StaleVersion(name, kept.mark)
            db.execute(
                sa.insert(t.plan).values(event_id=name, version=version, state="asked", body="")
            )
        return self.get(name)

    def get(self, name: str) -> Kept:
        """Return an event; raises NotFound."""
        with self._engine.connect() as db:
            row = self._find(db, name)
        event = _read(row.file)
        return Kept(row.id, row.version, row.mark, row.title, row.date, event)

    def earlier(self, name: str, version: int) -> Event:
        """Return an earlier version of an event; raises NotFound."""
        query = sa.select(t.earlier).where(
            t.earlier.c.event_id == name, t.earlier.c.version == version
        )
        with self._engine.connect() as db:
            row = db.execute(query).first()
        if row is None:
            raise NotFound(f"No version {version} of {name} here.")
        return read_event(row.file, source=name)

    def names(self) -> list[tuple[str, str, date]]:
        """Return (id, title, date) of every event, latest date first."""
        query = sa.select(t.event.c.id, t.event.c.title, t.event.c.date)
        with self._engine.connect() as db:
            rows = db.execute(query.order_by(t.event.c.date.desc(), t.event.c.id)).all()
        return [(r.id, r.title, r.date) for r in rows]

    def plan(self, name: str, version: int) -> KeptPlan:
        """Return the plan of one version of an event; raises NotFound."""
        query = sa.select(t.plan).where(t.plan.c.event_id == name, t.plan.c.version == version)
        with self._engine.connect() as db:
            row = db.execute(query).first()
        if row is None:
            raise NotFound(f"No plan of {name}, version {version}.")
        made_at = row.made_at and row.made_at.replace(tzinfo=UTC)  # SQLite keeps no zone
        return KeptPlan(row.event_id, row.version, row.state, row.body, made_at)

    def keep_plan(
        self, name: str, version: int, *, state: PlanState, body: str, now: datetime
    ) -> None:
        """Write what became of an asked plan; one that is done already stays as it is."""
        with self._write() as db:
            db.execute(
                sa.update(t.plan)
                .where(
                    t.plan.c.event_id == name,
                    t.plan.c.version == version,
                    t.plan.c.state == "asked",
                )
                .values(state=state, body=body, made_at=now)
            )

    def asked(self) -> list[tuple[str, int]]:
        """Return the plans still to be made: (event id, version)."""
        query = sa.select(t.plan.c.event_id, t.plan.c.version).where(t.plan.c.state == "asked")
        with self._engine.connect() as db:
            return [(r.event_id, r.version) for r in db.execute(query)]

    def write_down(self, name: str, entry: Entry, *, now: datetime) -> KeptEntry:
        """Append an entry to an event's diary; the same id again is the entry that is there."""
        for _ in range(5):
            try:
                with self._write() as db:
                    self._find(db, name)
                    there = db.execute(
                        sa.select(t.diary).where(
                            t.diary.c.event_id == name, t.diary.c.id == entry.id
                        )
                    ).first()
                    if there is not None:
                        return kept_entry(there)
                    last = sa.select(sa.func.coalesce(sa.func.max(t.diary.c.number), 0))
                    number = db.execute(last.where(t.diary.c.event_id == name)).scalar_one() + 1
                    db.execute(
                        sa.insert(t.diary).values(
                            event_id=name,
                            id=entry.id,
                            number=number,
                            heard_at=now,
                            body=entry.model_dump_json(),
                        )
                    )
                    return KeptEntry(
                        entry=entry,
                        heard_at=now,
                        happened_at=happened_at(entry, now),
                        number=number,
                    )
            except sa.exc.IntegrityError:  # another entry took the number in the same moment
                continue
        raise Busy(f"The diary of {name} is being written by many at once. Send it again.")

    def diary(self, name: str, *, after: int = 0) -> list[KeptEntry]:
        """Return an event's entries in the order in which they were heard."""
        query = sa.select(t.diary).where(t.diary.c.event_id == name, t.diary.c.number > after)
        with self._engine.connect() as db:
            self._find(db, name)
            return [kept_entry(r) for r in db.execute(query.order_by(t.diary.c.number))]

    def offer(self, name: str, *, version: int, after: int, body: str, now: datetime) -> Replan:
        """Keep a plan made anew, not yet in force; raises Busy where many are offered at once."""
        for _ in range(5):
            try:
                with self._write() as db:
                    last = sa.select(sa.func.coalesce(sa.func.max(t.replan.c.number), 0))
                    found = db.execute(last.where(t.replan.c.event_id == name)).scalar_one()
                    row = Replan(name, found + 1, version, after, now.astimezone(UTC), None, body)
                    db.execute(sa.insert(t.replan).values(**vars(row)))
                    return row
            except sa.exc.IntegrityError:  # another took the number in the same moment
                continue
        raise Busy(f"Many plan {name} anew at once. Try again.")

    def replan(self, name: str, number: int) -> Replan:
        """Return a plan made anew; raises NotFound."""
        query = sa.select(t.replan).where(t.replan.c.event_id == name, t.replan.c.number == number)
        with self._engine.connect() as db:
            row = db.execute(query).first()
        if row is None:
            raise NotFound(f"No plan {number} made anew for {name}.")
        return kept_replan(row)

    def in_force(self, name: str, version: int) -> Replan | None:
        """Return the replan of this version that was taken last, if one was."""
        query = (
            sa.select(t.replan)
            .where(
                t.replan.c.event_id == name,
                t.replan.c.version == version,
                t.replan.c.taken_at.is_not(None),
            )
            .order_by(t.replan.c.number.desc())
        )
        with self._engine.connect() as db:
            row = db.execute(query).first()
        return kept_replan(row) if row else None

    def take(self, name: str, number: int, *, now: datetime) -> Replan:
        """Put a replan in force; raises StaleVersion where another was taken since it was made."""
        with self._write() as db:
            kept = self._find(db, name)
            mine = sa.and_(t.replan.c.event_id == name, t.replan.c.number == number)
            row = db.execute(sa.select(t.replan).where(mine)).first()
            if row is None:
                raise NotFound(f"No plan {number} made anew for {name}.")
            taken = sa.select(sa.func.coalesce(sa.func.max(t.replan.c.number), 0)).where(
                t.replan.c.event_id == name,
                t.replan.c.version == row.version,
                t.replan.c.taken_at.is_not(None),
            )
            last = db.execute(taken).scalar_one()
            if row.taken_at is None and (last != row.after or kept.version != row.version):
                raise StaleVersion(name, kept.mark)
            if row.taken_at is None:
                done = db.execute(
                    sa.update(t.replan)
                    .where(mine, t.replan.c.taken_at.is_(None))
                    .values(taken_at=now.astimezone(UTC))
                )
                if done.rowcount != 1:
                    raise StaleVersion(name, kept.mark)
        return self.replan(name, number)

    def keep_own(self, cooker: Cooker, *, source: str, now: datetime) -> None:
        """Keep a cooker as this house's own, in the place of an earlier one of its name."""
        with self._write() as db:
            db.execute(sa.delete(t.own).where(t.own.c.id == cooker.id))
            db.execute(
                sa.insert(t.own).values(
                    id=cooker.id,
                    kept_at=now.astimezone(UTC),
                    source=source,
                    body=cooker.model_dump_json(),
                )
            )

    def own_cookers(self) -> list[tuple[Cooker, str]]:
        """Return this house's own cookers, each with where its figures come from."""
        with self._engine.connect() as db:
            rows = db.execute(sa.select(t.own).order_by(t.own.c.id)).all()
        return [(Cooker.model_validate_json(r.body), r.source) for r in rows]

    def add_link(self, link: Link) -> None:
        """Keep a link's digest and what it opens."""
        with self._write() as db:
            db.execute(sa.insert(t.link).values(**vars(link)))

    def link(self, digest: str) -> Link | None:
        """Return what a digest opens, if it is known; whether it still does is the caller's."""
        with self._engine.connect() as db:
            row = db.execute(sa.select(t.link).where(t.link.c.digest == digest)).first()
        return kept_link(row) if row else None

    def links(self, name: str) -> list[Link]:
        """Return an event's links."""
        query = sa.select(t.link).where(t.link.c.event_id == name).order_by(t.link.c.role)
        with self._engine.connect() as db:
            return [kept_link(r) for r in db.execute(query)]

    def revoke(self, name: str, digest: str) -> None:
        """Close a link for good."""
        with self._write() as db:
            db.execute(
                sa.update(t.link)
                .where(t.link.c.event_id == name, t.link.c.digest == digest)
                .values(revoked=True)
            )

    def backup(self, file: Path) -> None:
        """Write a consistent copy of a SQLite database, while it is in use."""
        if self._engine.dialect.name != "sqlite":
            raise Busy("This database has its own tools for backup: pg_dump for PostgreSQL.")
        with self._engine.connect() as db:
            source = db.connection.dbapi_connection
            with closing(sqlite3.connect(file)) as target:
                source.backup(target)  # type: ignore[union-attr]  # the raw SQLite connection

    def _find(self, db: Connection, name: str) -> sa.Row[tuple[object, ...]]:
        row = db.execute(sa.select(t.event).where(t.event.c.id == name)).first()
        if row is None:
            raise NotFound(f"No event “{name}” here.")
        return row


@lru_cache(maxsize=128)
def _read(file: str) -> Event:
    """Return the event of a kept file; the same text is read once."""
    return read_event(file)


def _row(event: Event, mark: str, now: datetime) -> dict[str, object]:
    file = write_event(event)
    _read(file)  # what could not be read again is not kept: it raises FaultyEvent
    return {
        "title": event.title,
        "date": event.date,
        "mark": mark,
        "file": file,
        "put_at": now.astimezone(UTC),
    }


def _tune(connection: object, _record: object) -> None:
    for pragma in (
        "journal_mode=WAL",
        "synchronous=NORMAL",
        "foreign_keys=ON",
        "busy_timeout=5000",
    ):
        connection.execute(f"PRAGMA {pragma}")  # type: ignore[attr-defined]  # the raw DBAPI's


def _step_forward(engine: Engine) -> None:
    """Bring the tables to the newest step."""
    from alembic import command  # noqa: PLC0415  slow to import, needed once at start
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", "events:storage/migrations")
    config.set_main_option("path_separator", "os")
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
