"""Who may see and change what: links of 192 random bits, kept hashed, by role, ending, revocable.

Organisers may do all; helpers see the day and write the diary; the board shows itself. Whoever
may not, finds nothing: the answer is the same as for what isn't there.
"""

from __future__ import annotations

import hashlib
import re
import secrets
from datetime import datetime, timedelta

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse

from events.errors import NotFound
from events.storage.store import Store
from events.storage.tables import Link, Role

LASTS = timedelta(days=30)
_HELPER = re.compile(
    r"^(GET /e/[^/]+(/(sheet|stations|stations/[^/]+|jobs|jobs/[^/]+|jobs/[^/]+/trouble))?"
    r"|GET /e/[^/]+/(board|day\.ics|now|live)"
    r"|POST /e/[^/]+/diary"
    r"|GET /api/events/[^/]+(/(plan|turns|window|diary))?|POST /api/events/[^/]+/diary)$"
)
_BOARD = re.compile(r"^GET /e/[^/]+/(board|live)$")


def digest(token: str) -> str:
    """Return what is kept of a link."""
    return hashlib.sha256(token.encode()).hexdigest()


def make_link(
    store: Store, name: str, role: Role, *, now: datetime, helper_id: str | None = None
) -> str:
    """Make a link and return its token; only this once can it be read."""
    token = secrets.token_urlsafe(24)
    store.links.add(Link(digest(token), name, role, helper_id, now + LASTS))
    return token


def cookie_name(name: str) -> str:
    """Return the cookie that holds a token for an event."""
    return f"noonfare-{name}"


def opened(store: Store, token: str | None, *, now: datetime) -> Link | None:
    """Return what a token opens now, or None."""
    if not token or len(token) > 200:
        return None
    link = store.links.get(digest(token))
    return link if link and not link.revoked and link.ends_at > now else None


def _may(role: Role, asked: str) -> bool:
    if role == "organiser":
        return True
    return bool((_HELPER if role == "helper" else _BOARD).match(asked))


def gate(request: Request) -> None:
    """Let a request to an event pass, or say that there is nothing; a router's dependency."""
    desk = request.app.state.desk
    name = request.path_params.get("name")
    if request.app.state.open or name is None or request.url.path.startswith("/samples/"):
        return
    bearer = request.headers.get("authorization", "")
    asked = f"{request.method.replace('HEAD', 'GET')} {request.url.path.rstrip('/')}"
    for token in (request.cookies.get(cookie_name(name)), bearer.removeprefix("Bearer ").strip()):
        link = opened(desk.store, token, now=desk.now())
        if link is not None and link.event_id == name and _may(link.role, asked):
            return
    raise NotFound(f"No event “{name}” here.")


def is_organiser(request: Request) -> bool:
    """Return whether somebody organises any event here, or all may see all."""
    if request.app.state.open:
        return True
    desk = request.app.state.desk
    held = [v for k, v in request.cookies.items() if k.startswith(cookie_name(""))]
    links = [opened(desk.store, token, now=desk.now()) for token in held[:20]]
    return any(link is not None and link.role == "organiser" for link in links)


def organisers_only(request: Request) -> None:
    """Let organisers pass; others find nothing. A dependency."""
    if not is_organiser(request):
        raise NotFound("Nothing of that name here.")


def gated_pages() -> APIRouter:
    """Return a router for pages, with the gate before each of them."""
    return APIRouter(
        include_in_schema=False,
        default_response_class=HTMLResponse,
        dependencies=[Depends(gate)],
    )
