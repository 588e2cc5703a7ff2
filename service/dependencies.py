"""What routes depend on: the desk, an event's name, an instant."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import Depends, Request
from pydantic import BeforeValidator, Field

from service.application.desk import Desk

EXAMPLE_AT = "2026-11-28T08:40:00+00:00"


def desk_of(request: Request) -> Desk:
    """Return the desk that the app was made with."""
    desk = request.app.state.desk
    assert isinstance(desk, Desk)
    return desk


AtDesk = Annotated[Desk, Depends(desk_of)]
Name = Annotated[str, Field(max_length=80, examples=["harvest-lunch-2026-11-28"])]


def _instant(value: object) -> datetime:
    """Admit only an ISO 8601 instant with its offset: a bare number or a local time is neither."""
    if not isinstance(value, str) or "T" not in value.upper():
        raise ValueError("write an instant like 2026-11-28T10:40:00+02:00")
    at = datetime.fromisoformat(value.replace(" ", "+"))
    if at.tzinfo is None:
        raise ValueError("add the offset from UTC: 2026-11-28T10:40:00+02:00")
    if not 1950 <= at.year <= 2150:
        raise ValueError("the year must be 1950 to 2150")
    return at


Instant = Annotated[datetime, BeforeValidator(_instant)]
