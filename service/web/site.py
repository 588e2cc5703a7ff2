"""Pages of the whole site: its first page, samples, how the numbers come about."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files
from typing import Annotated

from fastapi import Form, Request, Response, UploadFile
from fastapi.responses import PlainTextResponse
from starlette.concurrency import run_in_threadpool

from events.reading.samples import sample_names, sample_text
from events.storage.tables import StoredEvent
from service.access import cookie_name, events_held, for_role
from service.application.services import Services
from service.dependencies import Name, ServicesDep
from service.text.glossary import glossary
from service.web.form_data import event_of, text_of
from service.web.keys import keep_key, page_of
from service.web.new_event import put_in_and_open
from service.web.rendering import page_router, render

router = page_router()


@dataclass(frozen=True)
class ListedEvent:
    """An event on the first page, and where this browser may go in it."""

    stored: StoredEvent
    href: str


@router.get("/")
@for_role("anyone")
def index(services: ServicesDep, request: Request) -> Response:
    """Show every event where all may see all, and take a new one."""
    page = render("index.html", events=_own_events(services, request), samples=sample_names())
    for link in events_held(request):  # used, so the browser keeps them longer
        keep_key(page, link.event_id, request.cookies[cookie_name(link.event_id)])
    return page


def _own_events(services: Services, request: Request) -> list[ListedEvent]:
    """Return the events that a browser may open, latest first, each with the page it may open."""
    if request.app.state.open:
        return [ListedEvent(stored, f"/e/{stored.id}") for stored in services.events.all()]
    held = [
        ListedEvent(services.events.get(link.event_id), page_of(link))
        for link in events_held(request)
    ]
    return sorted(held, key=lambda e: e.stored.date, reverse=True)


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
    text = (files("service") / "web" / "static" / "sw.js").read_text(encoding="utf-8")
    return Response(text, media_type="text/javascript")


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
