"""Files that people send, read in a process of its own that can be stopped in the middle.

Whatever a reader can be made to do by a hostile file, pages go on, and memory is given back.
"""

from __future__ import annotations

from concurrent.futures import Future
from typing import Literal, cast

from pydantic import BaseModel, ConfigDict

from events.model import Cooker, Event
from events.reading.event_file import read_event, read_json
from events.reading.own_file import own_from
from service.application.asker import ASKER
from service.application.lanes import Order
from service.application.solver_pool import Limits, Solvers
from service.application.waiting import Waiting

READER_LIMITS = Limits(memory_mb=500, work_s=10.0)
READERS = 2  # so that one file that takes long does not hold all others
READER_NICE = 5  # somebody looks at the page that waits for it: before solves, after pages


class SentFile(BaseModel):
    """A file as it was sent, and what it is called."""

    model_config = ConfigDict(frozen=True)

    text: str
    source: str
    form: Literal["toml", "json"] = "toml"


class ReadingService:
    """Reads files of strangers."""

    def __init__(self, reader: Solvers) -> None:
        self._reader = reader

    def event(self, file: SentFile) -> Waiting[Event]:
        """Read an event; the answer raises FaultyEvent with every fault."""
        future = self._reader.submit(event_job, file.model_dump_json(), _order())
        return Waiting(cast("Future[object]", future), lambda r: cast("Event", r))

    def own_cookers(self, text: str) -> Waiting[list[Cooker]]:
        """Read a file of own cookers; the answer raises FaultyEvent with every fault."""
        future = self._reader.submit(own_cookers_job, text, _order())
        return Waiting(cast("Future[object]", future), lambda r: cast("list[Cooker]", r))


def event_job(payload: str) -> Event:
    """Read an event file."""
    file = SentFile.model_validate_json(payload)
    read = read_json if file.form == "json" else read_event
    return read(file.text, source=file.source)


def own_cookers_job(payload: str) -> list[Cooker]:
    """Read a file of own cookers."""
    return own_from(payload)


def _order() -> Order:
    return Order(origin=ASKER.get())
