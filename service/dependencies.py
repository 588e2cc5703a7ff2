"""What routes depend on: the services, an event's name, an instant."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Annotated, TypeVar

from fastapi import Depends, Request
from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError
from starlette.concurrency import run_in_threadpool

from service.application.services import Services
from service.application.waiting import Waiting

T = TypeVar("T")
EXAMPLE_AT = "2026-11-28T08:40:00+00:00"


def services_of(request: Request) -> Services:
    """Return the services that the app was made with."""
    services = request.app.state.services
    assert isinstance(services, Services)
    return services


async def in_time(ask: Callable[[], Waiting[T]], *, wait_s: float | None) -> T | None:
    """Return a solver's answer, or None where it takes longer. No thread is held meanwhile."""
    answer = await run_in_threadpool(ask)
    return await run_in_threadpool(answer.result) if await answer.arrives(wait_s) else None


async def _services(request: Request) -> Services:
    """Return the services; what only looks needs no thread, and no wait for one."""
    return services_of(request)


ServicesDep = Annotated[Services, Depends(_services)]
Name = Annotated[str, Field(max_length=80, examples=["harvest-lunch-2026-11-28"])]


def _instant(value: object) -> datetime:
    """Admit only an ISO 8601 instant with its offset: a bare number or a local time is neither."""
    if not isinstance(value, str) or "T" not in value.upper():
        raise PydanticCustomError("instant-form", "no instant")
    try:
        at = datetime.fromisoformat(value.replace(" ", "+"))
    except ValueError:
        raise PydanticCustomError("instant-form", "no instant") from None
    if at.tzinfo is None:
        raise PydanticCustomError("instant-offset", "no offset")
    if not 1950 <= at.year <= 2150:
        raise PydanticCustomError("instant-year", "another year")
    return at


Instant = Annotated[datetime, BeforeValidator(_instant)]
