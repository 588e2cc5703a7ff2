"""Pages out of templates: figures as an event says them, refusals, the routers of pages."""

from __future__ import annotations

from collections.abc import Sequence
from contextvars import ContextVar
from functools import partial
from http import HTTPStatus
from importlib.resources import files

from fastapi import APIRouter, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from events.kinds import COOKER_KINDS
from events.model import Event
from service.text import cookers, formatting, glossary, messages, notices
from service.text.error_words import why_stopped
from service.text.faults import SaidFault, said
from service.text.warnings import warning_lines
from service.web.static_files import with_static_hash

_templates = Environment(
    loader=FileSystemLoader(str(files("service") / "web" / "templates")),
    autoescape=select_autoescape(),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
    auto_reload=False,  # a look at the disk for each part of each page
)
_templates.filters |= {
    "long_date": formatting.long_date,
    "size": formatting.size,
    "kind_name": cookers.kind_name,
    "caution": cookers.caution,
    "strength_source": cookers.strength_source,
    "fault": lambda it: said(it).text,
    "why_stopped": why_stopped,
    "symbol": lambda kind: COOKER_KINDS[kind].symbol,
}
_templates.globals |= {
    "messages": messages,
    "term": partial(glossary.term, None),
    "band": glossary.band(None),
    "level_name": notices.LEVEL,
    "refresh": None,
    "stored": None,
    "page_path": None,
    "pages": (),
    "section": None,
    "role": "organiser",
    "clock": "",
    "cloud": "",
    "suggestion": None,
    "in_hand": (),
    "now_at": None,
    "made_at": None,
    "live": None,
    "plan_revision": "",
    "standing": None,
    "state": None,
    "diary_number": 0,
    "event": None,
}
_localized: dict[tuple[str, int, str], Environment] = {}
_shown: ContextVar[Event] = ContextVar("shown")  # the event whose page is rendered


def page_router() -> APIRouter:
    """Return a router for pages."""
    return APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


def render(
    template: str, *, event: Event | None = None, status: int = 200, **more: object
) -> Response:
    """Return a page from its template; an event's page says figures as the event does."""
    templates = _templates
    if event is not None:
        templates = _localized_templates(event)
        more["event"] = event
        _shown.set(event)
    page = templates.get_template(template).render(status=status, **more)
    return HTMLResponse(with_static_hash(page), status)


def refusal(
    status: int,
    detail: str,
    faults: Sequence[SaidFault],
    *,
    again: Sequence[tuple[str, str]] = (),
    path: str = "",
) -> Response:
    """Return the page of a refusal, faults listed one by one.

    `again` are the fields of a form that could not be taken: one press sends them to `path` again.
    """
    title = "Please fix these things" if faults else HTTPStatus(status).phrase
    if status == HTTPStatus.NOT_FOUND:
        title = "You don’t have access, or it doesn’t exist"
    return render(
        "refusal.html",
        status=status,
        detail=detail,
        faults=faults,
        title=title,
        again=again,
        path=path,
    )


def see_other(path: str) -> Response:
    """Send a browser on after a form was taken."""
    return RedirectResponse(path, status_code=HTTPStatus.SEE_OTHER)


def attachment(data: bytes | str, media_type: str, filename: str) -> Response:
    """Return a file to be stored."""
    disposition = f'attachment; filename="{filename}"'
    return Response(data, media_type=media_type, headers={"content-disposition": disposition})


def _localized_templates(event: Event) -> Environment:
    """Return templates that say figures as an event does, compiled once for each way of it.

    Other events share them: what says an event's names takes the one whose page it is.
    """
    key = (event.units, event.clock_h, event.site.timezone)
    if key not in _localized:
        templates = _templates.overlay()
        templates.filters = {
            **_templates.filters,
            "at": partial(formatting.clock, event),
            "mass": partial(formatting.mass, event),
            "pin": partial(formatting.pin, event),
            "lift_time": partial(formatting.lift_time, event),
            "temp": partial(formatting.temp, event),
            "refusal": lambda it: notices.refusal(_shown.get(), it),
            "warning_lines": lambda them: warning_lines(_shown.get(), them),
            "fault": lambda it: said(it, _shown.get()).text,
            "tradeoff": lambda it: notices.tradeoff(_shown.get(), it),
            "hour": partial(formatting.hour, event),
            "size": partial(formatting.size, units=event.units),
        }
        templates.globals = {
            **_templates.globals,
            "term": partial(glossary.term, event),
            "band": glossary.band(event),
        }
        _localized[key] = templates
    return _localized[key]
