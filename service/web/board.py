"""The visitors' board."""

from __future__ import annotations

from datetime import timedelta

from fastapi import Response

from service import access
from service.dependencies import AtDesk, Name
from service.text.board import board_rows, sun_now
from service.web.context import PageContext

router = access.gated_pages()


@router.get("/e/{name}/board")
def board(name: Name, desk: AtDesk) -> Response:
    """Show the visitors what cooks where, how hot, ready when; no names of helpers."""
    seen = PageContext(desk, name)
    if seen.found.plan is None:
        return seen.counting()
    at = seen.now or min(
        (p.loaded_at + timedelta(minutes=45) for p in seen.found.plan.placements),
        default=seen.found.plan.sun[0].at,
    )
    entries = [w.kept for w in desk.diary_of(name) if not w.undone]
    return seen.page(
        "board.html",
        rows=board_rows(seen.event, seen.found.plan, at, entries),
        sun=sun_now(seen.found.plan, at),
    )
