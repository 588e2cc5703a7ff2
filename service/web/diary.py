"""Presses for the diary, trouble in one press, and what was written down."""

from __future__ import annotations

from bisect import bisect_left
from typing import Annotated

from fastapi import Form, Query, Request, Response

from events.model import Event
from service.access import for_role
from service.application.diary import DiaryEntry
from service.dependencies import Name, ServicesDep
from service.text import formatting
from service.text.messages import PRESSED
from service.web.context import PageContextDep
from service.web.press import PressForm, new_press_id
from service.web.rendering import page_router, see_other

router = page_router()
PAGE = 200  # entries at a time


@router.post("/e/{name}/diary")
@for_role("helper")
def press(name: Name, services: ServicesDep, form: Annotated[PressForm, Form()]) -> Response:
    """Write a press down, and go back to where it was pressed."""
    services.diary.write_down(name, form.entry(services.now()))
    of_this_event = form.back.startswith(f"/e/{name}")
    return see_other(form.back if of_this_event else f"/e/{name}/diary")


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


@router.get("/e/{name}/jobs/{helper_id}/trouble")
@for_role("helper")
def trouble(context: PageContextDep, helper_id: Name, request: Request) -> Response:
    """Show what can be wrong, one press each."""
    keys = ("cooker_id", "placement_id", "job_id")
    return context.page(
        "trouble.html",
        helper=context.event.helper(helper_id),
        ask={key: request.query_params.get(key, "")[:80] for key in keys},
        press_id=new_press_id(),
    )


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
