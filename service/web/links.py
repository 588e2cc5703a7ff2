"""Links: who can sign in, made, shown once, closed; and the pages that they open."""

from __future__ import annotations

from typing import Annotated

from fastapi import Form, Request, Response

from events.errors import NotFound
from events.storage.tables import Role
from service.access import for_role, signed_in
from service.charts.qr_code import QrCode
from service.dependencies import Name, ServicesDep
from service.web.context import PageContextDep
from service.web.keys import KEPT, keep_key, link_url, page_of, with_link_to_keep
from service.web.rendering import page_router, render, see_other

router = page_router()
public_router = page_router()  # who comes by a link has no access yet
Token = Annotated[str, "a link's token"]


@router.get("/e/{name}/links")
def links(context: PageContextDep, services: ServicesDep) -> Response:
    """Show who can sign in, and make links for helpers, the board and a second organiser."""
    names = {h.id: h.name for h in context.stored.event.helpers}
    rows = [
        {
            "digest": link.digest,
            "role": link.role,
            "who": names.get(link.helper_id or "", ""),
            "ends": link.ends_at.astimezone(context.stored.event.zone).date().isoformat(),
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
    roles: dict[str, Role] = {"helper": "helper", "board": "board", "organiser": "organiser"}
    known = helper_id in {h.id for h in context.stored.event.helpers}
    if least not in roles or (least == "helper" and not known):
        raise NotFound(f"No “{role}” in {context.name}.")
    token = services.links.make(context.name, roles[least], helper_id=helper_id or None)
    code = QrCode(link_url(request, token))
    return context.page("links.html", page_path="/links", rows=[], new_link=code)


@router.post("/e/{name}/links/revoke")
def revoke(
    name: Name, services: ServicesDep, digest: Annotated[str, Form(max_length=64)]
) -> Response:
    """Close a link for good."""
    services.links.revoke(name, digest)
    return see_other(f"/e/{name}/links")


@public_router.get("/l/{token}")
@for_role("anyone")
def sign_in(token: Token, services: ServicesDep, request: Request) -> Response:
    """Sign a helper or the board in; an organiser presses once, and the link is spent."""
    link = services.links.resolve_token(token)
    if link is None:
        raise NotFound("This link opens nothing: it may have ended or been closed.")
    if link.role == "organiser":
        return render("door.html", token=token)
    response = see_other(page_of(link))
    own_link = signed_in(request, link.event_id)
    if own_link is not None and own_link.role == "organiser":
        return response  # an organiser who tries a helper's link stays organiser
    return keep_key(response, link.event_id, token)


@public_router.post("/l/{token}")
@for_role("anyone")
def sign_in_organiser(token: Token, services: ServicesDep) -> Response:
    """Exchange the organiser's link for a key in this browser; the link itself is spent."""
    fresh = services.links.exchange(token)
    return keep_key(with_link_to_keep(services, fresh.event_id), fresh.event_id, fresh.token)


@router.get("/e/{name}/keep")
def keep(context: PageContextDep, request: Request) -> Response:
    """Show the link to keep: how to come back from another browser."""
    token = request.cookies.get(KEPT, "")
    link = QrCode(link_url(request, token)) if token else None
    return context.page("keep.html", page_path="/links", link=link)


@router.post("/e/{name}/keep")
def make_one_to_keep(name: Name, services: ServicesDep) -> Response:
    """Make another link to keep."""
    return with_link_to_keep(services, name)
