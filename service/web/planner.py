"""The planner: an event's parts as forms, minutes that follow what is typed, undo."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from functools import partial
from typing import Annotated
from urllib.parse import urlsplit

from fastapi import Form, Query, Request, Response, UploadFile
from starlette.concurrency import run_in_threadpool

from events.errors import FaultyEvent, NotFound, StaleVersion
from events.model import Cooker, Event
from events.storage.tables import StoredEvent
from events.table import changed
from service.application.event_analyses import sun_windows
from service.application.services import Services
from service.dependencies import Name, ServicesDep
from service.forms import event_form
from service.forms.at_risk import Mend, mend_words, mended, mends_of
from service.forms.refusals import refusal_lines
from service.text import formatting
from service.text.round_crew import who_also_cooks
from service.text.sun import site_sun
from service.web.context import PageContext, PageContextDep
from service.web.dish_matrix import matrix_rows
from service.web.form_data import FormFields, event_of, text_of
from service.web.kept import kept
from service.web.own_cookers import OwnDep
from service.web.planner_form import TABLE_OF_TAB, Typed, form_values
from service.web.planner_parts import PARTS, ROTA, part_of, typed_part
from service.web.rendering import page_router, render, see_other

Own = Mapping[str, Cooker]
router = page_router()
CONTACT_LONGEST = 200  # signs of an emergency contact, as `Site` has it


@router.get("/e/{name}/plan")
def planner(name: Name) -> Response:
    """Lead to the dishes: where most of the planning is."""
    return see_other(f"/e/{name}/plan/dishes")


@router.get("/e/{name}/plan/{tab}")
def show(
    context: PageContextDep,
    tab: Name,
    services: ServicesDep,
    own: OwnDep,
    request: Request,
    followed: Annotated[int, Query(ge=0, le=1000)] = 0,
) -> Response:
    """Show one part of the day as a form; so many helpers followed the crew's new hours."""
    typed = Typed(request.query_params.get("dish", "")[:40])
    return _show(context, services, own, tab, typed, followed=followed)


@router.post("/e/{name}/plan/{tab}")
def save(
    context: PageContextDep, tab: Name, services: ServicesDep, own: OwnDep, form: FormFields
) -> Response:
    """Store what was typed and plan anew; faults stand beside their fields, nothing is lost."""
    name, picked, table, added = context.name, form.get("picked", ""), {}, {}
    form = form | {f"{dish}.drop": "on" for dish in form.get("leave_out", "").split(",") if dish}
    try:
        today = formatting.local_date(context.at, context.stored.event.zone)
        table = _table_typed(own, context.stored.event, tab, form, today)
        if kind := TABLE_OF_TAB.get(tab):
            added = event_form.added_rows(context.stored.event, kind, form, own)
        event = _event_typed(table, form)
        followed = 0
        if tab == "site":
            moved = event_form.with_crew_hours(context.stored.event, event)
            followed = sum(a != b for a, b in zip(event.helpers, moved.helpers, strict=True))
            event = moved
        stored = services.events.change(name, event, etag=form.get("etag"))
    except FaultyEvent as error:
        typed = Typed(picked, form, error.faults, table=table, added=added)
        mends = mends_of(error.faults) if form.get("vulnerable_guests") == "on" else []
        page = _show(context, services, own, tab, typed, mends=mends)
        page.status_code = 422
        return page
    except StaleVersion:
        fresh = context.reloaded(services)
        page = _show(fresh, services, own, tab, Typed(picked, form, conflict=True))
        page.status_code = 412
        return page
    more = f"?dish={picked}" if picked in {d.id for d in stored.event.dishes} else ""
    if followed:
        more = f"?followed={followed}"
    return see_other(f"/e/{name}/plan/{tab}{more}#kept")


@router.post("/e/{name}/try/{tab}")
async def attempt(
    name: Name, tab: Name, services: ServicesDep, own: OwnDep, form: FormFields
) -> Response:
    """Show what comes of what is typed, and change nothing: sun window, minutes, faults."""
    get, at = partial(services.events.get, name), services.now()
    return await run_in_threadpool(_attempt, get, tab, own, form, at)


@router.post("/e/{name}/file")
async def take_file(
    name: Name,
    services: ServicesDep,
    file: UploadFile,
    etag: Annotated[str, Form(max_length=40)],
) -> Response:
    """Put an event file in the place of this day; what went out comes back equal."""
    event = await event_of(await text_of(file), file.filename or "the file", services)
    await run_in_threadpool(services.events.change, name, event, etag=etag)
    return see_other(f"/e/{name}/plan/check")


@router.post("/e/{name}/forecast")
def fetch_forecast(name: Name, services: ServicesDep, form: FormFields) -> Response:
    """Fetch the forecast for this place and day, and plan again."""
    services.events.change_weather(name, None, etag=form.get("etag"))
    return see_other(f"/e/{name}/plan/site#kept")


@router.post("/e/{name}/undo")
def undo(name: Name, services: ServicesDep, form: FormFields, request: Request) -> Response:
    """Take the last change back: the version before becomes the newest. The page stays."""
    services.events.undo(name, etag=form.get("etag"))
    return _back(name, request)


@router.post("/e/{name}/fire-rules")
def fire_rules_read(
    name: Name, services: ServicesDep, form: FormFields, request: Request
) -> Response:
    """Note that the organiser has read the local fire rules for the date. The page stays."""
    event = services.events.get(name).event
    read = changed(event, site=changed(event.site, fire_rules_read=True))
    services.events.change(name, read, etag=form.get("etag"))
    return _back(name, request)


@router.post("/e/{name}/emergency")
def emergency(name: Name, services: ServicesDep, form: FormFields, request: Request) -> Response:
    """Name who is called when something goes wrong. The page stays."""
    contact = " ".join(form.get("contact", "").split())[:CONTACT_LONGEST]
    event = services.events.get(name).event
    named = changed(event, site=changed(event.site, emergency=contact))
    services.events.change(name, named, etag=form.get("etag"))
    return _back(name, request)


@router.post("/e/{name}/plan-stop")
def stop(name: Name, services: ServicesDep) -> Response:
    """Stop working out the newest plan; the one before stays."""
    services.plans.stop(name)
    return see_other(f"/e/{name}")


@router.post("/e/{name}/advice-stop")
def stop_advice(name: Name, services: ServicesDep) -> Response:
    """Stop working out what would help, the year, or another day; the plan is not touched."""
    services.plans.stop_advice(name)
    return see_other(f"/e/{name}")


@router.post("/e/{name}/plan-retry")
def retry(name: Name, services: ServicesDep) -> Response:
    """Work out a plan again that failed or was stopped."""
    services.plans.retry(name)
    return see_other(f"/e/{name}")


def _back(name: str, request: Request) -> Response:
    """Lead back to the event's page from which a press came."""
    came_from = urlsplit(request.headers.get("referer", "")).path
    day = f"/e/{name}"
    return see_other(came_from if came_from.startswith(f"{day}/") else day)


def _show(
    context: PageContext,
    services: Services,
    own: Own,
    tab: str,
    typed: Typed,
    *,
    followed: int = 0,
    mends: Sequence[Mend] = (),
) -> Response:
    values = form_values(context, own, tab, typed) | {"credit": services.events.forecast_credit}
    values |= {"kept": kept(context, services), "round_warning": _round_warning(context, tab)}
    none = [d for d in context.stored.event.dishes if typed.form.get(f"{d.id}.portions") == "0"]
    values["of_none"] = [(d.id, d.name) for d in none] if tab == "dishes" else []
    values["mends"] = [mend_words(context.stored.event, mend) for mend in mends]
    if tab == "check":
        values["is_undone"] = services.events.is_taken_back(context.name)
    part = part_of(tab, context.stored.event)
    path = f"/plan/{part.tab if part else tab}"
    return context.page("plan.html", page_path=path, news_for=None, followed=followed, **values)


def _round_warning(context: PageContext, tab: str) -> str:
    """Return who of the groups' adults and guides also cooks; nothing on other pages."""
    return who_also_cooks(context.stored.event) if tab in (ROTA.tab, *dict(ROTA.pages)) else ""


def _event_typed(table: event_form.Table, form: Mapping[str, str]) -> Event:
    """Return the event that was typed; its dishes made safe where that is asked and enough."""
    try:
        return event_form.event_of(table)
    except FaultyEvent as error:
        mends = mends_of(error.faults)
        if form.get("mend") != "on" or not mends:
            raise
        return event_form.event_of(mended(table, mends))


def _table_typed(
    own: Own, event: Event, tab: str, form: Mapping[str, str], today: date
) -> event_form.Table:
    """Return an event's tables as one part of its form was typed; raises FaultyEvent."""
    if tab == "site":
        return event_form.with_site(event, form, today)
    if tab in PARTS:
        return typed_part(event, PARTS[tab], form)
    if tab not in TABLE_OF_TAB:
        raise NotFound(f"Nothing is stored on “{tab}”.")
    return event_form.with_rows(event, TABLE_OF_TAB[tab], form, own)


def _attempt(
    get: Callable[[], StoredEvent], tab: str, own: Own, form: Mapping[str, str], at: datetime
) -> Response:
    event = get().event
    sun, table = "", event_form.table_of(event)
    try:
        table = _table_typed(own, event, tab, form, at.date())
        event = event_form.event_of(table)
    except FaultyEvent as error:
        return render(
            "try.html",
            event=event,
            matrix=[],
            site_sun=sun,
            faults=refusal_lines(error.faults, table),
        )
    if tab == "site":
        sun = site_sun(event, sun_windows(event)[0].stretches)
    picked = [d for d in event.dishes if d.id == form.get("picked")] or event.dishes[:1]
    rows = matrix_rows(event, {}, picked)
    return render("try.html", event=event, matrix=rows, site_sun=sun, faults=[])
