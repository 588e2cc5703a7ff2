"""EVENT as the command takes it: a file, or the name of a sample."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from events.errors import NotFound
from events.model import Event
from events.reading.event_file import load_event, read_event
from events.reading.samples import sample_names, sample_text

EventArg = Annotated[str, typer.Argument(metavar="EVENT", help="A file, or a sample's name.")]


def event_named(name: str) -> Event:
    """Return the event of a file or of a sample; raises FaultyEvent or NotFound."""
    path = Path(name)
    if not path.exists() and name in sample_names():
        return read_event(sample_text(name), source=name)
    if not path.exists() and not path.suffix:
        known = ", ".join(sample_names())
        raise NotFound(f"No file and no sample “{name}”. Samples: {known}.")
    return load_event(path)
