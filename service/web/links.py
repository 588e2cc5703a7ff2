"""Links: who can sign in, made, shown once, closed; and the pages that they open."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import Form, Query, Request, Response

from events.errors import NotFound
from events.storage.tables import Role
from service.access import for_role, signed_in
from service.application.links import LASTS
from service.application.services import Services
from service.charts.qr_code import QrCode
from service.dependencies import Name, ServicesDep
from service.text.sittings import meals_line
from service.web.address import CHOSEN, is_loopback, own_addresses, phones_base_url
from service.web.context import PageContext, PageContextDep
from service.web.hand_out import (
    BOARD,
    answering,
    handed_out,
    keep_made,
    made_before,
    message,
    recipients,
)
from service.web.keys import KEPT, keep_key, link_url, page_of, with_link_to_keep
from service.web.rendering import page_router, render, see_other

router = page_router()
public_router = page_router()  # who comes by a link has no access yet
Token = Annotated[str, "a link's token"]


@router.get("/e/{name}/links")
def links(
    context: PageContextDep,
    services: ServicesDep,
    request: Request,
    at: Annotated[str, Query(max_length=60)] = "",
) -> Response:
    """Show who can sign in, the links made within the hour, and make more.

    The address that is chosen is kept: paper and the visitors' board take it over.
    """
    at = at or request.cookies.get(CHOSEN, "")
    return _page(context, services, request, made_before(request), at)


@router.post("/e/{name}/links")
def make(
    context: PageContextDep,
    services: ServicesDep,
    request: Request,
    role: Annotated[str, Form(max_length=60)],
    at: Annotated[str, Form(max_length=60)] = "",
) -> Response:
    """Make a link for one, or for everybody at once; show them with their codes."""
    if role in ("all", "renew"):
        return _make_all(context, services, request, end_old=role == "renew", at=at)
    least, _, helper_id = role.partition(":")
    roles: dict[str, Role] = {"helper": "helper", "board": "board", "organiser": "organiser"}
    known = helper_id in {h.id for h in context.stored.event.helpers}
    if least not in roles or (least == "helper" and not known):
        raise NotFound(f"No “{role}” in {context.name}.")
    token = services.links.make(context.name, roles[least], helper_id=helper_id or None)
    if least == "organiser":
        code = QrCode(link_url(request, token))
        local = not phones_base_url(request)
        return context.page("organiser_link.html", page_path="/links", link=code, local=local)
    made = {**made_before(request), helper_id or BOARD: token}
    return keep_made(_page(context, services, request, made, at), context.name, made)


def _make_all(
    context: PageContext, services: Services, request: Request, *, end_old: bool, at: str
) -> Response:
    if end_old:
        for link in services.links.of_event(context.name):
            if link.role != "organiser" and services.links.is_open(link):
                services.links.revoke(context.name, link.digest)
    made = {
        person.key: services.links.make(context.name, person.role, helper_id=person.helper_id)
        for person in recipients(context.stored.event, context.plan)
        if not person.group_id
    }
    return keep_made(_page(context, services, request, made, at), context.name, made)


def _page(
    context: PageContext, services: Services, request: Request, made: dict[str, str], at: str
) -> Response:
    people = recipients(context.stored.event, context.plan)
    made = {key: token for key, token in made.items() if services.links.resolve_token(token)}
    opened = {
        e.stored.entry.helper_id
        for e in services.diary.entries(context.name)
        if e.stored.entry.kind == "seen"
    }
    given = handed_out(request, people, made, at)
    addresses = answering(own_addresses(), request.url.port) if is_loopback(request) else []
    page = context.page(
        "links.html",
        page_path="/links",
        given=given,
        people=people,
        opened=opened,
        message=message(context.stored.event, given),
        meals=meals_line(context.stored.event),
        loopback=is_loopback(request),
        addresses=addresses,
        at=at if at in addresses else "",
        port=request.url.port,
        start_for_network=request.app.state.start_for_network,
        lasts_days=LASTS.days,
        rows=_rows(context, services),
    )
    if at in addresses:
        page.set_cookie(CHOSEN, at, httponly=True, samesite="lax")
    return page


def _rows(context: PageContext, services: Services) -> list[dict[str, object]]:
    names = {h.id: h.name for h in context.stored.event.helpers}
    return [
        {
            "digest": link.digest,
            "role": link.role,
            "who": names.get(link.helper_id or "", ""),
            "ends": link.ends_at.astimezone(context.stored.event.zone).date().isoformat(),
            "open": services.links.is_open(link),
        }
        for link in services.links.of_event(context.name)
    ]


@router.post("/e/{name}/links/revoke")
def revoke(
    name: Name, services: ServicesDep, digest: Annotated[str, Form(max_length=64)]
) -> Response:
    """Close a link for good."""
    services.links.revoke(name, digest)
    return see_other(f"/e/{name}/links")


@public_router.get("/l/{token}")
@for_role("anyone")
def sign_in(
    token: Token,
    services: ServicesDep,
    request: Request,
    group: Annotated[str, Query(max_length=40)] = "",
) -> Response:
    """Sign a helper or the board in; an organiser presses once, and the link is spent.

    The board's link with a group leads to that group's timetable.
    """
    link = services.links.resolve_token(token)
    if link is None:
        raise NotFound("This link opens nothing: it may have ended or been closed.")
    if link.role == "organiser":
        return render("door.html", token=token)
    page = page_of(link)
    if group and link.role == "board":
        page = f"/e/{link.event_id}/rota/group/{quote(group, safe='')}"
    response = see_other(page)
    own_link = signed_in(request, link.event_id)
    if own_link is not None and (own_link.role == "organiser" or link.role == "board"):
        return (
            response  # an organiser who tries a helper's link stays organiser, who helps a helper
        )
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
    return context.page(
        "keep.html",
        page_path="/links",
        link=link,
        local=not phones_base_url(request),
        lasts_days=LASTS.days,
    )


@router.post("/e/{name}/keep")
def make_one_to_keep(name: Name, services: ServicesDep) -> Response:
    """Make another link to keep."""
    return with_link_to_keep(services, name)
