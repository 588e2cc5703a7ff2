"""News for open pages, by server-sent events: which plan is in force, how long the diary is.

A page that gets news fetches itself; one that gets nothing for a while asks on its own. Beats keep
the line open and let a page notice that it is dead.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator

from fastapi import Request
from fastapi.sse import EventSourceResponse, ServerSentEvent

from service.access import for_role
from service.application.services import Services
from service.dependencies import Name, ServicesDep
from service.web.rendering import page_router

router = page_router()
LOOK_S = 0.25  # a change is sent within this
BEAT_S = 10.0
RETRY_MS = 3000


@router.get("/e/{name}/live", response_class=EventSourceResponse)
@for_role("board")
async def live(
    name: Name, services: ServicesDep, request: Request
) -> AsyncIterator[ServerSentEvent]:
    """Send an open page what is new, until it goes."""
    state = await asyncio.to_thread(_state, services, name)
    yield ServerSentEvent(event="news", data=state, retry=RETRY_MS)
    sent, quiet_s = services.changes.count(name), 0.0
    while not await request.is_disconnected() and not request.app.state.closing:
        await asyncio.sleep(LOOK_S)
        quiet_s += LOOK_S
        if services.changes.count(name) != sent:
            sent, quiet_s = services.changes.count(name), 0.0
            state = await asyncio.to_thread(_state, services, name)
            yield ServerSentEvent(event="news", data=state)
        elif quiet_s >= BEAT_S:
            quiet_s = 0.0
            yield ServerSentEvent(event="beat", data=state)


def _state(services: Services, name: str) -> dict[str, str | int]:
    """Return which plan is in force, and the number of the diary's newest entry."""
    revision = services.plans.in_force(name).revision
    return {"plan": revision, "diary": services.diary.last_number(name)}
