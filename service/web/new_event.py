"""A new event: the first page of a day, or a sample in one press."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import Request, Response

from events.errors import Fault, FaultyEvent
from events.model import Cooker, Event
from events.reading.catalogue import entries
from events.reading.event_file import read_event, read_table
from events.reading.samples import sample_names, sample_text
from service.access import is_organiser
from service.application.services import Services
from service.dependencies import Name, ServicesDep
from service.forms.new_event import first_event, next_saturday
from service.web.form_data import FormFields
from service.web.rendering import page_router, render, see_other

router = page_router()
FIRST_COOKERS = {"mirror-140cm": 1, "box-large": 1, "gas-ring": 1}
FIRST_DISHES = ("lentil-soup", "rice")
USUAL = {
    "where": "",
    "place": "",
    "title": "",
    "meal": "12:30",
    "mealname": "Lunch",
    "people": "20",
    "altitude": "",
    "units": "metric",
    "helpers": "Helper 1, Helper 2",
}
COUNT_MOST = 20


@router.get("/new")
def new(services: ServicesDep, request: Request) -> Response:
    """Show the first page of a new day: every field has a sensible start."""
    return _first_page(services, request, {}, [])


@router.post("/new")
def make(services: ServicesDep, request: Request, form: FormFields) -> Response:
    """Make the day; or show what is in the way, with all that was typed."""
    own = _own_cookers(services, request)
    dishes = [d for d in form.get("dish", "").split(",") if d in entries("dish")]
    try:
        table = first_event(form, _counts(form, own), dishes or list(FIRST_DISHES), own)
        event = read_table(table, source="the page")
    except FaultyEvent as error:
        return _first_page(services, request, form, error.faults)
    return put_in_and_open(services, request, event, page="/plan/dishes")


@router.post("/samples/{sample}")
def take_sample(sample: Name, services: ServicesDep, request: Request) -> Response:
    """Put a sample in, one press."""
    event = read_event(sample_text(sample), source=sample)
    return put_in_and_open(services, request, event, page="/plan/dishes")


def put_in_and_open(services: Services, request: Request, event: Event, *, page: str) -> Response:
    """Store an event and go to one of its pages, or to the link that signs its organiser in."""
    stored = services.events.put_in(event)
    if request.app.state.open:
        return see_other(f"/e/{stored.id}{page}")
    return see_other(f"/l/{services.links.make(stored.id, 'organiser')}")


def _first_page(
    services: Services, request: Request, form: dict[str, str], faults: list[Fault]
) -> Response:
    own = _own_cookers(services, request)
    counts = {k: form.get(f"count.{k}", str(FIRST_COOKERS.get(k, 0))) for k in entries("cooker")}
    counts |= {f"own:{k}": form.get(f"count.own:{k}", "0") for k in own}
    saturday = next_saturday(services.now().date()).isoformat()
    return render(
        "new.html",
        status=422 if faults else 200,
        form={**USUAL, "date": saturday, **form},
        counts=counts,
        chosen=[d for d in form.get("dish", "").split(",") if d] or list(FIRST_DISHES),
        cookers=entries("cooker"),
        own=own,
        dishes=sorted(entries("dish").items(), key=lambda d: str(d[1].get("name"))),
        faults=faults,
        samples=sample_names(),
    )


def _own_cookers(services: Services, request: Request) -> dict[str, Cooker]:
    return services.own_cookers.by_id() if is_organiser(request) else {}


def _counts(form: Mapping[str, str], own: Mapping[str, Cooker]) -> dict[str, int]:
    """Return how many of each cooker are wanted, those of the catalogue and the house's own."""
    counts = {
        key.removeprefix("count."): int(text)
        for key, text in form.items()
        if key.startswith("count.") and text.isdigit() and int(text) <= COUNT_MOST
    }
    known = {*entries("cooker"), *(f"own:{k}" for k in own)}
    return {key: count for key, count in counts.items() if key in known}
