"""Pages for people: the day, stations, jobs, the run sheet. Readable without scripts."""

from __future__ import annotations

from datetime import datetime
from http import HTTPStatus
from importlib.resources import files
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response, UploadFile
from fastapi.responses import HTMLResponse, PlainTextResponse, RedirectResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from events.errors import Fault, FaultyEvent, NotFound
from events.files import read_event, sample_names, sample_text, zone_of
from events.model import Event
from events.store import Kept
from service import words
from service.actions import Desk, PlanNow
from service.api import AtDesk, Name
from service.day_picture import day_wide
from service.doings import Doing, doings, for_helper, turners
from service.hand_pictures import curve_picture, turn_picture
from service.phone_picture import day_phone
from solver.plan import Placement, Plan, Stretch, Turn

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)
COUNTING_S, LOOK_AGAIN_S = 2, 30

_templates = Environment(
    loader=FileSystemLoader(str(files("service") / "templates")),
    autoescape=select_autoescape(),
    undefined=StrictUndefined,
    trim_blocks=True,
)
_templates.filters |= {"long_date": words.long_date, "size": words.size}
_templates.globals |= {
    "words": words,
    "refresh": None,
    "kept": None,
    "here": None,
    "clock": "",
    "now_at": None,
}


def _page(name: str, *, event: Event | None = None, status: int = 200, **more: object) -> Response:
    env = _templates
    if event is not None:
        env = _templates.overlay()
        env.filters = {
            **_templates.filters,
            "at": lambda instant: words.clock(event, instant),
            "mass": lambda kg: words.mass(event, kg),
            "temp": lambda at_c: words.temp(event, at_c),
        }
        more["event"] = event
    return HTMLResponse(env.get_template(name).render(status=status, **more), status)


def refusal(request: Request, status: int, detail: str, faults: list[dict[str, str]]) -> Response:
    """Return the page of a refusal, faults listed one by one."""
    title = "The file has faults" if faults else HTTPStatus(status).phrase
    if status == HTTPStatus.NOT_FOUND:
        title = "Nothing of that name here"
    return _page("refusal.html", status=status, detail=detail, faults=faults, title=title)


class Seen:
    """An event, its plan, and what time it is there; `now` is None on another day."""

    def __init__(self, desk: Desk, name: str) -> None:
        self.kept: Kept = desk.event_of(name)
        self.event = self.kept.event
        self.found: PlanNow = desk.plan_of(name)
        self.at = desk.now()
        same_day = words.local_date(self.at, zone_of(self.event)) == self.event.date
        self.now: datetime | None = self.at if same_day else None
        self.clock = words.clock(self.event, self.at) if same_day else ""

    def page(self, name: str, *, here: str | None = None, **more: object) -> Response:
        """Render one of this event's pages."""
        return _page(
            name,
            event=self.event,
            status=200,
            kept=self.kept,
            clock=self.clock,
            here=here,
            refresh=LOOK_AGAIN_S if self.now else None,
            now_at=self.now,
            **more,
        )

    def counting(self) -> Response:
        """Render the page that waits for the plan, or says why there is none."""
        return _page(
            "counting.html",
            event=self.event,
            kept=self.kept,
            clock=self.clock,
            found=self.found,
            refresh=COUNTING_S if self.found.state == "asked" else None,
        )


@router.get("/")
def index(desk: AtDesk) -> Response:
    """Show every event, and take a new one."""
    return _page("index.html", events=desk.events(), samples=sample_names())


@router.post("/events")
async def put_in(
    desk: AtDesk, file: UploadFile | None = None, text: Annotated[str, Form()] = ""
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
    return RedirectResponse(f"/e/{kept.id}", status_code=303)


@router.get("/samples/{name}")
def sample(name: Name) -> Response:
    """Show a sample's text."""
    return PlainTextResponse(sample_text(name))


@router.get("/e/{name}")
def the_day(name: Name, desk: AtDesk) -> Response:
    """Show the day: sun above, cookers below, what could not be placed and why."""
    seen = Seen(desk, name)
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
        wide=day_wide(event, plan, seen.now),
        phone=day_phone(event, plan, seen.now),
        next=_next(event, coming[0]) if coming else None,
        troubled=bool(plan.unplaced)
        or any(c.of_100 < event.chance_pct for c in (plan.risk.dishes if plan.risk else ())),
        chances=_chances(event, plan),
        placed=len({p.dish_id for p in plan.placements}),
        weakest=least and {"cooker": cookers[least.cooker_id], "minutes": least.margin_min},
        unplaced=_unplaced(event, plan),
        placements=[_batch(event, plan, p) for p in plan.placements],
        windows=[
            {
                "name": "The site" if w.cooker_id is None else cookers[w.cooker_id],
                "text": _stretches(event, w.stretches),
            }
            for w in plan.windows
        ],
    )


@router.get("/e/{name}/sheet")
def run_sheet(name: Name, desk: AtDesk) -> Response:
    """Show the run sheet: the day in time order, for printing too."""
    seen = Seen(desk, name)
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
        window=_stretches(event, plan.windows[0].stretches),
        gasless=[d.name for d in event.dishes if d.id in plan.gas_day.not_on_gas],
    )


@router.get("/e/{name}/stations")
def stations(name: Name, desk: AtDesk) -> Response:
    """Show every cooker, to choose one."""
    seen = Seen(desk, name)
    places: dict[str | None, str] = {None: ""}
    places |= {s.id: s.name for s in seen.event.stations}
    return seen.page("stations.html", here="/stations", places=places)


@router.get("/e/{name}/stations/{cooker_id}")
def station(name: Name, cooker_id: Name, desk: AtDesk) -> Response:
    """Show one cooker: what is in it, how warm, when to turn it and how far."""
    seen = Seen(desk, name)
    event, plan = seen.event, seen.found.plan
    cooker = next((c for c in event.cookers if c.id == cooker_id), None)
    if cooker is None:
        raise NotFound(f"No cooker “{cooker_id}” in {name}.")
    if plan is None:
        return seen.counting()
    due = desk.next_turns(name, now=seen.at, helper_id=None, cooker_id=cooker_id)
    coming = [t for t in due if seen.now or not t.turn.first] or due
    who = turners(plan)
    names = {h.id: h.name for h in event.helpers}
    next_id = coming[0].turn.id if coming else None
    own = next((w for w in plan.windows if w.cooker_id == cooker_id), plan.windows[0])

    def told(turn: Turn) -> dict[str, object]:
        past = seen.now is not None and turn.at < seen.now and turn.id != next_id
        return {
            "it": turn,
            "how": words.how_to_turn(event, turn),
            "ring": words.ring(event, turn),
            "who": names.get(who.get(turn.id) or "", ""),
            "when": "now" if turn.id == next_id else "past" if past else "",
        }

    works = ("turn", "load", "lift") if cooker.kind != "insulated" else ("lift",)
    return seen.page(
        "station.html",
        here="/stations",
        cooker=cooker,
        place=next((s.name for s in event.stations if s.id == cooker.station), ""),
        origin=cooker.origin,
        window=_stretches(event, own.stretches),
        batches=[
            {
                **_batch(event, plan, p),
                "wide": curve_picture(event, p, seen.now, wide=True),
                "narrow": curve_picture(event, p, seen.now, wide=False),
            }
            for p in plan.placements
            if p.cooker_id == cooker_id
        ],
        turns=[told(t) for t in plan.turns if t.cooker_id == cooker_id],
        next=(coming and {**told(coming[0].turn), "picture": turn_picture(event, coming[0].turn)})
        or None,
        heat=desk.heat_of(name, cooker_id, seen.now or _midday(plan)) if own.cooker_id else None,
        cautions=[c for w in works if (c := words.caution(cooker, w))],
        burns=words.BURNS,
    )


@router.get("/e/{name}/jobs")
def jobs(name: Name, desk: AtDesk) -> Response:
    """Show every helper, to choose oneself."""
    seen = Seen(desk, name)
    if seen.found.plan is None:
        return seen.counting()
    plan = seen.found.plan
    counts = {
        h.id: sum(h.id in d.helper_ids for d in doings(seen.event, plan))
        for h in seen.event.helpers
    }
    return seen.page("jobs.html", here="/jobs", counts=counts)


@router.get("/e/{name}/jobs/{helper_id}")
def my_jobs(name: Name, helper_id: Name, desk: AtDesk) -> Response:
    """Show one helper the next thing to do: when, what, how far, and what to beware of."""
    seen = Seen(desk, name)
    event, plan = seen.event, seen.found.plan
    helper = next((h for h in event.helpers if h.id == helper_id), None)
    if helper is None:
        raise NotFound(f"No helper “{helper_id}” in {name}.")
    if plan is None:
        return seen.counting()
    todo = [d for d in for_helper(event, plan, helper_id) if d.ends_at > seen.at]
    job = todo[0] if todo else None
    left, unit, due = _countdown(job, seen.at)
    shown = job.turns if job else ()
    cookers = {c.id: c.name for c in event.cookers}
    return seen.page(
        "myjobs.html",
        helper=helper,
        job=job,
        left=left,
        unit=unit,
        due=due,
        day="" if seen.now or job is None else words.long_date(event.date),
        pictures=[
            {
                "name": cookers[t.cooker_id],
                "how": words.how_to_turn(event, t) if not t.first else ("aim it ahead", ""),
                "picture": turn_picture(event, t),
                "until": t.holds_until,
            }
            for t in shown
        ],
        after=todo[1:5],
    )


def _countdown(job: Doing | None, at: datetime) -> tuple[str, str, bool]:
    """Return (number, unit, whether it is due) until a job begins."""
    if job is None:
        return "", "", False
    minutes = -int((at - job.at).total_seconds() // 60)
    if minutes <= 0:
        return "Now", "", True
    if minutes < 100:
        return str(minutes), "min", False
    hours = minutes / 60
    return (f"{hours:.0f}", "hours", False) if hours < 48 else (f"{hours / 24:.0f}", "days", False)


def _midday(plan: Plan) -> datetime:
    return max(plan.sun, key=lambda s: s.clear_w_m2).at


def _next(event: Event, d: Doing) -> dict[str, object]:
    return {"at": d.at, "who": _who(event, d), "title": d.title, "food": d.food}


def _who(event: Event, d: Doing) -> str:
    if d.kind == "serve":
        return "all"
    return ", ".join(h.name for h in event.helpers if h.id in d.helper_ids)


def _turn_line(event: Event, turn: Turn) -> str:
    name = next(c.name for c in event.cookers if c.id == turn.cooker_id)
    first, second = words.how_to_turn(event, turn)
    return f"{name} {first}, {second} ({words.ring(event, turn)})"


def _batch(event: Event, plan: Plan, p: Placement) -> dict[str, object]:
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
            "meal": "{0.name} {0.start:%H:%M}".format(meals[dishes[u.dish_id].meal]),
            "reasons": [
                (cookers[r.cooker_id] if r.cooker_id else "The day", r.text) for r in u.reasons
            ],
        }
        for u in plan.unplaced
    ]


def _stretches(event: Event, stretches: tuple[Stretch, ...]) -> str:
    spans = [
        f"{words.clock(event, s.starts_at)} to {words.clock(event, s.ends_at)}" for s in stretches
    ]
    return ", ".join(spans) or "none on this day"
