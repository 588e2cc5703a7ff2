"""What every page needs: the templates, the event, its plan, what time it is there."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from functools import partial
from http import HTTPStatus
from importlib.resources import files

from fastapi import Request, Response
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from events.errors import Fault
from events.kinds import COOKER_KINDS
from events.model import Event
from events.storage.tables import StoredEvent
from service.application.desk import Desk, PlanNow
from service.text import cookers, formatting, notices
from service.text import glossary as terms
from service.text import messages as words
from service.text.faults import fault_advice, fault_place, fault_text

COUNTING_S, LOOK_AGAIN_S = 2, 30

_templates = Environment(
    loader=FileSystemLoader(str(files("service") / "web" / "templates")),
    autoescape=select_autoescape(),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
_templates.filters |= {
    "long_date": formatting.long_date,
    "size": formatting.size,
    "kind_name": cookers.kind_name,
    "caution": cookers.caution,
    "fault": fault_text,
    "fault_place": fault_place,
    "fault_advice": fault_advice,
    "symbol": lambda kind: COOKER_KINDS[kind].symbol,
}
_templates.globals |= {
    "words": words,
    "level_name": notices.LEVEL,
    "term": partial(terms.term, None),
    "band": terms.band(None),
    "refresh": None,
    "kept": None,
    "here": None,
    "clock": "",
    "now_at": None,
    "live": None,
    "plan_mark": "",
}


def page_of(
    name: str, *, event: Event | None = None, status: int = 200, **more: object
) -> Response:
    """Render a template, with an event's own ways of saying figures."""
    env = _templates
    if event is not None:
        env = _saying(event)
        more["event"] = event
    return HTMLResponse(env.get_template(name).render(status=status, **more), status)


_sayings: dict[tuple[str, int, str], Environment] = {}


def _saying(event: Event) -> Environment:
    """Return templates that say figures as an event does; compiled once for each way of saying."""
    way = (event.units, event.clock_h, event.site.timezone)
    if way not in _sayings:
        env = _templates.overlay()
        env.filters = {
            **_templates.filters,
            "at": lambda instant: formatting.clock(event, instant),
            "mass": lambda kg: formatting.mass(event, kg),
            "temp": lambda at_c: formatting.temp(event, at_c),
            "refusal": lambda notice: notices.refusal(event, notice),
            "warning": lambda notice: notices.warning(event, notice),
            "tradeoff": lambda notice: notices.tradeoff(event, notice),
            "hour": lambda at: formatting.hour(event, at),
        }
        env.globals = {
            **_templates.globals,
            "term": partial(terms.term, event),
            "band": terms.band(event),
        }
        _sayings[way] = env
    return _sayings[way]


def refusal(request: Request, status: int, detail: str, faults: Sequence[Fault]) -> Response:
    """Return the page of a refusal, faults listed one by one."""
    title = "The file has faults" if faults else HTTPStatus(status).phrase
    if status == HTTPStatus.NOT_FOUND:
        title = "Nothing of that name here"
    return page_of("refusal.html", status=status, detail=detail, faults=faults, title=title)


class PageContext:
    """An event, its plan, and what time it is there; `now` is None on another day."""

    def __init__(self, desk: Desk, name: str) -> None:
        self.kept: StoredEvent = desk.event_of(name)
        self.event = self.kept.event
        self.found: PlanNow = desk.plan_of(name)
        self.at = desk.now()
        same_day = formatting.local_date(self.at, self.event.zone) == self.event.date
        self.now: datetime | None = self.at if same_day else None
        self.clock = formatting.clock(self.event, self.at) if same_day else ""

    def page(self, name: str, *, here: str | None = None, **more: object) -> Response:
        """Render one of this event's pages."""
        return page_of(
            name,
            event=self.event,
            status=200,
            kept=self.kept,
            plan_mark=self.found.mark,
            clock=self.clock,
            here=here,
            refresh=LOOK_AGAIN_S if self.now else None,
            now_at=self.now,
            live=f"/e/{self.kept.id}/live" if self.now or here == "/plan/dishes" else None,
            **more,
        )

    def counting(self, what: str = "") -> Response:
        """Render the page that waits for the plan or for `what`, or says why there is none."""
        return page_of(
            "counting.html",
            event=self.event,
            kept=self.kept,
            clock=self.clock,
            found=self.found,
            what=what,
            refresh=COUNTING_S if what or self.found.state == "asked" else None,
        )
