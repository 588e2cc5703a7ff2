"""JSON under /api: put in an event, read its window, estimates, plan and next turns."""

from __future__ import annotations

import json
from datetime import date, datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Header, Query, Request, Response
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool

from events.diary import Entry, StoredEntry
from events.errors import NOT_UTF8, WHOLE_FILE, FaultyEvent, PlanBroken
from events.model import Event
from events.reading.event_file import read_event, read_table
from events.reading.schema import event_schema
from events.storage.tables import StoredEvent
from events.table import changed
from service import access
from service.application.desk import LitreTold
from service.dependencies import EXAMPLE_AT, AtDesk, Instant, Name
from solver.feasibility.duration_table import Estimate
from solver.feasibility.improvements import Improvement
from solver.feasibility.season import Season
from solver.plan import Plan, Turn, Window
from solver.simulation.energy_flow import HeatFlow
from solver.thermal.readings import CalibrationResult

router = APIRouter(prefix="/api", tags=["noonfare"], dependencies=[Depends(access.gate)])


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


class PlanAnswer(BaseModel):
    """The checked plan, or that it is still being counted."""

    state: str = Field(examples=["done"], pattern="^(asked|done)$")
    made_at: datetime | None
    plan: Plan | None


class TurnAnswer(BaseModel):
    """A turn due or still to come."""

    turn: Turn
    helper_id: str | None
    in_min: float = Field(description="Minutes from now; below 0 it is late")


class TurnsAnswer(BaseModel):
    """The next turns, soonest first."""

    now: datetime
    turns: list[TurnAnswer]


class FaultAnswer(BaseModel):
    """One mistake in a file or a request: where it is, what stands there, the limit, what to do."""

    table: str = Field(examples=["dish"], description="empty for the whole file")
    number: int | None = Field(examples=[2], description="which row of the table, from 1")
    id: str = Field(examples=["stew"])
    key: str = Field(examples=["portions"])
    value: str = Field(examples=["0"], description="what stands there")
    limit: str = Field(examples=["must be greater than or equal to 1"])
    remedy: str
    text: str = Field(description="all of it in one line")


class Problem(BaseModel):
    """A refusal, as RFC 9457 has it, with every fault in `faults`."""

    type: str
    title: str
    status: int
    detail: str
    faults: list[FaultAnswer] = []


PROBLEM = {"model": Problem, "content": {"application/problem+json": {}}}
REFUSALS: dict[int | str, dict[str, object]] = {404: PROBLEM, 422: PROBLEM}
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


async def event_in(request: Request) -> Event:
    """Return the event in the request's body; raises FaultyEvent with every fault."""
    body = await request.body()
    source = "the body"
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError:
        raise FaultyEvent(source, [NOT_UTF8]) from None
    if kind != "application/json":
        return read_event(text, source=source)
    try:
        table = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise FaultyEvent(source, [WHOLE_FILE.fault("", "", f"is not JSON: {error}")]) from None
    if not isinstance(table, dict):
        raise FaultyEvent(source, [WHOLE_FILE.fault("", "", "is not a JSON object")])
    return read_table(table, source=source)


EventIn = Annotated[Event, Depends(event_in)]


def _entry(kept: StoredEvent) -> EventEntry:
    return EventEntry(
        id=kept.id,
        title=kept.title,
        date=kept.date,
        version=kept.version,
        event_id=kept.fingerprint,
    )


@router.get("/events")
def list_events(desk: AtDesk, request: Request) -> list[EventEntry]:
    """Return every event, latest date first, where all may see all; else none."""
    return [_entry(k) for k in desk.events()] if request.app.state.open else []


@router.post(
    "/events",
    status_code=201,
    responses={413: PROBLEM, 422: PROBLEM},
    openapi_extra=_BODY,
)
def put_in(desk: AtDesk, request: Request, event: EventIn, response: Response) -> EventEntry:
    """Put in an event; its plan is made at once, off the request. The same event twice is one."""
    kept = desk.put_event(event)
    response.headers["location"] = f"/api/events/{kept.id}"
    response.headers["etag"] = f'"{kept.fingerprint}"'
    if request.app.state.open:
        return _entry(kept)
    token = access.make_link(desk.store, kept.id, "organiser", now=desk.now())
    return changed(_entry(kept), organiser_token=token)


@router.get("/events/{name}", responses=REFUSALS)
def read_one(name: Name, desk: AtDesk, response: Response) -> Event:
    """Return the event, complete: catalogue entries and US units resolved."""
    kept = desk.event_of(name)
    response.headers["etag"] = f'"{kept.fingerprint}"'
    return kept.event


@router.put(
    "/events/{name}",
    responses={**REFUSALS, 412: PROBLEM, 413: PROBLEM, 428: PROBLEM},
    openapi_extra=_BODY,
)
def change(
    name: Name,
    desk: AtDesk,
    event: EventIn,
    response: Response,
    if_match: Annotated[str | None, Header(examples=['"3f2a9c01d7be"'])] = None,
) -> EventEntry:
    """Change an event; If-Match says which version the change was made to."""
    kept = desk.change_event(name, event, if_match=if_match)
    response.headers["etag"] = f'"{kept.fingerprint}"'
    return _entry(kept)


@router.get("/events/{name}/file", responses=REFUSALS, response_class=Response)
def read_file(name: Name, desk: AtDesk) -> Response:
    """Return the event as an event file (TOML)."""
    return Response(desk.file_of(name), media_type="application/toml")


@router.get("/events/{name}/window", responses=REFUSALS)
def read_window(name: Name, desk: AtDesk) -> list[Window]:
    """Return the stretches of usable sun: the site first, then each sun cooker."""
    return list(desk.windows_of(name))


@router.get("/events/{name}/estimates", responses=REFUSALS)
def read_estimates(name: Name, desk: AtDesk) -> list[Estimate]:
    """Return minutes to done for each dish, cooker and start, or why not."""
    return desk.estimates_of(name)


@router.get("/events/{name}/plan", responses={**REFUSALS, 202: {"model": PlanAnswer}, 500: PROBLEM})
def read_plan(name: Name, desk: AtDesk, response: Response) -> PlanAnswer:
    """Return the checked plan; 202 while it is being counted."""
    found = desk.plan_of(name)
    if found.state == "broken":
        raise PlanBroken([found.why])
    if found.plan is None:
        response.status_code = 202
        response.headers["retry-after"] = "1"
    return PlanAnswer(state=found.state, made_at=found.made_at, plan=found.plan)


@router.get("/events/{name}/turns", responses=REFUSALS)
def read_turns(
    name: Name,
    desk: AtDesk,
    now: Annotated[Instant | None, Query(examples=[EXAMPLE_AT])] = None,
    helper: Annotated[str | None, Query(max_length=40, examples=["asta"])] = None,
    cooker: Annotated[str | None, Query(max_length=40, examples=["mirror-1"])] = None,
) -> TurnsAnswer:
    """Return the turns due or still to come at `now` (without it, by the clock here)."""
    at = now or desk.now()
    turns = desk.next_turns(name, now=at, helper_id=helper, cooker_id=cooker)
    return TurnsAnswer(
        now=at,
        turns=[
            TurnAnswer(turn=t.turn, helper_id=t.helper_id, in_min=round(t.in_min, 1)) for t in turns
        ],
    )


@router.put(
    "/events/{name}/weather",
    responses={**REFUSALS, 412: PROBLEM, 413: PROBLEM, 428: PROBLEM, 502: PROBLEM},
    openapi_extra={
        "requestBody": {
            "description": "Hours as CSV, or a feed's JSON. Empty: fetched, where that is set up.",
            "content": {"text/csv": {"schema": {"type": "string"}}, "application/json": {}},
        }
    },
)
async def change_weather(
    name: Name,
    desk: AtDesk,
    request: Request,
    response: Response,
    if_match: Annotated[str | None, Header(examples=['"3f2a9c01d7be"'])] = None,
) -> EventEntry:
    """Take an event's forecast from a table or a feed, and plan again."""
    body = (await request.body()).decode("utf-8", errors="replace").strip()
    kept = await run_in_threadpool(desk.change_weather, name, body or None, if_match=if_match)
    response.headers["etag"] = f'"{kept.fingerprint}"'
    return _entry(kept)


@router.get("/events/{name}/cookers/{cooker}/heat", responses=REFUSALS)
def read_heat(
    name: Name,
    cooker: Name,
    desk: AtDesk,
    at: Annotated[Instant | None, Query(examples=[EXAMPLE_AT])] = None,
) -> HeatFlow:
    """Return where a cooker's watts go at an instant, with a sentence to read out."""
    return desk.heat_of(name, cooker, at)


@router.get("/events/{name}/cookers/{cooker}/litre-test", responses=REFUSALS)
def read_litre_test(
    name: Name, cooker: Name, desk: AtDesk, told: Annotated[LitreTold, Query()]
) -> CalibrationResult:
    """Return a cooker's strength, with its band, from two readings of some water."""
    return desk.litre_test(name, cooker, told)


@router.get("/events/{name}/fixes", responses={**REFUSALS, 503: PROBLEM})
def read_fixes(name: Name, desk: AtDesk) -> list[Improvement]:
    """Return the smallest changes that would help refused or unsure dishes; takes some seconds."""
    return desk.fixes_of(name, wait_s=desk.api_wait_s)


@router.post("/events/{name}/fixes/{fix}", responses={**REFUSALS, 412: PROBLEM, 428: PROBLEM})
def apply_fix(
    name: Name,
    fix: Name,
    desk: AtDesk,
    if_match: Annotated[str | None, Header(examples=['"3f2a9c01d7be"'])] = None,
) -> EventEntry:
    """Make one of the changes; the event is planned again."""
    return _entry(desk.apply_fix(name, fix, if_match=if_match))


@router.get("/events/{name}/season", responses={**REFUSALS, 503: PROBLEM})
def read_season(name: Name, desk: AtDesk) -> Season:
    """Return by what hour the sun has each dish ready, week by week on a clear day."""
    return desk.season_of(name, wait_s=desk.api_wait_s)


class DiaryLine(BaseModel):
    """An entry as it is kept, and how it stands to the newest plan."""

    kept: StoredEntry
    conflict: str
    undone: bool


@router.post("/events/{name}/diary", responses=REFUSALS)
def write_down(name: Name, desk: AtDesk, entry: Entry) -> DiaryLine:
    """Append a press to the diary. The same id sent again counts once."""
    written = desk.write_down(name, entry)
    return DiaryLine(kept=written.kept, conflict=written.conflict, undone=written.undone)


@router.get("/events/{name}/diary", responses=REFUSALS)
def read_diary(
    name: Name, desk: AtDesk, after: Annotated[int, Query(ge=0, le=2**31)] = 0
) -> list[DiaryLine]:
    """Return what was written down after entry number `after`, in order."""
    return [
        DiaryLine(kept=w.kept, conflict=w.conflict, undone=w.undone)
        for w in desk.diary_of(name, after=after)
    ]


@router.get("/schema/event")
def read_event_schema() -> dict[str, object]:
    """Return the JSON Schema of an event file."""
    return event_schema()


@router.get("/schema/plan")
def read_plan_schema() -> dict[str, object]:
    """Return the JSON Schema of a plan."""
    return Plan.model_json_schema()
