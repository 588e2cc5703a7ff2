"""A line of JSON for each request: its id, route, status and time; never its words or keys.

The route is written as it is declared (/l/{token}), so no token, name or coordinate stands in a
log. The id comes back with the answer, so that whoever asks for help can name it.
"""

from __future__ import annotations

import json
import logging
import secrets
import time
from collections.abc import Awaitable, Callable, MutableMapping
from contextvars import ContextVar
from typing import Any

from service.application.metrics import Metrics

REQUEST_ID: ContextVar[str] = ContextVar("request_id", default="")
NO_ROUTE = "(none)"
Message = MutableMapping[str, Any]  # Starlette's own type of an ASGI message and scope
log = logging.getLogger("noonfare.requests")


class RequestLog:
    """Gives each request an id, counts it and writes one line when it has ended."""

    def __init__(self, app: Callable[..., Awaitable[None]], metrics: Metrics) -> None:
        self.app, self.metrics = app, metrics

    async def __call__(
        self,
        scope: Message,
        receive: Callable[[], Awaitable[Message]],
        send: Callable[[Message], Awaitable[None]],
    ) -> None:
        """Pass a request on."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        began, status, request_id = time.perf_counter(), 500, secrets.token_hex(6)
        REQUEST_ID.set(request_id)

        async def with_id(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                message["headers"] = [
                    *message["headers"],
                    (b"x-request-id", request_id.encode()),
                ]
            await send(message)

        try:
            await self.app(scope, receive, with_id)
        finally:
            took_s = time.perf_counter() - began
            route = getattr(scope.get("route"), "path", NO_ROUTE)
            self.metrics.request(scope["method"], route, status, took_s)
            log.info(
                "request",
                extra={
                    "method": scope["method"],
                    "route": route,
                    "status": status,
                    "took_ms": round(took_s * 1000),
                },
            )


class JsonLines(logging.Formatter):
    """Writes log records as JSON, one a line, each with the request that it belongs to."""

    FIELDS = ("method", "route", "status", "took_ms")

    def format(self, record: logging.LogRecord) -> str:
        """Return a record as a line."""
        line: dict[str, object] = {
            "at": self.formatTime(record, "%Y-%m-%dT%H:%M:%S%z"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "says": record.getMessage(),
        }
        if REQUEST_ID.get():
            line["request"] = REQUEST_ID.get()
        line |= {key: getattr(record, key) for key in self.FIELDS if hasattr(record, key)}
        if record.exc_info:
            line["fault"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=False)


def log_as_lines() -> None:
    """Have everything logged as lines of JSON."""
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines())
    logging.basicConfig(level=logging.INFO, handlers=[handler])
    logging.getLogger("alembic").setLevel(logging.WARNING)
