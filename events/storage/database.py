"""The connection to the database, its tables brought to the newest step."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import AbstractContextManager, closing
from pathlib import Path
from typing import Any, TypeVar

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from events.errors import Busy

TRIES = 5  # of a write that needs a name or number that another may take in the same moment
CONNECTIONS = 15  # to a file, by one process: kept, for opening one takes longer than a question
CHANNEL = "noonfare"  # on which processes on one PostgreSQL tell each other
LOCK_WAIT_S = 3  # for another writer; then whoever asked is told to send it again
T = TypeVar("T")


class Database:
    """An open database: SQLite in WAL by default, any SQLAlchemy URL otherwise."""

    def __init__(self, url: str) -> None:
        # No parameters in messages: notes of the diary would stand in the log.
        self._engine: Engine = sa.create_engine(url, hide_parameters=True, **_pool(url))
        if self._engine.dialect.name == "sqlite":
            sa.event.listen(self._engine, "connect", _tune)
        try:
            _step_forward(self._engine)
        except BaseException:
            self._engine.dispose()
            raise

    def close(self) -> None:
        """Give the connections back."""
        self._engine.dispose()

    def connect(self) -> Connection:
        """Return a connection to read by; leaving it gives it back."""
        return self._engine.connect()

    def begin(self) -> AbstractContextManager[Connection]:
        """Return a transaction: all of it is written, or nothing."""
        return self._engine.begin()

    def retried(self, write: Callable[[Connection], T], busy: Busy) -> T:
        """Write in one transaction, again where another took the same name or number."""
        for _ in range(TRIES):
            try:
                with self._engine.begin() as db:
                    return write(db)
            except sa.exc.IntegrityError:
                continue
        raise busy

    def tell(self, word: str) -> None:
        """Tell every process that listens a word; a file has nobody who listens."""
        if self._engine.dialect.name == "postgresql":
            with self._engine.begin() as db:
                db.execute(sa.select(sa.func.pg_notify(CHANNEL, word)))

    def backup(self, file: Path) -> None:
        """Write a consistent copy of a SQLite database, while it is in use."""
        if self._engine.dialect.name != "sqlite":
            raise Busy(kind="no-backup")
        with self._engine.connect() as db:
            source = db.connection.dbapi_connection
            with closing(sqlite3.connect(file)) as target:
                source.backup(target)  # type: ignore[union-attr]  # the raw SQLite connection


def _pool(url: str) -> dict[str, Any]:
    """Return how connections are kept. A server's may have gone, and wait as long as SQLite's."""
    if sa.make_url(url).get_backend_name() == "postgresql":
        return {
            "pool_pre_ping": True,
            "connect_args": {"options": f"-c lock_timeout={LOCK_WAIT_S}s"},
        }
    return {"pool_size": CONNECTIONS, "max_overflow": 0}


def _tune(connection: object, _record: object) -> None:
    for pragma in (
        "journal_mode=WAL",
        # A press that was acknowledged outlives a power cut: NORMAL may lose the last of them.
        # What is stored in a second is little, so the wait for the disk is paid for all of it.
        "synchronous=FULL",
        "foreign_keys=ON",
        f"busy_timeout={LOCK_WAIT_S * 1000}",
    ):
        connection.execute(f"PRAGMA {pragma}")  # type: ignore[attr-defined]  # the raw DBAPI's


def _step_forward(engine: Engine) -> None:
    """Bring the tables to the newest step: all the way, or, killed on the way, not at all."""
    from alembic import command  # noqa: PLC0415  slow to import, needed once at start
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", "events:storage/migrations")
    config.set_main_option("path_separator", "os")
    with engine.begin() as connection:
        if engine.dialect.name == "sqlite":
            # Its driver begins a transaction for rows alone; tables half made could not be opened.
            connection.exec_driver_sql("BEGIN IMMEDIATE")
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
