"""Presses for the diary, trouble in one press, and what was written down."""

from __future__ import annotations

import secrets
from typing import Annotated

from fastapi import Form, Request, Response
from fastapi.responses import RedirectResponse
from pydantic import ValidationError

from events.diary import Entry, EntryKind
from events.errors import WHOLE_FILE, FaultyEvent, NotFound
from events.reading.model_faults import faults_of
from service import access
from service.application.desk import Written
from service.dependencies import AtDesk, Name
from service.text import formatting
from service.text import messages as words
from service.web.context import PageContext

router = access.gated_pages()
Back = Annotated[str, Form(max_length=200)]


@router.post("/e/{name}/diary")
def press(
    name: Name,
    desk: AtDesk,
    kind: Annotated[EntryKind, Form()],
    back: Back = "",
    id: Annotated[str, Form()] = "",
    plan: Annotated[str, Form()] = "",
    helper_id: Annotated[str, Form()] = "",
    cooker_id: Annotated[str, Form()] = "",
    placement_id: Annotated[str, Form()] = "",
    job_id: Annotated[str, Form()] = "",
    reading: Annotated[str, Form(max_length=12)] = "",
    degrees: Annotated[str, Form(max_length=2)] = "c",
    minutes: Annotated[str, Form(max_length=4)] = "",
    note: Annotated[str, Form()] = "",
    undoes: Annotated[str, Form()] = "",
) -> Response:
    """Write a press down, and go back to where it was pressed."""
    try:
        core_c = float(reading.replace(",", ".")) if reading else None
        if core_c is not None and degrees.lower() == "f":
            core_c = round((core_c - 32) * 5 / 9, 1)
        entry = Entry(
            id=id or secrets.token_urlsafe(9),
            kind=kind,
            at=desk.now(),
            plan=plan,
            helper_id=helper_id or None,
            cooker_id=cooker_id or None,
            placement_id=placement_id or None,
            job_id=job_id or None,
            core_c=core_c,
            minutes=int(minutes) if minutes else None,
            note=note,
            undoes=undoes or None,
        )
    except ValidationError as error:
        raise FaultyEvent("the press", faults_of(error, WHOLE_FILE)) from None
    except ValueError:
        shown = reading or minutes
        fault = WHOLE_FILE.fault("reading", f"“{shown}”", "is not a number", "Write 78 or 78.5.")
        raise FaultyEvent("the press", [fault]) from None
    desk.write_down(name, entry)
    where = back if back.startswith(f"/e/{name}") else f"/e/{name}/diary"
    return RedirectResponse(where, status_code=303)


@router.get("/e/{name}/diary")
def diary(name: Name, desk: AtDesk) -> Response:
    """Show all that was written down, newest first, with what contradicts the plan."""
    seen = PageContext(desk, name)
    return seen.page("diary.html", here="/diary", entries=_told(seen, desk.diary_of(name)))


def _told(seen: PageContext, entries: list[Written]) -> list[dict[str, object]]:
    names = {h.id: h.name for h in seen.event.helpers}
    cookers = {c.id: c.name for c in seen.event.cookers}
    out: list[dict[str, object]] = []
    for w in reversed(entries):
        e = w.kept.entry
        out.append(
            {
                "id": e.id,
                "at": formatting.clock(seen.event, w.kept.happened_at),
                "what": words.PRESSED[e.kind],
                "who": names.get(e.helper_id or "", ""),
                "where": cookers.get(e.cooker_id or "", ""),
                "food": w.food,
                "reading": "" if e.core_c is None else formatting.temp(seen.event, e.core_c),
                "minutes": e.minutes,
                "note": e.note,
                "conflict": w.conflict,
                "undone": w.undone,
                "undo": e.kind == "undo",
            }
        )
    return out


@router.get("/e/{name}/jobs/{helper_id}/trouble")
def trouble(name: Name, helper_id: Name, desk: AtDesk, request: Request) -> Response:
    """Show what can be wrong, one press each."""
    seen = PageContext(desk, name)
    helper = next((h for h in seen.event.helpers if h.id == helper_id), None)
    if helper is None:
        raise NotFound(f"No helper “{helper_id}” in {name}.")
    ask = {k: request.query_params.get(k, "")[:80] for k in ("cooker_id", "placement_id", "job_id")}
    return seen.page("trouble.html", helper=helper, ask=ask, press_id=secrets.token_urlsafe(9))
