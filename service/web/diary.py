"""Presses for the diary, from forms and from phones' queues, and what was written down."""

from __future__ import annotations

from bisect import bisect_left
from typing import Annotated

from fastapi import Form, Query, Request, Response
from fastapi.responses import JSONResponse

from events.model import Event
from service.access import for_role
from service.application.diary import DiaryEntry
from service.dependencies import Name, ServicesDep
from service.text import formatting
from service.text.messages import PRESSED
from service.web.context import PageContextDep
from service.web.press import PressForm
from service.web.rendering import page_router, see_other

router = page_router()
JSON = "application/json"
PAGE = 200  # entries at a time


@router.post("/e/{name}/diary")
@for_role("helper")
def press(
    name: Name, services: ServicesDep, request: Request, form: Annotated[PressForm, Form()]
) -> Response:
    """Write a press down. A form goes back to where it was pressed.

    A phone's queue, which asks for JSON, is told which press is safe here: only then it lets go.
    """
    entry = form.entry(services.now())
    stored = services.diary.write_down(name, entry).stored
    if request.headers.get("accept") == JSON:
        return JSONResponse({"confirms": entry.id, "id": stored.entry.id, "number": stored.number})
    of_this_event = form.back.startswith(f"/e/{name}")
    back = form.back.replace("{kind}", form.kind)  # trouble goes to what is to be done now
    return see_other(back if of_this_event else f"/e/{name}/diary")


@router.get("/e/{name}/diary")
def diary(
    context: PageContextDep,
    services: ServicesDep,
    before: Annotated[int | None, Query(ge=1, le=2**31)] = None,
) -> Response:
    """Show what was written down, newest first, some at a time, with what contradicts the plan."""
    entries = services.diary.entries(context.name)
    end = len(entries) if before is None else bisect_left(entries, before, key=_number)
    shown = entries[max(0, end - PAGE) : end]
    rows = [_row(context.event, e) for e in reversed(shown)]
    older = _number(shown[0]) if shown and end > PAGE else None
    return context.page("diary.html", page_path="/diary", entries=rows, older=older)


def _number(written: DiaryEntry) -> int:
    return written.stored.number


def _row(event: Event, written: DiaryEntry) -> dict[str, object]:
    entry = written.stored.entry
    helpers = {h.id: h.name for h in event.helpers}
    cookers = {c.id: c.name for c in event.cookers}
    return {
        "id": entry.id,
        "at": formatting.clock(event, written.stored.happened_at),
        "what": PRESSED[entry.kind],
        "who": helpers.get(entry.helper_id or "", ""),
        "where": cookers.get(entry.cooker_id or "", ""),
        "food": written.food,
        "reading": "" if entry.core_c is None else formatting.temp(event, entry.core_c),
        "minutes": entry.minutes,
        "note": entry.note,
        "conflict": written.conflict,
        "undone": written.undone,
        "undo": entry.kind == "undo",
    }
