"""Links: who can come in, made, shown once, closed; and the doors they open."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from events.errors import NotFound
from service import access
from service.charts import qr_code
from service.dependencies import AtDesk, Name
from service.web.context import PageContext, page_of

router = access.gated_pages()
doors = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.get("/e/{name}/links")
def links(name: Name, desk: AtDesk) -> Response:
    """Show who can come in, and make links for helpers and the board."""
    seen = PageContext(desk, name)
    zone = seen.event.zone
    rows = [
        {
            "digest": k.digest,
            "role": k.role,
            "who": next((h.name for h in seen.event.helpers if h.id == k.helper_id), ""),
            "ends": k.ends_at.astimezone(zone).date().isoformat(),
            "open": not k.revoked and k.ends_at > seen.at,
        }
        for k in desk.store.links.of_event(name)
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
    return seen.page("links.html", here="/links", rows=[], made=qr_code.QrCode(url))


@router.post("/e/{name}/links/revoke")
def revoke(name: Name, desk: AtDesk, digest: Annotated[str, Form(max_length=64)]) -> Response:
    """Close a link for good."""
    desk.store.links.revoke(name, digest)
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
    desk.store.links.revoke(link.event_id, link.digest)
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
