"""Commands that keep what people wrote: backup, restore, export, archive, a link."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from service.cli.output import OutFile, err, out, write
from service.settings import Settings

DataOpt = Annotated[Path, typer.Option(help="Directory of the database.")]
DATA = Path("noonfare-data")


def backup(file: Path, data: DataOpt = DATA) -> None:
    """Write a copy of the database, also while the service runs."""
    from service.application.backup import back_up

    back_up(Settings(data_dir=data), file)
    err.print(f"{file} written", highlight=False)


def archive(
    before: Annotated[datetime, typer.Option(formats=["%Y-%m-%d"], help="Events before this day.")],
    folder: Annotated[Path, typer.Option("--to", help="Folder for their documents.")],
    data: DataOpt = DATA,
) -> None:
    """Write old events out, a document each, and take them out of the database."""
    from service.application.backup import archive as archive_events

    for file in archive_events(Settings(data_dir=data), before=before.date(), folder=folder):
        out.print(str(file), highlight=False, soft_wrap=True)


def link(
    event_id: str,
    data: DataOpt = DATA,
    base: Annotated[str, typer.Option(help="Address of the service.")] = "http://127.0.0.1:8008",
) -> None:
    """Make an organiser's link to an event, for whoever lost theirs."""
    from service.application.backup import organisers_link

    token = organisers_link(Settings(data_dir=data), event_id)
    out.print(f"{base.rstrip('/')}/l/{token}", highlight=False, soft_wrap=True)
    err.print("It signs one browser in, once, and ends by itself.", highlight=False)


def restore(file: Path, data: DataOpt = DATA) -> None:
    """Put a backup in the place of the database; what was there is kept beside it."""
    from service.application.backup import put_back

    target = data / "noonfare.db"
    before = put_back(file, target)
    if before is not None:
        err.print(f"what was there: {before}", highlight=False)
    err.print(f"{target} restored from {file}", highlight=False)


def export(event_id: str, file: OutFile = None, data: DataOpt = DATA) -> None:
    """Write all there is of an event as one JSON document: file, plan, diary."""
    from service.application.backup import export as export_event

    write(export_event(Settings(data_dir=data), event_id), file)
