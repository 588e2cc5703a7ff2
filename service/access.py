"""Who may ask what: a route names the least role that may, and here it is required.

Organisers may do all; helpers see the day and write the diary; the board shows itself. A route
under an event that names no role is the organiser's alone; any other route that names none is
closed to all. What counts is the route that answers, never the address as it was written. Who may
not is answered as if there were nothing.
"""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable
from typing import Annotated, Literal, TypeVar

from fastapi import Depends, Request
from starlette.concurrency import run_in_threadpool

from events.errors import NotFound
from events.storage.tables import HOUSE, Link, Role
from service.dependencies import services_of

Least = Role | Literal["anyone", "operator"]
Endpoint = TypeVar("Endpoint", bound=Callable[..., object])
RANK: dict[Role, int] = {"board": 0, "helper": 1, "organiser": 2}
COOKIES_MOST = 60
OPERATOR_COOKIE = "noonfare.operator"
_least_roles: dict[object, Least] = {}


def for_role(least: Least) -> Callable[[Endpoint], Endpoint]:
    """Name the least role that may ask a route. Write it under the route's own decorator."""

    def named(endpoint: Endpoint) -> Endpoint:
        _least_roles[endpoint] = least
        return endpoint

    return named


def least_role(endpoint: object) -> Least:
    """Return the least role that may ask a route."""
    return _least_roles.get(endpoint, "organiser")


def names_a_role(endpoint: object) -> bool:
    """Return whether a route says who may; one of no event that does not is closed to all."""
    return endpoint in _least_roles


def cookie_name(name: str) -> str:
    """Return the cookie that holds a token for an event."""
    return f"noonfare-{name}"


async def require_access(request: Request) -> None:
    """Let a request pass, or say that there is nothing. Every route depends on it.

    Only a key is looked for in the store, by a thread: where all may come in, none is waited for.
    """
    name, least = request.path_params.get("name"), least_role(request.scope["endpoint"])
    if request.app.state.open if name is not None else least == "anyone":
        return
    await run_in_threadpool(_require_key, request, name, least)


def _require_key(request: Request, name: str | None, least: Least) -> None:
    if name is None:
        if not names_a_role(request.scope["endpoint"]) or not _may_without_event(request, least):
            raise NotFound("Nothing of that name here.")
        return
    for token in (request.cookies.get(cookie_name(name)), bearer_of(request)):
        link = services_of(request).links.resolve_token(token)
        if link is None or token is None or link.event_id != name:
            continue
        request.app.state.limits.trust(digest_of(token))
        if least in RANK and RANK[link.role] >= RANK[least]:
            return
    raise NotFound(kind="no-event", name=name)


def _may_without_event(request: Request, least: Least) -> bool:
    return is_operator(request) or (least != "operator" and is_organiser(request))


def bearer_of(request: Request) -> str:
    """Return the token that a program sends."""
    return request.headers.get("authorization", "").removeprefix("Bearer ").strip()


def digest_of(token: str) -> str:
    """Return what stands for a token where it is only counted."""
    return hashlib.sha256(token.encode()).hexdigest()[:16]


def is_operator(request: Request) -> bool:
    """Return whether a request carries the operator's own key."""
    given = (request.cookies.get(OPERATOR_COOKIE, ""), bearer_of(request))
    return any(is_key_of_operator(request, key) for key in given)


def is_key_of_operator(request: Request, given: str) -> bool:
    """Return whether a text is the operator's key; where none is set, nothing is."""
    key = request.app.state.operator_key
    return bool(key) and secrets.compare_digest(key.encode(), given.encode())


def is_organiser(request: Request) -> bool:
    """Return whether somebody organises any event here, or all may see all."""
    return bool(request.app.state.open or organised(request))


def organised(request: Request) -> list[str]:
    """Return the events that somebody organises by the keys they hold."""
    tokens = [v for k, v in request.cookies.items() if k.startswith(cookie_name(""))]
    resolve = services_of(request).links.resolve_token
    links = map(resolve, [bearer_of(request), *tokens[:COOKIES_MOST]])
    return [link.event_id for link in links if link is not None and link.role == "organiser"]


def owners_seen(request: Request) -> list[str]:
    """Return whose own cookers somebody sees: the house's, and those of what they organise."""
    return [HOUSE, *organised(request)]


def owner_of_new(request: Request) -> str:
    """Return to whom own cookers belong that are stored now; NotFound where nobody may."""
    if request.app.state.open or is_operator(request):
        return HOUSE
    name = request.path_params.get("name")
    events = organised(request)
    if name in events:
        return str(name)
    if not events:
        raise NotFound("Nothing of that name here.")
    return events[0]


OwnersDep = Annotated[list[str], Depends(owners_seen)]
NewOwnerDep = Annotated[str, Depends(owner_of_new)]


def signed_in(request: Request, name: str) -> Link | None:
    """Return the link that a browser holds for an event, if it opens something now."""
    return services_of(request).links.resolve_token(request.cookies.get(cookie_name(name)))


def role_in(request: Request, name: str) -> Role:
    """Return what somebody may do in an event that let them in."""
    if request.app.state.open:
        return "organiser"
    bearer = request.headers.get("authorization", "").removeprefix("Bearer ").strip()
    links = (signed_in(request, name), services_of(request).links.resolve_token(bearer))
    roles = [link.role for link in links if link is not None and link.event_id == name]
    return max(roles, key=RANK.__getitem__, default="board")


def events_held(request: Request) -> list[Link]:
    """Return the links that a browser holds: what it may open, an event each."""
    prefix = cookie_name("")
    names = [key.removeprefix(prefix) for key in request.cookies if key.startswith(prefix)]
    links = (signed_in(request, name) for name in names[:COOKIES_MOST])
    return [link for link in links if link is not None]
