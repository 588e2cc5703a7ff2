"""The house's own cookers: shown, sent as a file, taken from one. For organisers."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Form, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from events.errors import FaultyEvent
from service import access
from service.dependencies import AtDesk
from service.forms.cooker_file import own_from, own_text
from service.web.context import page_of

router = APIRouter(
    include_in_schema=False,
    default_response_class=HTMLResponse,
    dependencies=[Depends(access.organisers_only)],
)


@router.get("/own")
def own_cookers(desk: AtDesk) -> Response:
    """Show the house's own cookers, to send as a file or take from one."""
    return page_of("own.html", own=desk.store.own_cookers.all(), faults=[])


@router.get("/own.toml")
def own_file(desk: AtDesk) -> Response:
    """Return the house's own cookers as a file."""
    text = own_text([o.cooker for o in desk.store.own_cookers.all()])
    return Response(
        text,
        media_type="application/toml",
        headers={"content-disposition": 'attachment; filename="own-cookers.toml"'},
    )


@router.post("/own")
def take_own(desk: AtDesk, text: Annotated[str, Form(max_length=500_000)]) -> Response:
    """Take own cookers from a file's text; each replaces the one of its name."""
    try:
        cookers = own_from(text)
    except FaultyEvent as error:
        page = page_of("own.html", own=desk.store.own_cookers.all(), faults=error.faults)
        page.status_code = 422
        return page
    for cooker in cookers:
        desk.store.own_cookers.save(cooker, source="from a file", now=desk.now())
    return RedirectResponse("/own", status_code=303)
