"""Keys in a browser: the cookie that holds one, and the link to keep beside it."""

from __future__ import annotations

from datetime import timedelta

from fastapi import Request, Response

from events.storage.tables import Link
from service.access import cookie_name
from service.application.services import Services
from service.web.address import phones_base_url
from service.web.rendering import see_other

COOKIE_LASTS = timedelta(days=400)  # as long as browsers keep one; the link behind it ends sooner
KEPT = "noonfare-link-to-keep"
SHOWN = timedelta(hours=1)  # the link to keep can be looked at for so long


def keep_key(response: Response, name: str, token: str) -> Response:
    """Have a browser keep a token as its key to an event."""
    response.set_cookie(
        cookie_name(name),
        token,
        max_age=int(COOKIE_LASTS.total_seconds()),
        httponly=True,
        samesite="lax",
        path="/",
    )
    return response


def with_link_to_keep(services: Services, name: str) -> Response:
    """Return the way to the page that shows an organiser's link to keep, made for it."""
    page = f"/e/{name}/keep"
    response = see_other(page)
    response.set_cookie(
        KEPT,
        services.links.make(name, "organiser"),
        max_age=int(SHOWN.total_seconds()),
        httponly=True,
        samesite="lax",
        path=page,
    )
    return response


def link_url(request: Request, token: str) -> str:
    """Return the address that a token is sent as; others can open it, where one is known."""
    here = f"{request.url.scheme}://{request.url.netloc}"
    return f"{phones_base_url(request) or here}/l/{token}"


def page_of(link: Link) -> str:
    """Return the page that somebody who comes by a link sees first."""
    pages = {"organiser": "", "helper": f"/jobs/{link.helper_id}", "board": "/board"}
    return f"/e/{link.event_id}{pages[link.role]}"
