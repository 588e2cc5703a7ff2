"""The house's own cookers: shown, sent as a file, taken from one. For organisers."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Form, Response

from events.errors import FaultyEvent
from service.access import organisers_only
from service.dependencies import ServicesDep
from service.forms.cooker_file import own_from, own_text
from service.web.rendering import attachment, page_router, render, see_other

router = page_router()
ORGANISERS = [Depends(organisers_only)]


@router.get("/own", dependencies=ORGANISERS)
def own_cookers(services: ServicesDep) -> Response:
    """Show the house's own cookers, to send as a file or take from one."""
    return render("own.html", own=services.own_cookers.all(), faults=[])


@router.get("/own.toml", dependencies=ORGANISERS)
def own_file(services: ServicesDep) -> Response:
    """Return the house's own cookers as a file."""
    text = own_text([own.cooker for own in services.own_cookers.all()])
    return attachment(text, "application/toml", "own-cookers.toml")


@router.post("/own", dependencies=ORGANISERS)
def take_own(services: ServicesDep, text: Annotated[str, Form(max_length=500_000)]) -> Response:
    """Take own cookers from a file's text; each replaces the one of its name."""
    try:
        cookers = own_from(text)
    except FaultyEvent as error:
        own = services.own_cookers.all()
        return render("own.html", status=422, own=own, faults=error.faults)
    services.own_cookers.save(cookers, source="from a file")
    return see_other("/own")
