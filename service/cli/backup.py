"""Commands that keep what people wrote: backup, restore, export."""

from __future__ import annotations

import json
import sqlite3
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console

from events.errors import Busy
from events.reading.write import write_event
from service.settings import Settings

if TYPE_CHECKING:
    from events.storage.store import Store

err = Console(stderr=True)
OutFile = Annotated[Path | None, typer.Option("--out", help="Write to a file instead.")]
DataOpt = Annotated[Path, typer.Option(help="Directory of the database.")]
DATA = Path("noonfare-data")


def _store(data: Path) -> Store:
    from events.storage.store import Store

    return Store(Settings(data_dir=data).url())


def backup(file: Path, data: DataOpt = DATA) -> None:
    """Write a copy of the database, also while the service runs."""
    if file.exists():
        raise Busy(f"{file} is there already. Name another file.")
    store = _store(data)
    store.backup(file)
    store.close()
    err.print(f"{file} written", highlight=False)


def restore(file: Path, data: DataOpt = DATA) -> None:
    """Put a backup in the place of the database; what was there is kept beside it."""
    with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as source:
        try:
            (sound,) = source.execute("PRAGMA integrity_check").fetchone()
            source.execute("SELECT count(*) FROM event").fetchone()
        except sqlite3.DatabaseError as error:
            raise Busy(f"{file} is no sound backup: {error}. Nothing was changed.") from None
        if sound != "ok":
            raise Busy(f"{file} is damaged: {sound}. Nothing was changed.")
        data.mkdir(parents=True, exist_ok=True)
        target = data / "noonfare.db"
        if target.exists():
            kept = target.with_suffix(f".before-{datetime.now(UTC):%Y%m%dT%H%M%S}")
            for tail in ("-wal", "-shm"):
                side = Path(f"{target}{tail}")
                if side.exists():
                    side.rename(f"{kept}{tail}")
            target.rename(kept)
            err.print(f"what was there: {kept}", highlight=False)
        with closing(sqlite3.connect(target)) as fresh:
            source.backup(fresh)
    err.print(f"{target} restored from {file}", highlight=False)


def export(event_id: str, file: OutFile = None, data: DataOpt = DATA) -> None:
    """Write all there is of an event as one JSON document: file, plan, diary."""
    store = _store(data)
    kept = store.events.get(event_id)
    plan = store.plans.get(event_id, kept.version)
    whole = {
        "id": kept.id,
        "version": kept.version,
        "file": write_event(kept.event),
        "plan": json.loads(plan.body) if plan.state == "done" else None,
        "diary": [k.model_dump(mode="json") for k in store.diary.entries(event_id)],
    }
    store.close()
    text = json.dumps(whole, indent=1, ensure_ascii=False) + "\n"
    if file is None:
        sys.stdout.write(text)
    else:
        file.write_text(text, encoding="utf-8")
