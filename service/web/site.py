"""Pages of the whole site: its first page, samples, how the numbers come about."""

from __future__ import annotations

from importlib.resources import files
from typing import Annotated

from fastapi import Form, Request, Response, UploadFile
from fastapi.responses import PlainTextResponse, RedirectResponse

from events.errors import NOT_UTF8, FaultyEvent
from events.reading.event_file import read_event
from events.reading.samples import sample_names, sample_text
from service import access
from service.dependencies import AtDesk, Name
from service.text.glossary import glossary
from service.web.context import page_of

router = access.gated_pages()


@router.get("/")
def index(desk: AtDesk, request: Request) -> Response:
    """Show every event where all may see all, and take a new one."""
    events = desk.events() if request.app.state.open else []
    return page_of("index.html", events=events, samples=sample_names())


@router.post("/events")
async def put_in(
    desk: AtDesk,
    request: Request,
    file: UploadFile | None = None,
    text: Annotated[str, Form()] = "",
) -> Response:
    """Take an event file from the form; go to its day, or show every fault."""
    source = "the text"
    if file is not None and file.filename:
        source = file.filename
        try:
            text = (await file.read()).decode("utf-8")
        except UnicodeDecodeError:
            raise FaultyEvent(source, [NOT_UTF8]) from None
    kept = desk.put_event(read_event(text, source=source))
    if request.app.state.open:
        return RedirectResponse(f"/e/{kept.id}", status_code=303)
    token = access.make_link(desk.store, kept.id, "organiser", now=desk.now())
    return RedirectResponse(f"/l/{token}", status_code=303)


@router.get("/sw.js")
def worker() -> Response:
    """Return the worker that keeps pages for phones without a signal."""
    text = (files("service") / "web" / "static" / "sw.js").read_text(encoding="utf-8")
    return Response(text, media_type="text/javascript")


@router.get("/samples/{name}")
def sample(name: Name) -> Response:
    """Show a sample's text."""
    return PlainTextResponse(sample_text(name))


@router.get("/about")
def about() -> Response:
    """Tell how the numbers come about, with their sources."""
    return page_of("about.html", glossary=glossary())
