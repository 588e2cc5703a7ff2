"""A new event: its first page, places as they are typed, or a sample in one press."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import Query, Request, Response
from fastapi.responses import JSONResponse

from events.errors import FaultyEvent, TooLarge
from events.model import Cooker, Event
from events.reading.catalogue import entries
from events.reading.event_file import read_event, read_table
from events.reading.places import CREDIT
from events.reading.samples import sample_text
from events.site import AHEAD_MOST
from service.access import for_role, is_organiser, owners_seen
from service.application.event_analyses import takes as cookers_take
from service.application.places import daylight
from service.application.services import Services
from service.application.year_strip import HIGH_SUN_DEG
from service.dependencies import Name, ServicesDep
from service.forms.event_form import event_of
from service.forms.fields import typed_date
from service.forms.menu import COURSES, MENUS, choices
from service.forms.new_event import USUAL, first_event, next_saturday, pots_guessed
from service.forms.part_start import contest_begun, contest_usual
from service.forms.refusals import refusal_lines
from service.forms.where import Spot, offers, spot_of
from service.text.capacity import takes_line
from service.text.catalogue import cooker_choice, pot_choice
from service.text.places import height_line, sun_line
from service.web.form_data import FormFields
from service.web.keys import keep_key, with_link_to_keep
from service.web.rendering import page_router, render, see_other
from service.web.year_strip import months_shown

router = page_router()
FIRST_COOKERS = {"mirror-140cm": 1, "box-large": 1, "gas-ring": 1}
FIRST_DISHES = MENUS[0]


@router.get("/new")
@for_role("anyone")
def new(services: ServicesDep, request: Request) -> Response:
    """Show the first page of an event: every field has a sensible start."""
    return _first_page(services, request, {}, [])


@router.post("/new")
@for_role("anyone")
def make(services: ServicesDep, request: Request, form: FormFields) -> Response:
    """Make the event; or show what is in the way, with all that was typed."""
    table = None
    try:
        table = first_event(form, _own_cookers(services, request), services.now().date())
        event = read_table(table, source="the page")
        if form.get("contest"):
            event = event_of(contest_begun(event, contest_usual(event)))
    except FaultyEvent as error:
        return _first_page(services, request, form, refusal_lines(error.faults, table))
    return put_in_and_open(services, request, event, page="")


@router.post("/new/takes")
@for_role("anyone")
def takes(services: ServicesDep, request: Request, form: FormFields) -> Response:
    """Say what the cookers take by the meal on a clear day; nothing while a field is at fault."""
    try:
        table = first_event(form, _own_cookers(services, request), services.now().date())
        event = read_table(table, source="the page")
        line = takes_line(event, cookers_take(event))
    except (FaultyEvent, TooLarge):
        return Response(status_code=204)
    return Response(line, media_type="text/plain; charset=utf-8")


@router.post("/new/pots")
@for_role("anyone")
def guess_pots(services: ServicesDep, request: Request, form: FormFields) -> Response:
    """Return how many of each pot are guessed by the cookers and dishes on the page, as JSON."""
    return JSONResponse(pots_guessed(form, _own_cookers(services, request)))


@router.get("/places")
@for_role("anyone")
def places(
    services: ServicesDep,
    where: Annotated[str, Query(max_length=300)] = "",
    day: Annotated[str, Query(alias="date", max_length=20)] = "",
    units: Annotated[str, Query(max_length=10)] = "",
) -> Response:
    """Show the places that a text may mean, and read the likeliest back with its sun."""
    on = typed_date(day) or services.now().date()
    lines: list[str] = []
    spot = None
    try:
        spot = spot_of(where) if where.strip() else None
    except FaultyEvent as error:
        lines = refusal_lines(error.faults)
    return render(
        "places.html",
        offers=offers(where),
        faults=lines,
        spot=_said(spot, on, units),
        year=months_shown(spot.latitude_deg, on, services.now().date()) if spot else (),
        high_deg=f"{HIGH_SUN_DEG:g}",
    )


@router.post("/samples/{sample}")
@for_role("anyone")
def take_sample(sample: Name, services: ServicesDep, request: Request) -> Response:
    """Put a sample in, one press."""
    event = read_event(sample_text(sample), source=sample)
    return put_in_and_open(services, request, event, page="")


def put_in_and_open(services: Services, request: Request, event: Event, *, page: str) -> Response:
    """Store an event and go to one of its pages; first to the link to keep, where keys are asked.

    The key is set at once, in the browser that made the event and nowhere else.
    """
    stored = services.events.put_in(event)
    if request.app.state.open:
        return see_other(f"/e/{stored.id}{page}")
    token = services.links.make(stored.id, "organiser")
    return keep_key(with_link_to_keep(services, stored.id), stored.id, token)


def _first_page(
    services: Services, request: Request, form: dict[str, str], faults: list[str]
) -> Response:
    own = _own_cookers(services, request)
    start = {**USUAL, "date": next_saturday(services.now().date()).isoformat(), **form}
    chosen = form.get("dish", "").split(",") if form else list(FIRST_DISHES)
    usual = {f"count.{k}": str(n) for k, n in FIRST_COOKERS.items()}
    usual |= {f"pot.{k}": "" for k in entries("pot")}
    filled = start if form else {**usual, **start}
    cookers = [(k, cooker_choice(c)) for k, c in entries("cooker").items()]
    counted = [(filled.get(f"count.{k}", "0"), choice.name) for k, choice in cookers]
    return render(
        "new.html",
        status=422 if faults else 200,
        form=filled,
        chosen=chosen,
        courses=[(course, choices(course)) for course in COURSES],
        cookers=cookers,
        cookers_counted=", ".join(f"{n} × {name}" for n, name in counted if n not in ("", "0")),
        own=own,
        pots=[(k, pot_choice(p)) for k, p in entries("pot").items()],
        menus=MENUS,
        guess=pots_guessed({**filled, "dish": ",".join(chosen)}, own),
        faults=faults,
        credit=CREDIT,
        today=services.now().date().isoformat(),
        reach_days=AHEAD_MOST,
    )


def _own_cookers(services: Services, request: Request) -> dict[str, Cooker]:
    return services.own_cookers.by_id(owners_seen(request)) if is_organiser(request) else {}


def _said(spot: Spot | None, on: date, units: str) -> dict[str, str] | None:
    """Return a spot as it is read back: its name, its sun, its height."""
    if spot is None:
        return None
    us = (units or ("us" if spot.country_code == "US" else "metric")) == "us"
    light = daylight(spot.latitude_deg, spot.longitude_deg, on)
    return {
        "name": spot.name,
        "sun": sun_line(light, on, us=us),
        "height": height_line(spot.altitude_m, spot.near, us=us),
        "units": "us" if us else "metric",
    }
