"""Refusals: one table from error to status, one body shape, a page for those who read pages."""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping
from http import HTTPStatus
from typing import Any
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
from events.reading.model_faults import fault_of
from service.text.error_words import error_text
from service.text.faults import fault_json, said
from service.web.absent import PageInstead
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


def problem(status: int, detail: str, refused: FaultyEvent | None = None) -> Response:
    """Return a refusal in RFC 9457's shape."""
    body: dict[str, object] = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
    }
    if refused is not None:
        body["faults"] = [fault_json(f, refused) for f in refused.faults]
    return Response(
        json.dumps(body, ensure_ascii=False), status, media_type="application/problem+json"
    )


def _reads_pages(request: Request) -> bool:
    asks = request.headers.get("accept", "")
    return not request.scope["path"].startswith("/api") and "text/html" in asks


def _answer(
    request: Request, status: int, detail: str, refused: FaultyEvent | None = None
) -> Response:
    """Return a page to those who read pages, a problem to all others."""
    path = request.scope["path"]
    if _reads_pages(request):
        again = _typed(request) if status in TRY_AGAIN else []
        faults = [said(f, refused) for f in refused.faults] if refused is not None else []
        return refusal(status, detail, faults, again=again, path=path)
    return problem(status, detail, refused)


async def _refuse(request: Request, error: Exception) -> Response:
    if isinstance(error, PageInstead) and _reads_pages(request):
        return error.page
    refused, detail = None, error_text(error)
    if isinstance(error, FaultyEvent):
        refused, count = error, len(error.faults)
        detail = f"{count} fault{'s' if count != 1 else ''} in {error.source}"
    kind = next(k for k in type(error).__mro__ if k in STATUS or k is NoonfareError)
    return _answer(request, STATUS.get(kind, HTTPStatus.BAD_REQUEST), detail, refused)


async def _refuse_input(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    refused = FaultyEvent("the request", [_fault(e) for e in error.errors()])
    detail = "; ".join(said(f).text for f in refused.faults)
    return _answer(request, 422, detail, refused)


def _fault(wrong: Mapping[str, Any]) -> Fault:  # a mistake as pydantic has it: of any value
    where, *inside = wrong["loc"]
    key, value = ".".join(map(str, inside)), wrong.get("input")
    return fault_of(wrong["type"], Place(str(where)), key, value, context=wrong.get("ctx"))


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
