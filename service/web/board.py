"""The visitors' board."""

from __future__ import annotations

from datetime import timedelta

from fastapi import Response

from service.access import for_role
from service.dependencies import ServicesDep
from service.text.board import board_rows, sun_now
from service.web.context import PageContextDep
from service.web.rendering import page_router

router = page_router()
SHOWN_AFTER_LOADING = timedelta(minutes=45)  # on another day, the board as it would be then


@router.get("/e/{name}/board")
@for_role("board")
def board(context: PageContextDep, services: ServicesDep) -> Response:
    """Show the visitors what cooks where, how hot, ready when; no names of helpers."""
    plan = context.plan
    if plan is None:
        return context.counting()
    at = context.now or min(
        (p.loaded_at + SHOWN_AFTER_LOADING for p in plan.placements), default=plan.sun[0].at
    )
    entries = [e.stored for e in services.diary.entries(context.name) if not e.undone]
    return context.page(
        "board.html", rows=board_rows(context.event, plan, at, entries), sun=sun_now(plan, at)
    )
