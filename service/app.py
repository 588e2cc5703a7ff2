"""The ASGI app: doors, one table from error to status, headers, limits. Only this knows HTTP."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Awaitable, Callable, MutableMapping
from concurrent.futures import Executor
from contextlib import asynccontextmanager
from http import HTTPStatus
from importlib.resources import files
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from events.errors import (
    Busy,
    FaultyEvent,
    NoonfareError,
    NotFound,
    OutOfRange,
    PlanBroken,
    StaleVersion,
    Unreachable,
    VersionMissing,
)
from events.reading.event_file import read_event, sample_text
from events.storage.store import Store
from service.api import events as api
from service.api import live_day as api_day
from service.application.desk import Desk, solver_pool
from service.application.forecast import Forecasts
from service.asgi.rate_limit import Limits
from service.clock import Clock, demo_clock, system_clock
from service.settings import Settings
from service.web import analysis as pages_more
from service.web import day as pages
from service.web import diary as pages_diary
from service.web import downloads as feeds
from service.web import event_stream as live
from service.web import experiments as pages_play
from service.web import jobs as pages_jobs
from service.web import live_day as pages_live
from service.web import own_cookers as pages_own
from service.web import planner as pages_plan
from service.web import stations as pages_station

DEMO = "harvest-lunch"
LARGEST_BODY = 1_000_000
STATUS: dict[type[NoonfareError], HTTPStatus] = {
    FaultyEvent: HTTPStatus.UNPROCESSABLE_ENTITY,
    OutOfRange: HTTPStatus.UNPROCESSABLE_ENTITY,
    NotFound: HTTPStatus.NOT_FOUND,
    StaleVersion: HTTPStatus.PRECONDITION_FAILED,
    VersionMissing: HTTPStatus.PRECONDITION_REQUIRED,
    Busy: HTTPStatus.SERVICE_UNAVAILABLE,
    Unreachable: HTTPStatus.BAD_GATEWAY,
    PlanBroken: HTTPStatus.INTERNAL_SERVER_ERROR,
}
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


def create_app(
    settings: Settings,
    *,
    clock: Clock | None = None,
    make_pool: Callable[[], Executor] | None = None,
) -> FastAPI:
    """Return the app. With `settings.demo` a sample is put in and the clock stands on its day.

    `make_pool` makes executors for solves: processes of their own, unless another is given.
    """

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        sample = read_event(sample_text(DEMO), source=DEMO)
        tells = clock or (demo_clock(sample) if settings.demo else system_clock)
        desk = Desk(
            Store(settings.url()),
            tells,
            make_pool or (lambda: solver_pool(settings.solvers)),
            Forecasts(settings),
        )
        if settings.demo:
            desk.put_event(sample)
        app.state.desk = desk
        app.state.open = settings.demo or settings.open
        app.state.closing = False
        yield
        app.state.closing = True
        desk.close()

    app = FastAPI(
        title="Noonfare",
        summary="Day-of session scheduler for outdoor cooking events with sun-heated cookers.",
        version="0.1.0",
        lifespan=life,
        docs_url=None,  # they load from a public CDN: dead offline, blocked by our CSP
        redoc_url=None,
        openapi_url="/api/openapi.json",
    )
    app.include_router(api.router)
    app.include_router(api_day.router)
    app.include_router(pages.router)
    app.include_router(pages_station.router)
    app.include_router(pages_more.router)
    app.include_router(feeds.router)
    app.include_router(pages_diary.router)
    app.include_router(pages_diary.doors)
    app.include_router(pages_live.router)
    app.include_router(live.router)
    app.include_router(pages_plan.router)
    app.include_router(pages_play.router)
    app.include_router(pages_own.router)
    app.include_router(pages_jobs.router)
    static = str(files("service") / "web" / "static")
    app.mount("/static", StaticFiles(directory=static), name="static")
    app.add_exception_handler(NoonfareError, _refuse)
    app.add_exception_handler(RequestValidationError, _refuse_input)
    app.add_exception_handler(HTTPException, _refuse_http)
    app.add_exception_handler(Exception, _refuse_bug)
    app.add_middleware(Guard, limits=Limits(settings.requests_a_minute))
    return app


class Guard:
    """Sets the headers; refuses what is too long, too often, or sent from another site."""

    def __init__(self, app: Callable[..., Awaitable[None]], limits: Limits) -> None:
        self.app, self.limits = app, limits

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {k.decode("latin-1").lower(): v.decode("latin-1") for k, v in scope["headers"]}
        heard = 0

        async def limited() -> Message:
            nonlocal heard
            message = await receive()
            heard += len(message.get("body", b""))
            if heard > LARGEST_BODY:
                raise HTTPException(413, f"The body is over {LARGEST_BODY} bytes.")
            return message

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                extra = dict(HEADERS)
                if not scope["path"].startswith("/static/"):
                    extra["cache-control"] = "private, no-cache"
                message["headers"] = [
                    *message["headers"],
                    *((k.encode(), v.encode()) for k, v in extra.items()),
                ]
            await send(message)

        refusal = _refusal(scope["method"], headers)
        address = (scope.get("client") or ("", 0))[0]
        if not self.limits.allows(address, scope["method"], scope["path"]):
            refusal = _problem(429, "Too many requests from here. Wait a minute.")
        if refusal is not None:
            await refusal(scope, receive, with_headers)
            return
        await self.app(scope, limited, with_headers)


def _refusal(method: str, headers: dict[str, str]) -> Response | None:
    length = headers.get("content-length", "0")
    if length.isdigit() and int(length) > LARGEST_BODY:
        return _problem(413, f"The body is {length} bytes; {LARGEST_BODY} is the limit.")
    if method in ("GET", "HEAD", "OPTIONS"):
        return None
    if headers.get("sec-fetch-site") == "same-origin":
        return None
    origin = headers.get("origin")
    if origin is not None and origin.partition("://")[2] != headers.get("host"):
        return _problem(403, "This form was sent from another site.")
    return None


def _problem(status: int, detail: str, *, faults: list[dict[str, str]] | None = None) -> Response:
    """Return a refusal in RFC 9457's shape."""
    body: dict[str, object] = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
    }
    if faults:
        body["faults"] = faults
    return Response(
        json.dumps(body, ensure_ascii=False), status, media_type="application/problem+json"
    )


def _answer(
    request: Request, status: int, detail: str, *, faults: list[dict[str, str]] | None = None
) -> Response:
    """Return a page to those who read pages, a problem to all others."""
    if not request.url.path.startswith("/api") and "text/html" in request.headers.get("accept", ""):
        return pages.refusal(request, status, detail, faults or [])
    return _problem(status, detail, faults=faults)


async def _refuse(request: Request, error: Exception) -> Response:
    faults: list[dict[str, str]] = []
    detail = str(error)
    if isinstance(error, FaultyEvent):
        faults = [vars(f) | {"text": str(f)} for f in error.faults]
        detail = f"{len(faults)} fault{'s' if len(faults) != 1 else ''} in {error.source}"
    kind = next(k for k in type(error).__mro__ if k in STATUS or k is NoonfareError)
    return _answer(request, STATUS.get(kind, HTTPStatus.BAD_REQUEST), detail, faults=faults)


async def _refuse_input(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    faults = [
        {
            "where": str(e["loc"][0]),
            "key": ".".join(str(p) for p in e["loc"][1:]),
            "value": repr(e.get("input"))[:60],
            "limit": str(e["msg"]).replace("Value error, ", ""),
        }
        for e in error.errors()
    ]
    detail = "; ".join(f"{f['key']} is {f['value']}: {f['limit']}" for f in faults)
    return _answer(request, 422, detail, faults=faults)


async def _refuse_http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    response = _answer(request, error.status_code, str(error.detail))
    response.headers.update(error.headers or {})
    return response


async def _refuse_bug(request: Request, _error: Exception) -> Response:
    return _answer(request, 500, "Something broke here. It is our fault; nothing you sent is lost.")
