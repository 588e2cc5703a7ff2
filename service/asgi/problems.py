"""Refusals: one table from error to status, one body shape, a page for those who read pages."""

from __future__ import annotations

import json
import logging
from collections.abc import Sequence
from http import HTTPStatus
from urllib.parse import parse_qsl

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from sqlalchemy.exc import OperationalError
from starlette.exceptions import HTTPException

from events.errors import (
    Busy,
    Fault,
    FaultyEvent,
    NoonfareError,
    NotFound,
    OutOfRange,
    Place,
    PlanBroken,
    StaleVersion,
    Stopped,
    TooLarge,
    Unreachable,
    VersionMissing,
)
from service.text.faults import fault_json
from service.web.rendering import refusal

log = logging.getLogger("noonfare")
TYPED = "noonfare.typed"  # where a request's scope has the form as it was sent
TRY_AGAIN = (429, 500, 503)
LOCKED = (
    "The database is busy or away just now. Nothing was stored. Send it again in a few seconds; "
    "if it goes on, whoever runs this service should look whether a copy or another program "
    "holds the database."
)
STATUS: dict[type[NoonfareError], HTTPStatus] = {
    FaultyEvent: HTTPStatus.UNPROCESSABLE_ENTITY,
    OutOfRange: HTTPStatus.UNPROCESSABLE_ENTITY,
    NotFound: HTTPStatus.NOT_FOUND,
    StaleVersion: HTTPStatus.PRECONDITION_FAILED,
    VersionMissing: HTTPStatus.PRECONDITION_REQUIRED,
    TooLarge: HTTPStatus.UNPROCESSABLE_ENTITY,
    Stopped: HTTPStatus.SERVICE_UNAVAILABLE,
    Busy: HTTPStatus.SERVICE_UNAVAILABLE,
    Unreachable: HTTPStatus.BAD_GATEWAY,
    PlanBroken: HTTPStatus.INTERNAL_SERVER_ERROR,
}


def install(app: FastAPI) -> None:
    """Have every error of ours, of the framework's and every bug answered in one shape."""
    app.add_exception_handler(NoonfareError, _refuse)
    app.add_exception_handler(RequestValidationError, _refuse_input)
    app.add_exception_handler(HTTPException, _refuse_http)
    app.add_exception_handler(OperationalError, _refuse_database)
    app.add_exception_handler(Exception, _refuse_bug)


def problem(status: int, detail: str, *, faults: Sequence[Fault] = ()) -> Response:
    """Return a refusal in RFC 9457's shape."""
    body: dict[str, object] = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
    }
    if faults:
        body["faults"] = [fault_json(f) for f in faults]
    return Response(
        json.dumps(body, ensure_ascii=False), status, media_type="application/problem+json"
    )


def _answer(
    request: Request, status: int, detail: str, *, faults: Sequence[Fault] = ()
) -> Response:
    """Return a page to those who read pages, a problem to all others."""
    path = request.scope["path"]
    if not path.startswith("/api") and "text/html" in request.headers.get("accept", ""):
        again = _typed(request) if status in TRY_AGAIN else []
        return refusal(status, detail, faults, again=again, path=path)
    return problem(status, detail, faults=faults)


async def _refuse(request: Request, error: Exception) -> Response:
    faults: list[Fault] = []
    detail = str(error)
    if isinstance(error, FaultyEvent):
        faults = error.faults
        detail = f"{len(faults)} fault{'s' if len(faults) != 1 else ''} in {error.source}"
    kind = next(k for k in type(error).__mro__ if k in STATUS or k is NoonfareError)
    return _answer(request, STATUS.get(kind, HTTPStatus.BAD_REQUEST), detail, faults=faults)


async def _refuse_input(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    faults = [
        Place(str(e["loc"][0])).fault(
            ".".join(str(p) for p in e["loc"][1:]),
            repr(e.get("input"))[:60],
            str(e["msg"]).replace("Value error, ", ""),
        )
        for e in error.errors()
    ]
    detail = "; ".join(f"{f.key} is {f.value}: {f.limit}" for f in faults)
    return _answer(request, 422, detail, faults=faults)


async def _refuse_http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    response = _answer(request, error.status_code, str(error.detail))
    response.headers.update(error.headers or {})
    return response


async def _refuse_bug(request: Request, _error: Exception) -> Response:
    return _answer(request, 500, "Something broke here. It is our fault.")


async def _refuse_database(request: Request, _error: Exception) -> Response:
    log.warning("the database is locked or away")
    response = _answer(request, 503, LOCKED)
    response.headers["retry-after"] = "5"
    return response


def _typed(request: Request) -> list[tuple[str, str]]:
    """Return the fields of a form that could not be taken, to be sent again."""
    body = bytes(request.scope.get(TYPED) or b"")
    return parse_qsl(body.decode("utf-8", errors="replace"), keep_blank_values=True)
