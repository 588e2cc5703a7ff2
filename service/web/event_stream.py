"""News for open pages, by server-sent events: which plan is in force, how long the diary is.

A page that hears of something new fetches itself; one that hears nothing for a while asks on its
own. Beats keep the line open and let a page notice that it is dead.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator

from fastapi import Request
from fastapi.sse import EventSourceResponse, ServerSentEvent

from service import access
from service.dependencies import AtDesk, Name

router = access.gated_pages()
LOOK_S = 0.25  # a change is told within this
BEAT_S = 10.0


@router.get("/e/{name}/live", response_class=EventSourceResponse)
async def live(name: Name, desk: AtDesk, request: Request) -> AsyncIterator[ServerSentEvent]:
    """Tell an open page what is new, until it goes."""
    mark, count = await asyncio.to_thread(_state, desk, name)
    yield ServerSentEvent(event="news", data={"plan": mark, "diary": count}, retry=3000)
    heard, quiet = desk.news.get(name, 0), 0.0
    while not await request.is_disconnected() and not request.app.state.closing:
        await asyncio.sleep(LOOK_S)
        quiet += LOOK_S
        if desk.news.get(name, 0) != heard:
            heard, quiet = desk.news.get(name, 0), 0.0
            mark, count = await asyncio.to_thread(_state, desk, name)
            yield ServerSentEvent(event="news", data={"plan": mark, "diary": count})
        elif quiet >= BEAT_S:
            quiet = 0.0
            yield ServerSentEvent(event="beat", data={"plan": mark, "diary": count})


def _state(desk: AtDesk, name: str) -> tuple[str, int]:
    diary = desk.store.diary.entries(name)
    return desk.plan_of(name).mark, diary[-1].number if diary else 0
