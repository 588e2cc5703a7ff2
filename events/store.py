"""The one place that speaks to the database: events by version, and each version's plan.

SQLite in WAL by default, any SQLAlchemy URL otherwise. An event is kept as its file's text; a
plan is kept as asked, done or broken, and is never changed once it is done.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Literal

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from events.diary import Entry, KeptEntry, happened_at
from events.errors import Busy, NotFound, StaleVersion
from events.files import event_id, read_event, slug, write_event
from events.model import Event

PlanState = Literal["asked", "done", "broken"]
Role = Literal["organiser", "helper", "board"]

_meta = sa.MetaData()
_event = sa.Table(
    "event",
    _meta,
    sa.Column("id", sa.String(64), primary_key=True),
    sa.Column("version", sa.Integer, nullable=False),
    sa.Column("title", sa.String(80), nullable=False),
    sa.Column("date", sa.Date, nullable=False),
    sa.Column("mark", sa.String(12), nullable=False),
    sa.Column("file", sa.Text, nullable=False),
    sa.Column("put_at", sa.DateTime(timezone=True), nullable=False),
)
_plan = sa.Table(
    "plan",
    _meta,
    sa.Column("event_id", sa.ForeignKey("event.id"), primary_key=True),
    sa.Column("version", sa.Integer, primary_key=True),
    sa.Column("state", sa.String(8), nullable=False),
    sa.Column("body", sa.Text, nullable=False),
    sa.Column("made_at", sa.DateTime(timezone=True)),
)

_diary = sa.Table(
    "diary",
    _meta,
    sa.Column("event_id", sa.ForeignKey("event.id"), primary_key=True),
    sa.Column("id", sa.String(64), primary_key=True),
    sa.Column("number", sa.Integer, nullable=False),
    sa.Column("heard_at", sa.DateTime(timezone=True), nullable=False),
    sa.Column("body", sa.Text, nullable=False),
)
_link = sa.Table(
    "link",
    _meta,
    sa.Column("digest", sa.String(64), primary_key=True),
    sa.Column("event_id", sa.ForeignKey("event.id"), nullable=False),
    sa.Column("role", sa.String(12), nullable=False),
    sa.Column("helper_id", sa.String(40)),
    sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
    sa.Column("revoked", sa.Boolean, nullable=False),
)


@dataclass(frozen=True)
class Kept:
    """An event as it is kept: `mark` is its fingerprint, `version` counts its changes."""

    id: str
    version: int
    mark: str
    title: str
    date: date
    event: Event


@dataclass(frozen=True)
class KeptPlan:
    """A plan as it is kept; `body` is its JSON when done, what broke when broken."""

    event_id: str
    version: int
    state: PlanState
    body: str
    made_at: datetime | None


@dataclass(frozen=True)
class Link:
    """Who may come in by a link: only its digest is kept, never the link."""

    digest: str
    event_id: str
    role: Role
    helper_id: str | None
    ends_at: datetime
    revoked: bool = False


def _kept_entry(row: sa.Row[tuple[object, ...]]) -> KeptEntry:
    entry = Entry.model_validate_json(row.body)
    heard_at = row.heard_at.replace(tzinfo=UTC)
    return KeptEntry(
        entry=entry,
        heard_at=heard_at,
        happened_at=happened_at(entry, heard_at),
        number=row.number,
    )


def _kept_link(row: sa.Row[tuple[object, ...]]) -> Link:
    ends_at = row.ends_at.replace(tzinfo=UTC)
    return Link(row.digest, row.event_id, row.role, row.helper_id, ends_at, row.revoked)


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
            same = db.execute(sa.select(_event.c.id).where(_event.c.mark == mark)).first()
            if same is not None:
                return str(same.id)
            stem = name = slug(event)
            taken = {r.id for r in db.execute(sa.select(_event.c.id))}
            number = 1
            while name in taken:
                number += 1
                name = f"{stem}-{number}"
            db.execute(sa.insert(_event).values(id=name, version=1, **_row(event, mark, now)))
            db.execute(sa.insert(_plan).values(event_id=name, version=1, state="asked", body=""))
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
            done = db.execute(
                sa.update(_event)
                .where(_event.c.id == name, _event.c.version == kept.version)
                .values(version=version, **_row(event, event_id(event), now))
            )
            if done.rowcount != 1:
                raise StaleVersion(name, kept.mark)
            db.execute(
                sa.insert(_plan).values(event_id=name, version=version, state="asked", body="")
            )
        return self.get(name)

    def get(self, name: str) -> Kept:
        """Return an event; raises NotFound."""
        with self._engine.connect() as db:
            row = self._find(db, name)
        event = read_event(row.file, source=name)
        return Kept(row.id, row.version, row.mark, row.title, row.date, event)

    def names(self) -> list[tuple[str, str, date]]:
        """Return (id, title, date) of every event, latest date first."""
        query = sa.select(_event.c.id, _event.c.title, _event.c.date)
        with self._engine.connect() as db:
            rows = db.execute(query.order_by(_event.c.date.desc(), _event.c.id)).all()
        return [(r.id, r.title, r.date) for r in rows]

    def plan(self, name: str, version: int) -> KeptPlan:
        """Return the plan of one version of an event; raises NotFound."""
        query = sa.select(_plan).where(_plan.c.event_id == name, _plan.c.version == version)
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
                sa.update(_plan)
                .where(
                    _plan.c.event_id == name, _plan.c.version == version, _plan.c.state == "asked"
                )
                .values(state=state, body=body, made_at=now)
            )

    def asked(self) -> list[tuple[str, int]]:
        """Return the plans still to be made: (event id, version)."""
        query = sa.select(_plan.c.event_id, _plan.c.version).where(_plan.c.state == "asked")
        with self._engine.connect() as db:
            return [(r.event_id, r.version) for r in db.execute(query)]

    def write_down(self, name: str, entry: Entry, *, now: datetime) -> KeptEntry:
        """Append an entry to an event's diary; the same id again is the entry that is there."""
        for _ in range(5):
            try:
                with self._write() as db:
                    self._find(db, name)
                    there = db.execute(
                        sa.select(_diary).where(_diary.c.event_id == name, _diary.c.id == entry.id)
                    ).first()
                    if there is not None:
                        return _kept_entry(there)
                    last = sa.select(sa.func.coalesce(sa.func.max(_diary.c.number), 0))
                    number = db.execute(last.where(_diary.c.event_id == name)).scalar_one() + 1
                    db.execute(
                        sa.insert(_diary).values(
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
        query = sa.select(_diary).where(_diary.c.event_id == name, _diary.c.number > after)
        with self._engine.connect() as db:
            self._find(db, name)
            return [_kept_entry(r) for r in db.execute(query.order_by(_diary.c.number))]

    def add_link(self, link: Link) -> None:
        """Keep a link's digest and what it opens."""
        with self._write() as db:
            db.execute(sa.insert(_link).values(**vars(link)))

    def link(self, digest: str) -> Link | None:
        """Return what a digest opens, if it is known; whether it still does is the caller's."""
        with self._engine.connect() as db:
            row = db.execute(sa.select(_link).where(_link.c.digest == digest)).first()
        return _kept_link(row) if row else None

    def links(self, name: str) -> list[Link]:
        """Return an event's links."""
        query = sa.select(_link).where(_link.c.event_id == name).order_by(_link.c.role)
        with self._engine.connect() as db:
            return [_kept_link(r) for r in db.execute(query)]

    def revoke(self, name: str, digest: str) -> None:
        """Close a link for good."""
        with self._write() as db:
            db.execute(
                sa.update(_link)
                .where(_link.c.event_id == name, _link.c.digest == digest)
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
        row = db.execute(sa.select(_event).where(_event.c.id == name)).first()
        if row is None:
            raise NotFound(f"No event “{name}” here.")
        return row


def _row(event: Event, mark: str, now: datetime) -> dict[str, object]:
    return {
        "title": event.title,
        "date": event.date,
        "mark": mark,
        "file": write_event(event),
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
    config.set_main_option("script_location", "events:migrations")
    config.set_main_option("path_separator", "os")
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
