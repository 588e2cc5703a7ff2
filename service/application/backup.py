"""The database as a whole, for whoever sits at the machine: copied, put back, written out."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

from events.errors import Busy
from events.reading.write import write_event
from events.storage.store import Store
from service.application.holding import Holding
from service.application.links import make_link
from service.clock import system_clock
from service.settings import Settings


def back_up(settings: Settings, file: Path) -> None:
    """Write a copy of the database, also while the service runs."""
    if file.exists():
        raise Busy(f"{file} is there already. Name another file.")
    with closing(Store(settings.url())) as store:
        store.backup(file)


def put_back(file: Path, target: Path) -> Path | None:
    """Put a backup in the place of a database; return where that one lies now, if there was one.

    Raises Busy while a service uses it.
    """
    with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as source:
        _require_sound(source, file)
        with closing(Holding(target, alone=True)):
            before = _put_aside(target) if target.exists() else None
            with closing(sqlite3.connect(target)) as fresh:
                source.backup(fresh)
    return before


def export(settings: Settings, name: str) -> str:
    """Return all there is of an event as one JSON document: file, plan, diary, own cookers."""
    with closing(Store(settings.url())) as store:
        return _export(store, name)


def archive(settings: Settings, *, before: date, folder: Path) -> list[Path]:
    """Write every event before a day out to a folder and take it out of the database."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    with closing(Store(settings.url())) as store:
        for name in store.events.before(before):
            file = folder / f"{name}.json"
            if file.exists():
                raise Busy(f"{file} is there already. Name another folder.")
            file.write_text(_export(store, name), encoding="utf-8")
            store.events.remove(name)
            written.append(file)
    return written


def _export(store: Store, name: str) -> str:
    stored = store.events.get(name)
    plan = store.plans.get(name, stored.version)
    whole = {
        "id": stored.id,
        "version": stored.version,
        "file": write_event(stored.event),
        "plan": json.loads(plan.body) if plan.state == "done" else None,
        "diary": [e.model_dump(mode="json") for e in store.diary.entries(name)],
        "own_cookers": [o.cooker.model_dump(mode="json") for o in store.own_cookers.of([name])],
    }
    return json.dumps(whole, indent=1, ensure_ascii=False)


def organisers_link(settings: Settings, name: str) -> str:
    """Make an organiser's link to an event and return its token; raises NotFound."""
    with closing(Store(settings.url())) as store:
        return make_link(store, name, "organiser", now=system_clock())


def _require_sound(source: sqlite3.Connection, file: Path) -> None:
    try:
        (sound,) = source.execute("PRAGMA integrity_check").fetchone()
        source.execute("SELECT count(*) FROM event").fetchone()
    except sqlite3.DatabaseError as error:
        raise Busy(f"{file} is no sound backup: {error}. Nothing was changed.") from None
    if sound != "ok":
        raise Busy(f"{file} is damaged: {sound}. Nothing was changed.")


def _put_aside(target: Path) -> Path:
    aside = target.with_suffix(f".before-{datetime.now(UTC):%Y%m%dT%H%M%S}")
    for tail in ("-wal", "-shm"):
        side = Path(f"{target}{tail}")
        if side.exists():
            side.rename(f"{aside}{tail}")
    target.rename(aside)
    return aside
