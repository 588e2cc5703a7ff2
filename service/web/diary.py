"""Pages of the hand: presses for the diary, trouble, what was written; the board; links."""

from __future__ import annotations

import secrets
from datetime import timedelta
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from pydantic import ValidationError

from events.diary import Entry, EntryKind
from events.errors import Fault, FaultyEvent, NotFound
from events.reading.event_file import zone_of
from service import access
from service.api.events import AtDesk, Name
from service.application.desk import Written
from service.text import messages as words
from service.text.board import board_rows, sun_now
from service.web.day import PageContext, page_of

router = access.gated_pages()
doors = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)
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
        faults = [
            Fault("", str(e["loc"][0]), repr(e["input"]), e["msg"], "") for e in error.errors()
        ]
        raise FaultyEvent("the press", faults) from None
    except ValueError:
        shown = reading or minutes
        fault = Fault("", "reading", f"“{shown}”", "is not a number", "Write 78 or 78.5.")
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
                "at": words.clock(seen.event, w.kept.happened_at),
                "what": words.PRESSED[e.kind],
                "who": names.get(e.helper_id or "", ""),
                "where": cookers.get(e.cooker_id or "", ""),
                "food": w.food,
                "reading": "" if e.core_c is None else words.temp(seen.event, e.core_c),
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


@router.get("/e/{name}/board")
def board(name: Name, desk: AtDesk) -> Response:
    """Show the visitors what cooks where, how hot, ready when; no names of helpers."""
    seen = PageContext(desk, name)
    if seen.found.plan is None:
        return seen.counting()
    at = seen.now or min(
        (p.loaded_at + timedelta(minutes=45) for p in seen.found.plan.placements),
        default=seen.found.plan.sun[0].at,
    )
    entries = [w.kept for w in desk.diary_of(name) if not w.undone]
    return seen.page(
        "board.html",
        rows=board_rows(seen.event, seen.found.plan, at, entries),
        sun=sun_now(seen.found.plan, at),
    )


@router.get("/e/{name}/links")
def links(name: Name, desk: AtDesk) -> Response:
    """Show who can come in, and make links for helpers and the board."""
    seen = PageContext(desk, name)
    zone = zone_of(seen.event)
    rows = [
        {
            "digest": k.digest,
            "role": k.role,
            "who": next((h.name for h in seen.event.helpers if h.id == k.helper_id), ""),
            "ends": k.ends_at.astimezone(zone).date().isoformat(),
            "open": not k.revoked and k.ends_at > seen.at,
        }
        for k in desk.store.links(name)
    ]
    return seen.page("links.html", here="/links", rows=rows, made=None)


@router.post("/e/{name}/links")
def make(
    name: Name, desk: AtDesk, request: Request, role: Annotated[str, Form(max_length=60)]
) -> Response:
    """Make a link and show it, this once, with its code."""
    seen = PageContext(desk, name)
    kind, _, helper_id = role.partition(":")
    if kind not in ("helper", "board") or (
        kind == "helper" and helper_id not in {h.id for h in seen.event.helpers}
    ):
        raise NotFound(f"No “{role}” in {name}.")
    token = access.make_link(
        desk.store,
        name,
        "helper" if kind == "helper" else "board",
        now=seen.at,
        helper_id=helper_id or None,
    )
    url = f"{request.url.scheme}://{request.url.netloc}/l/{token}"
    return seen.page("links.html", here="/links", rows=[], made=words.QrCode(url))


@router.post("/e/{name}/links/revoke")
def revoke(name: Name, desk: AtDesk, digest: Annotated[str, Form(max_length=64)]) -> Response:
    """Close a link for good."""
    desk.store.revoke(name, digest)
    return RedirectResponse(f"/e/{name}/links", status_code=303)


@doors.get("/l/{token}")
def come_in(token: Annotated[str, "a link's token"], desk: AtDesk, request: Request) -> Response:
    """Take a helper or the board in; an organiser presses once, and the link is spent."""
    link = access.opened(desk.store, token, now=desk.now())
    if link is None:
        raise NotFound("This link opens nothing: it may have ended or been closed.")
    if link.role == "organiser":
        return page_of("door.html", token=token)
    where = f"/jobs/{link.helper_id}" if link.helper_id else "/board"
    there = RedirectResponse(f"/e/{link.event_id}{where}", 303)
    own = request.cookies.get(access.cookie_name(link.event_id))
    held = access.opened(desk.store, own, now=desk.now())
    if held is not None and held.role == "organiser":
        return there  # an organiser who tries a helper's link keeps the larger key
    return _with_cookie(there, link.event_id, token)


@doors.post("/l/{token}")
def exchange(token: Annotated[str, "a link's token"], desk: AtDesk) -> Response:
    """Exchange the organiser's link for a cookie; the link itself is spent."""
    link = access.opened(desk.store, token, now=desk.now())
    if link is None or link.role != "organiser":
        raise NotFound("This link opens nothing: it may have ended or been used.")
    fresh = access.make_link(desk.store, link.event_id, "organiser", now=desk.now())
    desk.store.revoke(link.event_id, link.digest)
    return _with_cookie(RedirectResponse(f"/e/{link.event_id}", 303), link.event_id, fresh)


def _with_cookie(response: Response, name: str, token: str) -> Response:
    response.set_cookie(
        access.cookie_name(name),
        token,
        max_age=int(access.LASTS.total_seconds()),
        httponly=True,
        samesite="lax",
        path="/",
    )
    return response
