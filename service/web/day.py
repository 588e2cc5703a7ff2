"""Pages for people: the day, stations, jobs, the run sheet. Readable without scripts."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from functools import partial
from http import HTTPStatus
from importlib.resources import files
from typing import Annotated

from fastapi import Form, Request, Response, UploadFile
from fastapi.responses import HTMLResponse, PlainTextResponse, RedirectResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from events.errors import Fault, FaultyEvent
from events.model import Event
from events.reading.event_file import read_event, sample_names, sample_text, zone_of
from events.storage.tables import Kept
from service import access
from service.api.events import AtDesk, Name
from service.application.desk import Desk, PlanNow
from service.charts.day_timeline import day_wide
from service.charts.day_timeline_phone import day_phone
from service.charts.sun_windows import window_picture
from service.text import glossary as terms
from service.text import messages as words
from service.text.allergens import sentence
from service.text.run_sheet import RunSheetItem, doings
from solver.plan import EVERYBODY, Placement, Plan, Stretch, Turn

router = access.gated_pages()
COUNTING_S, LOOK_AGAIN_S = 2, 30

_templates = Environment(
    loader=FileSystemLoader(str(files("service") / "web" / "templates")),
    autoescape=select_autoescape(),
    undefined=StrictUndefined,
    trim_blocks=True,
)
_templates.filters |= {"long_date": words.long_date, "size": words.size}
_templates.globals |= {
    "words": words,
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
            "at": lambda instant: words.clock(event, instant),
            "mass": lambda kg: words.mass(event, kg),
            "temp": lambda at_c: words.temp(event, at_c),
            "said": lambda text: words.said(event, text),
            "hour": lambda at: words.hour(event, at),
        }
        env.globals = {
            **_templates.globals,
            "term": partial(terms.term, event),
            "band": terms.band(event),
        }
        _sayings[way] = env
    return _sayings[way]


def refusal(request: Request, status: int, detail: str, faults: list[dict[str, str]]) -> Response:
    """Return the page of a refusal, faults listed one by one."""
    title = "The file has faults" if faults else HTTPStatus(status).phrase
    if status == HTTPStatus.NOT_FOUND:
        title = "Nothing of that name here"
    return page_of("refusal.html", status=status, detail=detail, faults=faults, title=title)


class PageContext:
    """An event, its plan, and what time it is there; `now` is None on another day."""

    def __init__(self, desk: Desk, name: str) -> None:
        self.kept: Kept = desk.event_of(name)
        self.event = self.kept.event
        self.found: PlanNow = desk.plan_of(name)
        if self.found.plan is not None:
            plan = words.plan_said(self.event, self.found.plan)
            self.found = replace(self.found, plan=plan)
        self.at = desk.now()
        same_day = words.local_date(self.at, zone_of(self.event)) == self.event.date
        self.now: datetime | None = self.at if same_day else None
        self.clock = words.clock(self.event, self.at) if same_day else ""

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
            fault = Fault("", "", "", "is not UTF-8 text", "Save it as UTF-8.")
            raise FaultyEvent(source, [fault]) from None
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


@router.get("/e/{name}")
def the_day(name: Name, desk: AtDesk) -> Response:
    """Show the day: sun above, cookers below, what could not be placed and why."""
    seen = PageContext(desk, name)
    plan, event = seen.found.plan, seen.event
    if plan is None:
        return seen.counting()
    cookers = {c.id: c.name for c in event.cookers}
    least = min(plan.placements, key=lambda p: p.margin_min, default=None)
    coming = [d for d in doings(event, plan) if seen.now and d.at >= seen.now]
    return seen.page(
        "day.html",
        here="",
        plan=plan,
        wide=day_wide(event, plan, seen.now, link=f"/e/{name}/batch/"),
        phone=day_phone(event, plan, seen.now),
        next=_next(event, coming[0]) if coming else None,
        troubled=bool(plan.unplaced)
        or any(c.of_100 < event.chance_pct for c in (plan.risk.dishes if plan.risk else ())),
        chances=_chances(event, plan),
        placed=len({p.dish_id for p in plan.placements}),
        weakest=least and {"cooker": cookers[least.cooker_id], "minutes": least.margin_min},
        unplaced=_unplaced(event, plan),
        placements=[batch_told(event, plan, p) for p in plan.placements],
        window_picture=window_picture(event, plan),
        work=[
            (h.name, [d for d in doings(event, plan) if h.id in d.helper_ids])
            for h in event.helpers
        ],
        windows=[
            {
                "name": "The site" if w.cooker_id is None else cookers[w.cooker_id],
                "text": stretches_told(event, w.stretches),
            }
            for w in plan.windows
        ],
    )


@router.get("/e/{name}/sheet")
def run_sheet(name: Name, desk: AtDesk) -> Response:
    """Show the run sheet: the day in time order, for printing too."""
    seen = PageContext(desk, name)
    if seen.found.plan is None:
        return seen.counting()
    event, plan = seen.event, seen.found.plan
    rows: list[dict[str, object]] = []
    hour = ""
    for d in doings(event, plan):
        mine = words.clock(event, d.at)[:2]
        several = d.turns if d.kind == "walk" else ()
        rows.append(
            {
                "it": d,
                "who": _who(event, d),
                "hour": mine != hour,
                "turns": [_turn_line(event, t) for t in several],
            }
        )
        hour = mine
    return seen.page(
        "sheet.html",
        here="/sheet",
        plan=plan,
        rows=rows,
        unplaced=_unplaced(event, plan),
        window=stretches_told(event, plan.windows[0].stretches),
        gasless=[d.name for d in event.dishes if d.id in plan.gas_day.not_on_gas],
    )


def _next(event: Event, d: RunSheetItem) -> dict[str, object]:
    return {"at": d.at, "who": _who(event, d), "title": d.title, "food": d.food}


def _who(event: Event, d: RunSheetItem) -> str:
    if d.kind in EVERYBODY:
        return "all"
    return ", ".join(h.name for h in event.helpers if h.id in d.helper_ids)


def _turn_line(event: Event, turn: Turn) -> str:
    name = next(c.name for c in event.cookers if c.id == turn.cooker_id)
    first, second = words.how_to_turn(event, turn)
    return f"{name} {first}, {second} ({words.ring(event, turn)})"


def batch_told(event: Event, plan: Plan, p: Placement) -> dict[str, object]:
    """Return a placement with its names, chance and probe order."""
    dish = next(d for d in event.dishes if d.id == p.dish_id)
    pot = next(k.name for k in event.pots if k.id == p.pot_id)
    chance = {c.dish_id: c.of_100 for c in plan.risk.dishes} if plan.risk else {}
    return {
        "it": p,
        "chance": chance.get(p.dish_id),
        "dish": dish.name + words.part(p),
        "cooker": next(c.name for c in event.cookers if c.id == p.cooker_id),
        "pot": pot[0].lower() + pot[1:],
        "probe": words.probe_order(event, dish),
        "allergens": sentence(event, dish),
    }


def _chances(event: Event, plan: Plan) -> list[tuple[str, int]]:
    """Return each meal's chance, as it is said."""
    names = {m.id: m.name for m in event.meals}
    return [(names[m.meal_id], m.of_100) for m in plan.risk.meals] if plan.risk else []


def _unplaced(event: Event, plan: Plan) -> list[dict[str, object]]:
    dishes, cookers = {d.id: d for d in event.dishes}, {c.id: c.name for c in event.cookers}
    meals = {m.id: m for m in event.meals}
    return [
        {
            "dish": dishes[u.dish_id],
            "meal": f"{meal.name} {words.hour(event, meal.start)}",
            "reasons": [
                (cookers[r.cooker_id] if r.cooker_id else "The day", r.text) for r in u.reasons
            ],
        }
        for u in plan.unplaced
        for meal in [meals[dishes[u.dish_id].meal]]
    ]


def stretches_told(event: Event, stretches: tuple[Stretch, ...]) -> str:
    """Return stretches of sun as clock times."""
    spans = [
        f"{words.clock(event, s.starts_at)} to {words.clock(event, s.ends_at)}" for s in stretches
    ]
    return ", ".join(spans) or "none on this day"
