"""A new event: the first page of a day, or a sample in one press."""

from __future__ import annotations

from fastapi import Request, Response
from fastapi.responses import RedirectResponse

from events.errors import Fault, FaultyEvent
from events.model import Event
from events.reading.catalogue import entries
from events.reading.event_file import read_event, read_table
from events.reading.samples import sample_names, sample_text
from service import access
from service.application.desk import Desk
from service.dependencies import AtDesk, Name
from service.forms import new_event as first_day
from service.web.context import page_of
from service.web.form_data import Typed, own_of

router = access.gated_pages()

FIRST_COOKERS = {"mirror-140cm": 1, "box-large": 1, "gas-ring": 1}
FIRST_DISHES = ("lentil-soup", "rice")


@router.get("/new")
def new(desk: AtDesk, request: Request) -> Response:
    """Show the first page of a new day: every field has a sensible start."""
    return _new(desk, request, {}, [])


def _new(desk: Desk, request: Request, form: dict[str, str], faults: list[Fault]) -> Response:
    own = own_of(desk) if access.is_organiser(request) else {}
    counts = {k: form.get(f"count.{k}", str(FIRST_COOKERS.get(k, 0))) for k in entries("cooker")}
    counts |= {f"own:{k}": form.get(f"count.own:{k}", "0") for k in own}
    chosen = [d for d in form.get("dish", "").split(",") if d] or list(FIRST_DISHES)
    return page_of(
        "new.html",
        status=422 if faults else 200,
        form={
            "where": "",
            "place": "",
            "title": "",
            "date": first_day.next_saturday(desk.now().date()).isoformat(),
            "meal": "12:30",
            "mealname": "Lunch",
            "people": "20",
            "altitude": "",
            "units": "metric",
            "helpers": "Helper 1, Helper 2",
            **form,
        },
        counts=counts,
        chosen=chosen,
        cookers=entries("cooker"),
        own=own,
        dishes=sorted(entries("dish").items(), key=lambda d: str(d[1].get("name"))),
        faults=faults,
        samples=sample_names(),
    )


@router.post("/new")
def make(desk: AtDesk, request: Request, form: Typed) -> Response:
    """Make the day; or show what is in the way, with all that was typed."""
    counts = {
        k.removeprefix("count."): int(v)
        for k, v in form.items()
        if k.startswith("count.") and v.isdigit() and int(v) <= 20
    }
    dishes = [d for d in form.get("dish", "").split(",") if d in entries("dish")]
    own = own_of(desk) if access.is_organiser(request) else {}
    counts = {k: n for k, n in counts.items() if k in entries("cooker") or k[4:] in own}
    try:
        event = read_table(
            first_day.first_event(form, counts, dishes or list(FIRST_DISHES), own),
            source="the page",
        )
    except FaultyEvent as error:
        return _new(desk, request, form, error.faults)
    return _opened(desk, request, event)


def _opened(desk: Desk, request: Request, event: Event) -> Response:
    kept = desk.put_event(event)
    if request.app.state.open:
        return RedirectResponse(f"/e/{kept.id}/plan/dishes", status_code=303)
    token = access.make_link(desk.store, kept.id, "organiser", now=desk.now())
    return RedirectResponse(f"/l/{token}", status_code=303)


@router.post("/samples/{name}")
def take_sample(name: Name, desk: AtDesk, request: Request) -> Response:
    """Put a sample in, one press."""
    return _opened(desk, request, read_event(sample_text(name), source=name))
