"""Links: who can sign in, made, shown once, closed; and the pages that they open."""

from __future__ import annotations

from typing import Annotated

from fastapi import Form, Request, Response

from events.errors import NotFound
from events.storage.tables import Role
from service.access import cookie_name, signed_in
from service.application.links import LASTS
from service.charts.qr_code import QrCode
from service.dependencies import Name, ServicesDep
from service.web.context import PageContextDep
from service.web.rendering import page_router, render, see_other

router = page_router()
public_router = page_router()  # who comes by a link has no access yet
Token = Annotated[str, "a link's token"]


@router.get("/e/{name}/links")
def links(context: PageContextDep, services: ServicesDep) -> Response:
    """Show who can sign in, and make links for helpers and the board."""
    names = {h.id: h.name for h in context.event.helpers}
    rows = [
        {
            "digest": link.digest,
            "role": link.role,
            "who": names.get(link.helper_id or "", ""),
            "ends": link.ends_at.astimezone(context.event.zone).date().isoformat(),
            "open": services.links.is_open(link),
        }
        for link in services.links.of_event(context.name)
    ]
    return context.page("links.html", page_path="/links", rows=rows, new_link=None)


@router.post("/e/{name}/links")
def make(
    context: PageContextDep,
    services: ServicesDep,
    request: Request,
    role: Annotated[str, Form(max_length=60)],
) -> Response:
    """Make a link and show it, this once, with its code."""
    least, _, helper_id = role.partition(":")
    roles: dict[str, Role] = {"helper": "helper", "board": "board"}
    known = helper_id in {h.id for h in context.event.helpers}
    if least not in roles or (least == "helper" and not known):
        raise NotFound(f"No “{role}” in {context.name}.")
    token = services.links.make(context.name, roles[least], helper_id=helper_id or None)
    url = f"{request.url.scheme}://{request.url.netloc}/l/{token}"
    return context.page("links.html", page_path="/links", rows=[], new_link=QrCode(url))


@router.post("/e/{name}/links/revoke")
def revoke(
    name: Name, services: ServicesDep, digest: Annotated[str, Form(max_length=64)]
) -> Response:
    """Close a link for good."""
    services.links.revoke(name, digest)
    return see_other(f"/e/{name}/links")


@public_router.get("/l/{token}")
def sign_in(token: Token, services: ServicesDep, request: Request) -> Response:
    """Sign a helper or the board in; an organiser presses once, and the link is spent."""
    link = services.links.resolve_token(token)
    if link is None:
        raise NotFound("This link opens nothing: it may have ended or been closed.")
    if link.role == "organiser":
        return render("door.html", token=token)
    page = f"/jobs/{link.helper_id}" if link.helper_id else "/board"
    response = see_other(f"/e/{link.event_id}{page}")
    own_link = signed_in(request, link.event_id)
    if own_link is not None and own_link.role == "organiser":
        return response  # an organiser who tries a helper's link stays organiser
    return _with_cookie(response, link.event_id, token)


@public_router.post("/l/{token}")
def sign_in_organiser(token: Token, services: ServicesDep) -> Response:
    """Exchange the organiser's link for a cookie; the link itself is spent."""
    fresh = services.links.exchange(token)
    return _with_cookie(see_other(f"/e/{fresh.event_id}"), fresh.event_id, fresh.token)


def _with_cookie(response: Response, name: str, token: str) -> Response:
    response.set_cookie(
        cookie_name(name),
        token,
        max_age=int(LASTS.total_seconds()),
        httponly=True,
        samesite="lax",
        path="/",
    )
    return response
