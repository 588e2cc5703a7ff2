"""JSON of events: put in, listed, read, changed; and the schemas of what goes in and out."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Header, Query, Request, Response
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool

from events.errors import NOT_UTF8, FaultyEvent
from events.model import Event
from events.reading.schema import event_schema
from events.storage.tables import EventLine, StoredEvent
from events.table import changed
from service.access import for_role
from service.api.responses import PROBLEM, REFUSALS
from service.application.reading import SentFile
from service.dependencies import Name, ServicesDep
from solver.plan import Plan

router = APIRouter(prefix="/api", tags=["noonfare"])
IfMatch = Annotated[str | None, Header(examples=['"3f2a9c01d7be"'])]
_BODY: dict[str, object] = {
    "requestBody": {
        "required": True,
        "description": "An event file: TOML, or the same tables as JSON. See /api/schema/event.",
        "content": {
            "application/toml": {"schema": {"type": "string"}},
            "application/json": {"schema": {"type": "object"}},
        },
    }
}
_WEATHER_BODY: dict[str, object] = {
    "requestBody": {
        "description": "Hours as CSV, or a feed's JSON. Empty: fetched, where that is set up.",
        "content": {"text/csv": {"schema": {"type": "string"}}, "application/json": {}},
    }
}


class EventEntry(BaseModel):
    """An event in short, with where to read more."""

    id: str = Field(examples=["harvest-lunch-2026-11-28"])
    title: str = Field(examples=["Harvest lunch"])
    date: date
    version: int = Field(ge=1)
    organiser_token: str | None = Field(
        default=None,
        description="Shown once: /l/{token} opens the pages, or send it as a Bearer token",
    )
    event_id: str = Field(description="Fingerprint; also the ETag", pattern="^[0-9a-f]{12}$")


def entry_of(stored: EventLine) -> EventEntry:
    """Return an event in short."""
    return EventEntry(
        id=stored.id,
        title=stored.title,
        date=stored.date,
        version=stored.version,
        event_id=stored.fingerprint,
    )


async def event_in(request: Request, services: ServicesDep) -> Event:
    """Return the event in the request's body; raises FaultyEvent with every fault."""
    body = await request.body()
    source = "the body"
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError:
        raise FaultyEvent(source, [NOT_UTF8]) from None
    form: Literal["json", "toml"] = "json" if kind == "application/json" else "toml"
    answer = services.reading.event(SentFile(text=text, source=source, form=form))
    await answer.arrives(None)
    return answer.result()


EventIn = Annotated[Event, Depends(event_in)]


@router.get("/events")
@for_role("anyone")
def list_events(
    services: ServicesDep,
    request: Request,
    first: Annotated[int, Query(ge=0, le=10**6, description="skip so many")] = 0,
) -> list[EventEntry]:
    """Return a hundred events, latest date first, where all may see all; else none."""
    page = services.events.page(first=first) if request.app.state.open else []
    return [entry_of(e) for e in page]


@router.post(
    "/events",
    status_code=201,
    responses={413: PROBLEM, 422: PROBLEM},
    openapi_extra=_BODY,
)
@for_role("anyone")
def put_in(
    services: ServicesDep, request: Request, event: EventIn, response: Response
) -> EventEntry:
    """Put in an event; its plan is made at once, off the request. Each is an event of its own."""
    stored = services.events.put_in(event)
    response.headers["location"] = f"/api/events/{stored.id}"
    _set_etag(response, stored)
    if request.app.state.open:
        return entry_of(stored)
    token = services.links.make(stored.id, "organiser")
    return changed(entry_of(stored), organiser_token=token)


@router.get("/events/{name}", responses=REFUSALS)
@for_role("helper")
def read_one(name: Name, services: ServicesDep, response: Response) -> Event:
    """Return the event, complete: catalogue entries and US units resolved."""
    stored = services.events.get(name)
    _set_etag(response, stored)
    return stored.event


@router.put(
    "/events/{name}",
    responses={**REFUSALS, 412: PROBLEM, 413: PROBLEM, 428: PROBLEM},
    openapi_extra=_BODY,
)
def change(
    name: Name, services: ServicesDep, event: EventIn, response: Response, if_match: IfMatch = None
) -> EventEntry:
    """Change an event; If-Match says which version the change was made to."""
    stored = services.events.change(name, event, etag=if_match)
    _set_etag(response, stored)
    return entry_of(stored)


@router.get("/events/{name}/file", responses=REFUSALS, response_class=Response)
def read_file(name: Name, services: ServicesDep) -> Response:
    """Return the event as an event file (TOML)."""
    return Response(services.events.file(name), media_type="application/toml")


@router.put(
    "/events/{name}/weather",
    responses={**REFUSALS, 412: PROBLEM, 413: PROBLEM, 428: PROBLEM, 502: PROBLEM},
    openapi_extra=_WEATHER_BODY,
)
async def change_weather(
    name: Name,
    services: ServicesDep,
    request: Request,
    response: Response,
    if_match: IfMatch = None,
) -> EventEntry:
    """Take an event's forecast; plan again, on its own day only as an offer."""
    body = (await request.body()).decode("utf-8", errors="replace").strip()
    stored = await run_in_threadpool(
        services.events.change_weather, name, body or None, etag=if_match
    )
    _set_etag(response, stored)
    return entry_of(stored)


@router.get("/schema/event")
@for_role("anyone")
def read_event_schema() -> dict[str, object]:
    """Return the JSON Schema of an event file."""
    return event_schema()


@router.get("/schema/plan")
@for_role("anyone")
def read_plan_schema() -> dict[str, object]:
    """Return the JSON Schema of a plan."""
    return Plan.model_json_schema()


def _set_etag(response: Response, stored: StoredEvent) -> None:
    response.headers["etag"] = f'"{stored.fingerprint}"'
