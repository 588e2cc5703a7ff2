"""The planner: a new day from nothing, its parts as forms, minutes that follow what is typed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated

from fastapi import Form, Request, Response, UploadFile
from fastapi.responses import RedirectResponse
from starlette.concurrency import run_in_threadpool

from events.errors import NOT_UTF8, Fault, FaultyEvent, NotFound, StaleVersion
from events.model import Event
from events.reading.catalogue import entries
from events.reading.event_file import read_event
from events.site import Station
from service import access
from service.application.desk import Desk
from service.charts.sun_path import sun_path
from service.dependencies import AtDesk, Name
from service.forms import event_form as drafts
from service.forms.fields import shown
from service.forms.multiline import lines_of, sky_lines
from service.text import formatting
from service.text.faults import fault_advice
from service.web.context import PageContext, page_of
from service.web.dish_matrix import matrix
from service.web.form_data import Typed, own_of
from service.web.plan_rows import stretches_told
from solver.feasibility.dish_matrix import dish_matrix
from solver.feasibility.siting import siting, sun_spans
from solver.solar.windows import windows

router = access.gated_pages()
TABS = (
    ("site", "Site"),
    ("cookers", "Cookers"),
    ("dishes", "Dishes"),
    ("servings", "Servings"),
    ("helpers", "Helpers"),
    ("talks", "Talks"),
    ("check", "Check"),
)
KIND = {
    "cookers": "cooker",
    "dishes": "dish",
    "servings": "meal",
    "helpers": "helper",
    "talks": "talk",
}


@router.get("/e/{name}/plan")
def planner(name: Name) -> Response:
    """Lead to the dishes: where most of the planning is."""
    return RedirectResponse(f"/e/{name}/plan/dishes", status_code=303)


@router.get("/e/{name}/plan/{tab}")
def show(name: Name, tab: Name, desk: AtDesk, request: Request) -> Response:
    """Show one part of the day as a form."""
    picked = request.query_params.get("dish", "")[:40]
    return _show(PageContext(desk, name), desk, tab, picked=picked)


def _show(
    seen: PageContext,
    desk: Desk,
    tab: str,
    *,
    picked: str = "",
    form: dict[str, str] | None = None,
    faults: list[Fault] | None = None,
    conflict: bool = False,
) -> Response:
    if tab not in dict(TABS):
        raise NotFound(f"No page “{tab}” in the planner.")
    event = seen.event
    kind = KIND.get(tab)
    held = drafts.table_of(event)
    rows = [drafts.in_units(r, event.units) for r in drafts.rows_of(held, kind)] if kind else []
    dish = next((d for d in event.dishes if d.id == picked), event.dishes[0])
    site = held["site"]
    assert isinstance(site, dict)
    more: dict[str, object] = {}
    if tab == "dishes":
        more["matrix"] = matrix(event, dish_matrix(event), _chosen(seen))
        more["dish_row"] = next(r for r in rows if r["id"] == dish.id)
    if tab == "check":
        more |= _checks(seen, desk)
    if tab in ("dishes", "site"):
        more["path"] = sun_path(event, None)
        more["sun_rows"] = seen.found.plan.sun[::6] if seen.found.plan else ()
        more["station_paths"] = [
            (s.name, sun_path(event, s), _spans(event, s)) for s in event.stations if tab == "site"
        ][:6]
    return seen.page(
        "plan.html",
        here="/plan/dishes",
        tab=tab,
        tabs=TABS,
        kind=kind,
        rows=rows,
        fields=drafts.fields_of(drafts.ROWS.get(kind or "", ()), event.units),
        site_fields=drafts.fields_of(drafts.SITE, event.units),
        event_fields=drafts.EVENT,
        site=drafts.in_units(site, event.units),
        lines=lines_of(site, event.units) | {"sky": sky_lines(held, event.units)},
        top=held,
        value=_values(form),
        shown=shown,
        fault_of=_beside(faults or [], rows, kind),
        faults=faults or [],
        conflict=conflict,
        choices=_choices(event, desk),
        window=stretches_told(event, windows(event)[0].stretches),
        dish=dish,
        version=seen.kept.version,
        **more,
    )


def _spans(event: Event, station: Station) -> str:
    """Return when a station has usable sun, as clock times."""
    return (
        ", ".join(
            f"{formatting.clock(event, s.starts_at)} to {formatting.clock(event, s.ends_at)}"
            for s in sun_spans(event, station)
        )
        or "none"
    )


def _values(form: dict[str, str] | None) -> object:
    """Return how a field's text is found: as it was typed, else as it is."""

    def value(key: str, held: object) -> str:
        return form[key] if form is not None and key in form else shown(held)

    return value


def _beside(
    faults: list[Fault], rows: list[dict[str, object]], kind: str | None
) -> Callable[[str, str], str]:
    """Return how a field's fault is found: by its row's id, else its number, and by its key."""
    numbers = {str(r["id"]): n for n, r in enumerate(rows, 1)}

    def advice(row_id: str, key: str) -> str:
        for f in faults:
            whole = kind is None and f.table in ("", "site")
            same = f.id == row_id if f.id else f.number == numbers.get(row_id)
            row = kind is not None and f.table == kind and same
            if (whole or row) and f.key == key:
                return fault_advice(f)
        return ""

    return advice


def _choices(event: Event, desk: Desk) -> dict[str, list[tuple[str, str]]]:
    catalogue = {
        kind: [(k, str(v.get("name", k))) for k, v in entries(kind).items()] for kind in drafts.LIKE
    }
    catalogue["cooker"] += [(f"own:{k}", f"{c.name} (own)") for k, c in own_of(desk).items()]
    return {
        "station": [("", "-"), *((s.id, s.name) for s in event.stations)],
        "meal": [(m.id, m.name) for m in event.meals],
        "helper": [("", "-"), *((h.id, h.name) for h in event.helpers)],
        "dish": [("", "-"), *((d.id, d.name) for d in event.dishes)],
        "cookers": [("", "any"), *((c.id, c.name) for c in event.cookers)],
        "stage": [
            ("", "-"),
            ("loaded", "loaded"),
            ("simmering", "simmering"),
            ("lifted", "lifted"),
        ],
        "rules": [(r, r) for r in ("strictest", "US", "EU", "UK", "AU", "NZ")],
        "units": [("metric", "metric"), ("us", "US")],
        **{f"like-{k}": v for k, v in catalogue.items()},
    }


def _chosen(seen: PageContext) -> dict[tuple[str, str], str]:
    """Return when the plan loads each dish in each cooker, by (dish, cooker)."""
    plan = seen.found.plan
    return (
        {
            (p.dish_id, p.cooker_id): formatting.clock(seen.event, p.loaded_at)
            for p in plan.placements
        }
        if plan
        else {}
    )


def _checks(seen: PageContext, desk: Desk) -> dict[str, object]:
    event, plan = seen.event, seen.found.plan
    places = siting(event)
    return {
        "plan": plan,
        "found": seen.found,
        "dishes": {d.id: d.name for d in event.dishes},
        "typical": [c for c in event.cookers if c.on_sun and "typical" in c.origin],
        "spots": [(event.station(s.station_id).name, s.sun_min) for s in places.spots],
        "swaps": [
            (event.cooker(s.cooker_id).name, event.cooker(s.other_id).name, s.gain_min)
            for s in places.swaps[:3]
        ],
    }


@router.post("/e/{name}/plan/{tab}")
def save(name: Name, tab: Name, desk: AtDesk, form: Typed) -> Response:
    """Keep what was typed and plan anew; faults stand beside their fields, nothing is lost."""
    seen = PageContext(desk, name)
    picked = form.get("picked", "")
    try:
        event = drafts.event_of(_typed_table(seen.event, tab, form, desk))
        kept = desk.change_event(name, event, if_match=form.get("mark"))
    except FaultyEvent as error:
        page = _show(seen, desk, tab, picked=picked, form=form, faults=error.faults)
        page.status_code = 422
        return page
    except StaleVersion:
        page = _show(PageContext(desk, name), desk, tab, picked=picked, form=form, conflict=True)
        page.status_code = 412
        return page
    there = picked if picked in {d.id for d in kept.event.dishes} else ""
    where = f"/e/{name}/plan/{tab}" + (f"?dish={there}" if there else "")
    return RedirectResponse(f"{where}#kept", status_code=303)


def _typed_table(event: Event, tab: str, form: dict[str, str], desk: Desk) -> drafts.Table:
    if tab == "site":
        return drafts.with_site(event, form)
    if tab not in KIND:
        raise NotFound(f"Nothing is kept on “{tab}”.")
    return drafts.with_rows(event, KIND[tab], form, own_of(desk))


@router.post("/e/{name}/try/{tab}")
async def attempt(name: Name, tab: Name, desk: AtDesk, form: Typed) -> Response:
    """Tell what comes of what is typed, and change nothing: sun window, minutes, faults."""
    return await run_in_threadpool(_attempt, name, tab, desk, form)


def _attempt(name: str, tab: str, desk: Desk, form: dict[str, str]) -> Response:
    event = desk.event_of(name).event
    faults: list[Fault] = []
    rows: list[dict[str, object]] = []
    window = ""
    try:
        event = drafts.event_of(_typed_table(event, tab, form, desk))
        if tab == "site":
            window = stretches_told(event, windows(event)[0].stretches)
        picked = [d for d in event.dishes if d.id == form.get("picked")] or event.dishes[:1]
        rows = matrix(event, dish_matrix(event, picked), {})
    except FaultyEvent as error:
        faults = error.faults
    return page_of("try.html", event=event, matrix=rows, window=window, faults=faults)


@router.post("/e/{name}/file")
async def take_file(
    name: Name, desk: AtDesk, file: UploadFile, mark: Annotated[str, Form(max_length=40)]
) -> Response:
    """Put an event file in the place of this day; what went out comes back equal."""
    try:
        text = (await file.read()).decode("utf-8")
    except UnicodeDecodeError:
        raise FaultyEvent(file.filename or "the file", [NOT_UTF8]) from None
    event = read_event(text, source=file.filename or "the file")
    await run_in_threadpool(desk.change_event, name, event, if_match=mark)
    return RedirectResponse(f"/e/{name}/plan/check", status_code=303)


@router.post("/e/{name}/undo")
def undo(name: Name, desk: AtDesk, form: Typed) -> Response:
    """Take the last change back: the version before becomes the newest."""
    kept = desk.event_of(name)
    before = desk.store.events.earlier_version(name, kept.version - 1)
    desk.change_event(name, before, if_match=form.get("mark"))
    return RedirectResponse(f"/e/{name}/plan/check", status_code=303)
