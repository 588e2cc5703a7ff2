"""JSON of the diary: presses written down, and read back in order."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from pydantic import BaseModel

from events.diary import Entry, StoredEntry
from service.access import for_role
from service.api.responses import REFUSALS
from service.application.diary import DiaryEntry
from service.dependencies import Name, ServicesDep

router = APIRouter(prefix="/api", tags=["noonfare"])


class DiaryLine(BaseModel):
    """An entry as it is stored, and how it stands to the newest plan."""

    stored: StoredEntry
    conflict: str
    undone: bool


@router.post("/events/{name}/diary", responses=REFUSALS)
@for_role("helper")
def write_down(name: Name, services: ServicesDep, entry: Entry) -> DiaryLine:
    """Append a press to the diary. The same id sent again counts once."""
    return _line(services.diary.write_down(name, entry))


@router.get("/events/{name}/diary", responses=REFUSALS)
@for_role("helper")
def read_diary(
    name: Name, services: ServicesDep, after: Annotated[int, Query(ge=0, le=2**31)] = 0
) -> list[DiaryLine]:
    """Return what was written down after entry number `after`, in order."""
    return [_line(e) for e in services.diary.entries(name, after=after)]


def _line(entry: DiaryEntry) -> DiaryLine:
    return DiaryLine(stored=entry.stored, conflict=entry.conflict, undone=entry.undone)
