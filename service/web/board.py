"""The visitors' board: on a screen, and on their own phones by a code that opens nothing else."""

from __future__ import annotations

from fastapi import Request, Response

from events.errors import NotFound
from service.access import for_role
from service.charts.qr_code import QrCode
from service.charts.sun_now import sun_picture
from service.dependencies import Name, ServicesDep
from service.text.board import SAFETY, board
from service.web.address import phones_base_url
from service.web.context import PageContext, PageContextDep, page_context
from service.web.rendering import page_router

router = page_router()
public_router = page_router()  # visitors have no access


@router.get("/e/{name}/board")
@for_role("board")
def screen(context: PageContextDep, services: ServicesDep, request: Request) -> Response:
    """Show the visitors what cooks where and when it is eaten; no names of helpers."""
    code = None
    if base := phones_base_url(request):
        visitor_code = services.links.visitor_code(context.name)
        path = f"/v/{context.name}/{visitor_code}" if visitor_code else f"/e/{context.name}/board"
        code = QrCode(base + path)
    return _board_page(context, services, code)


@public_router.get("/v/{event_name}/{code}")
@for_role("anyone")
def phone(event_name: Name, code: Name, services: ServicesDep, request: Request) -> Response:
    """Show the same on a visitor's phone; no cookie is set, nothing else is opened."""
    if not services.links.is_visitor_code(event_name, code):
        raise NotFound("This code opens no board.")
    return _board_page(page_context(event_name, services, request), services, None)


def _board_page(context: PageContext, services: ServicesDep, code: QrCode | None) -> Response:
    plan = context.plan
    if plan is None:
        return context.counting()
    entries = services.diary.effective_entries(context.name)
    numbers = services.contest.numbers(context.name) if plan.contest else {}
    shown = board(context.event, plan, context.at, entries, numbers=numbers)
    return context.page(
        "board.html",
        board=shown,
        sun_picture=sun_picture(shown.sun) if shown.sun else None,
        asked_at=context.at,
        code=code,
        safety=SAFETY,
    )
