"""Around every request: security headers, limits, and no form from another site.

`noonfare-now` says what time it is here. Phones learn their clock's error from it, and that an
answer is ours and not of some network on the way.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from fastapi import Response
from starlette.exceptions import HTTPException
from starlette.requests import cookie_parser

from service.access import cookie_name, digest_of
from service.application.asker import ASKER
from service.asgi.host_check import is_answered
from service.asgi.problems import TYPED, problem
from service.asgi.rate_limit import Limits

LARGEST_BODY = 600_000
BODY_S = 60.0  # so long may a body take to come; the largest does at 100 kbit/s
HOST_SHOWN = 80  # characters of a host that is refused
NOT_OURS = (
    "This service does not answer to “{host}”. Open it at this machine’s address, or start it with "
    "--name for each further name at which it is reached."
)
FORM = "application/x-www-form-urlencoded"
HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
        "connect-src 'self'; manifest-src 'self'; worker-src 'self'; "
        "form-action 'self'; "
        "base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    # Not "no-referrer": browsers then send "Origin: null" with our own forms.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "permissions-policy": "geolocation=(self), camera=(), microphone=()",
}
# Starlette's own type of an ASGI message and scope.
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]


class Guard:
    """Sets the headers; refuses what is too long, too often, or sent from another site.

    `names` are the hosts that an open service answers to; None where keys keep strangers out.
    """

    def __init__(
        self, app: Callable[..., Awaitable[None]], limits: Limits, names: frozenset[str] | None
    ) -> None:
        self.app, self.limits, self.names = app, limits, names

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {k.decode("latin-1").lower(): v.decode("latin-1") for k, v in scope["headers"]}
        received, waits, began_s = 0, True, asyncio.get_running_loop().time()
        # A form's words are shown again, ready to be sent again, where they could not be taken.
        typed = bytearray() if headers.get("content-type", "").startswith(FORM) else None
        scope[TYPED] = typed

        async def limited() -> Message:
            nonlocal received, waits
            try:
                async with asyncio.timeout_at(began_s + BODY_S if waits else None):
                    message = await receive()
            except TimeoutError:
                raise HTTPException(408, f"The body took over {BODY_S:g} seconds.") from None
            waits = bool(message.get("more_body"))
            received += len(message.get("body", b""))
            if received > LARGEST_BODY:
                raise HTTPException(413, f"The body is over {LARGEST_BODY} bytes.")
            if typed is not None:
                typed.extend(message.get("body", b""))
            return message

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                now = scope["app"].state.services.now()
                extra = HEADERS | {"noonfare-now": now.isoformat()}
                if not scope["path"].startswith("/static/"):
                    extra["cache-control"] = "private, no-cache"
                sent = message["headers"]
                if scope["scheme"] == "https":
                    sent = [(k, v + b"; Secure" if k == b"set-cookie" else v) for k, v in sent]
                message["headers"] = [
                    *sent,
                    *((k.encode(), v.encode()) for k, v in extra.items()),
                ]
            await send(message)

        refusal = _refusal(scope["method"], headers)
        address = (scope.get("client") or ("", 0))[0]
        asker = self.limits.asker(address, _key(scope["path"], headers))
        ASKER.set(asker)
        if not self.limits.allows(asker, scope["method"], scope["path"]):
            refusal = problem(429, "Too many requests from here. Wait a minute.")
        host = headers.get("host", "")
        if self.names is not None and not is_answered(host, self.names):
            refusal = problem(421, NOT_OURS.format(host=host[:HOST_SHOWN]))
        if refusal is not None:
            await refusal(scope, receive, with_headers)
            return
        await self.app(scope, limited, with_headers)


def _key(path: str, headers: dict[str, str]) -> str:
    """Return the digest of the key that a request carries for its event; empty without one."""
    sign, _, token = headers.get("authorization", "").partition(" ")
    if sign != "Bearer":
        name = next((p for p in path.split("/") if p not in ("", "e", "api", "events")), "")
        token = cookie_parser(headers.get("cookie", "")).get(cookie_name(name), "")
    return digest_of(token.strip()) if token else ""


def _refusal(method: str, headers: dict[str, str]) -> Response | None:
    length = headers.get("content-length", "0")
    if length.isdigit() and int(length) > LARGEST_BODY:
        return problem(413, f"The body is {length} bytes; {LARGEST_BODY} is the limit.")
    if method in ("GET", "HEAD", "OPTIONS"):
        return None
    site = headers.get("sec-fetch-site")  # a browser's own word; no page can set it
    if site == "same-origin":
        return None
    if site in ("cross-site", "same-site"):
        return problem(403, "This form was sent from another site.")
    origin = headers.get("origin")
    if origin is not None and origin.partition("://")[2] != headers.get("host"):
        return problem(403, "This form was sent from another site.")
    return None
