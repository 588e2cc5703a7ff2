"""Own cookers: shown, sent as a file, taken from one. For organisers."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Form, Response
from starlette.concurrency import run_in_threadpool

from events.errors import Fault, FaultyEvent
from events.model import Cooker
from service.access import NewOwnerDep, OwnersDep, for_role
from service.application.services import Services
from service.dependencies import ServicesDep
from service.forms.cooker_file import own_text
from service.web.rendering import attachment, page_router, render, see_other

router = page_router()


def own_by_id(services: ServicesDep, owners: OwnersDep) -> dict[str, Cooker]:
    """Return the own cookers that somebody sees, by id."""
    return services.own_cookers.by_id(owners)


OwnDep = Annotated[dict[str, Cooker], Depends(own_by_id)]


@router.get("/own")
@for_role("organiser")
def own_cookers(services: ServicesDep, owners: OwnersDep) -> Response:
    """Show own cookers, to send as a file or take from one."""
    return _page(services, owners, [])


@router.get("/own.toml")
@for_role("organiser")
def own_file(services: ServicesDep, owners: OwnersDep) -> Response:
    """Return own cookers as a file."""
    text = own_text(list(services.own_cookers.by_id(owners).values()))
    return attachment(text, "application/toml", "own-cookers.toml")


@router.post("/own")
@for_role("organiser")
async def take_own(
    services: ServicesDep,
    owners: OwnersDep,
    owner: NewOwnerDep,
    text: Annotated[str, Form(max_length=500_000)],
) -> Response:
    """Take own cookers from a file's text; each replaces one's own of its name."""
    answer = services.reading.own_cookers(text)
    await answer.arrives(None)
    try:
        cookers = answer.result()
    except FaultyEvent as error:
        return await run_in_threadpool(_page, services, owners, error.faults)
    await run_in_threadpool(services.own_cookers.save, cookers, owner=owner, source="from a file")
    return see_other("/own")


def _page(services: Services, owners: list[str], faults: list[Fault]) -> Response:
    own = services.own_cookers.of(owners)
    return render("own.html", status=422 if faults else 200, own=own, faults=faults)
