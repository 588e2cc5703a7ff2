"""A form's fields as they were typed."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Request

from events.model import Cooker
from service.application.desk import Desk


async def form_of(request: Request) -> dict[str, str]:
    """Return a form's fields; a field that stands several times is joined by commas."""
    form = await request.form()
    out: dict[str, str] = {}
    for key in form:
        out[key] = ",".join(str(v) for v in form.getlist(key))
    return out


Typed = Annotated[dict[str, str], Depends(form_of)]


def own_of(desk: Desk) -> dict[str, Cooker]:
    """Return the house's own cookers by id."""
    return {o.cooker.id: o.cooker for o in desk.store.own_cookers.all()}
