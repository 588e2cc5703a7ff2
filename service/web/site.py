"""Pages of the whole site: its first page, samples, how the numbers come about."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Annotated

from fastapi import Form, Query, Request, Response, UploadFile
from fastapi.responses import PlainTextResponse
from starlette.concurrency import run_in_threadpool

from events.reading.samples import sample_text
from events.storage.tables import EventLine
from service.access import cookie_name, events_held, for_role
from service.application.events import PAGE
from service.application.services import Services
from service.dependencies import Name, ServicesDep
from service.text.glossary import glossary
from service.text.verdict import Verdict, verdict
from service.web.form_data import event_of, text_of
from service.web.keys import keep_key, page_of
from service.web.new_event import put_in_and_open
from service.web.rendering import page_router, render
from service.web.sample_cards import samples
from service.web.static_files import FOLDER, with_static_hash

router = page_router()


VERDICTS_MOST = 12  # plans that are read for the first page
LATEST_ZONE = timedelta(hours=12)  # a day is over where it is over everywhere


@dataclass(frozen=True)
class ListedEvent:
    """An event on the first page, where this browser may go in it, and how good its plan is."""

    stored: EventLine
    href: str
    over: bool = False
    place: str = ""
    verdict: Verdict | None = None


@router.get("/")
@for_role("anyone")
def index(
    services: ServicesDep,
    request: Request,
    first: Annotated[int, Query(ge=0, le=10**6)] = 0,
) -> Response:
    """Show every event where all may see all, a hundred at a time, and take a new one."""
    listed = _own_events(services, request, first)
    following = first + PAGE if len(listed) == PAGE else None
    events = _with_verdicts(services, listed)
    page = render(
        "index.html",
        events=events,
        samples=samples(),
        open=request.app.state.open,
        following=following,
    )
    for link in events_held(request):  # used, so the browser keeps them longer
        keep_key(page, link.event_id, request.cookies[cookie_name(link.event_id)])
    return page


def _own_events(services: Services, request: Request, first: int) -> list[ListedEvent]:
    """Return the events that a browser may open, latest first, each with the page it may open."""
    if request.app.state.open:
        return [
            ListedEvent(stored, f"/e/{stored.id}") for stored in services.events.page(first=first)
        ]
    held = [
        ListedEvent(services.events.get(link.event_id), page_of(link))
        for link in events_held(request)
    ]
    return sorted(held, key=lambda e: e.stored.date, reverse=True)


def _with_verdicts(services: Services, events: list[ListedEvent]) -> list[ListedEvent]:
    """Return events with how good their plans are: the latest ones, those that are not over."""
    today = (services.now() - LATEST_ZONE).date()
    listed: list[ListedEvent] = []
    for n, event in enumerate(events):
        over, place, said = event.stored.date < today, "", None
        if n < VERDICTS_MOST and not over:
            in_force = services.plans.in_force(event.stored.id)
            place = in_force.event.site.name
            said = verdict(in_force.event, in_force.plan) if in_force.plan else None
        listed.append(replace(event, over=over, place=place, verdict=said))
    return listed


@router.post("/events")
@for_role("anyone")
async def put_in(
    services: ServicesDep,
    request: Request,
    file: UploadFile | None = None,
    text: Annotated[str, Form()] = "",
) -> Response:
    """Take an event file from the form; go to its day, or show every fault."""
    source = "the text"
    if file is not None and file.filename:
        source, text = file.filename, await text_of(file)
    event = await event_of(text, source, services)
    return await run_in_threadpool(put_in_and_open, services, request, event, page="")


@router.get("/sw.js")
@for_role("anyone")
def worker() -> Response:
    """Return the worker that keeps pages for phones without a signal."""
    text = (FOLDER / "sw.js").read_text(encoding="utf-8")
    return Response(with_static_hash(text), media_type="text/javascript")


@router.get("/samples/{sample}")
@for_role("anyone")
def show_sample(sample: Name) -> Response:
    """Show a sample's text."""
    return PlainTextResponse(sample_text(sample))


@router.get("/about")
@for_role("anyone")
def about() -> Response:
    """Tell how the numbers come about, with their sources."""
    return render("about.html", glossary=glossary())
