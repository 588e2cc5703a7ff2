"""What processes on one PostgreSQL tell each other at once: work that ended, events with news."""

from __future__ import annotations

import logging
from collections.abc import Callable
from threading import Event, Thread

import psycopg
from sqlalchemy import make_url

from events.storage.database import CHANNEL

WAIT_S = 1.0  # so often the listener looks whether it shall end
AGAIN_S = 2.0  # after the server went away
log = logging.getLogger("noonfare")


def conninfo_of(url: str) -> str:
    """Return a database's URL as the PostgreSQL library takes it."""
    plain = make_url(url).set(drivername="postgresql")
    return plain.render_as_string(hide_password=False)


class PostgresChannel:
    """Hears in a thread what any process tells (`Store.tell`), this one included."""

    def __init__(self, url: str, receive: Callable[[str], None]) -> None:
        self._conninfo, self._receive = conninfo_of(url), receive
        self._closing = Event()
        self._thread = Thread(target=self._listen, daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Hear no more."""
        self._closing.set()
        self._thread.join()

    def _listen(self) -> None:
        while not self._closing.is_set():
            try:
                with psycopg.connect(self._conninfo, autocommit=True, connect_timeout=3) as db:
                    db.execute(f"LISTEN {CHANNEL}")
                    while not self._closing.is_set():
                        for notice in db.notifies(timeout=WAIT_S):
                            self._receive(notice.payload)
            except psycopg.OperationalError:
                self._closing.wait(AGAIN_S)
