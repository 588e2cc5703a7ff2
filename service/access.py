"""Who may ask what: a route names the least role that may, and here it is required.

Organisers may do all; helpers see the day and write the diary; the board shows itself. A route
under an event that names no role is the organiser's alone. Who may not is answered as if there
were nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from fastapi import Request

from events.errors import NotFound
from events.storage.tables import Link, Role
from service.dependencies import services_of

Endpoint = TypeVar("Endpoint", bound=Callable[..., object])
RANK: dict[Role, int] = {"board": 0, "helper": 1, "organiser": 2}
COOKIES_MOST = 60
_least_roles: dict[object, Role] = {}


def for_role(least: Role) -> Callable[[Endpoint], Endpoint]:
    """Name the least role that may ask a route. Write it under the route's own decorator."""

    def named(endpoint: Endpoint) -> Endpoint:
        _least_roles[endpoint] = least
        return endpoint

    return named


def least_role(endpoint: object) -> Role:
    """Return the least role that may ask a route."""
    return _least_roles.get(endpoint, "organiser")


def cookie_name(name: str) -> str:
    """Return the cookie that holds a token for an event."""
    return f"noonfare-{name}"


def require_access(request: Request) -> None:
    """Let a request to an event pass, or say that there is nothing. Every route depends on it."""
    name = request.path_params.get("name")
    if request.app.state.open or name is None:
        return
    bearer = request.headers.get("authorization", "").removeprefix("Bearer ").strip()
    least = RANK[least_role(request.scope["endpoint"])]
    for token in (request.cookies.get(cookie_name(name)), bearer):
        link = services_of(request).links.resolve_token(token)
        if link is not None and link.event_id == name and RANK[link.role] >= least:
            return
    raise NotFound(f"No event “{name}” here.")


def is_organiser(request: Request) -> bool:
    """Return whether somebody organises any event here, or all may see all."""
    if request.app.state.open:
        return True
    tokens = [v for k, v in request.cookies.items() if k.startswith(cookie_name(""))]
    return any(_organises(request, token) for token in tokens[:COOKIES_MOST])


def organisers_only(request: Request) -> None:
    """Let organisers pass; others find nothing. A dependency."""
    if not is_organiser(request):
        raise NotFound("Nothing of that name here.")


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


def _organises(request: Request, token: str) -> bool:
    link = services_of(request).links.resolve_token(token)
    return link is not None and link.role == "organiser"
