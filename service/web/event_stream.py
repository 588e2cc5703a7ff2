"""News for open pages, by server-sent events: which plan is in force, how long the diary is.

A page that gets news fetches itself; one that gets nothing for a while asks on its own. Beats keep
the line open and let a page notice that it is dead. On a helper's page the diary's length is that
of the newest entry that concerns the helper, so that another's press reloads nothing there.
"""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from typing import Annotated

from fastapi import Query, Request, Response
from fastapi.responses import JSONResponse, StreamingResponse
from starlette.concurrency import run_in_threadpool

from events.errors import Busy, NotFound
from service.access import for_role
from service.application.asker import ASKER
from service.application.news import EventNews
from service.dependencies import Name, ServicesDep
from service.web.live_lines import Line, LiveLines
from service.web.rendering import page_router

router = page_router()
RETRY_MS = 3000
LINES_MOST = 4000  # of one process
LINES_OF_ONE_MOST = 40  # of one key or address, where not everybody is let in


@router.get("/e/{name}/live")
@for_role("board")
async def live(
    name: Name,
    services: ServicesDep,
    request: Request,
    helper: Annotated[str | None, Query(max_length=40)] = None,
) -> Response:
    """Send an open page what is new, until it goes."""
    lines, asker = lines_of(request), ASKER.get()
    own = 0 if request.app.state.open else lines.count(asker)
    if lines.count() >= LINES_MOST or own >= LINES_OF_ONE_MOST:
        raise Busy("Too many pages listen from here. This one looks again by itself.")
    stands = (await run_in_threadpool(services.news.of, [name])).get(name)
    if stands is None:
        raise NotFound(kind="no-event", name=name)
    line = Line(name, helper, asker, stands)
    return StreamingResponse(_events(lines, line), media_type="text/event-stream")


@router.get("/e/{name}/state")
@for_role("board")
def state(
    name: Name,
    services: ServicesDep,
    helper: Annotated[str, Query(max_length=40)] = "",
    after: Annotated[int, Query(ge=0, le=2**31)] = 0,
) -> Response:
    """Return what the line would say, for pages whose line is dead or that ask what time it is.

    A helper's page names the newest entry that it shows, and hears of those that concern it.
    """
    stands = services.news.of([name]).get(name)
    if stands is None:
        raise NotFound(kind="no-event", name=name)
    if helper:
        concerned = services.news.concerned(name, after, [helper])
        stands = EventNews(stands.plan, concerned.get(helper, after))
    return JSONResponse({"plan": stands.plan, "diary": stands.diary})


def lines_of(request: Request) -> LiveLines:
    """Return the lines of this process."""
    state = request.app.state
    if not isinstance(getattr(state, "lines", None), LiveLines):
        state.lines = LiveLines(state.services, lambda: bool(state.closing))
    lines = state.lines
    assert isinstance(lines, LiveLines)
    return lines


async def _events(lines: LiveLines, line: Line) -> AsyncIterator[str]:
    yield f"retry: {RETRY_MS}\n"
    async for news in lines.news(line):
        kind, state = ("beat", line.news) if news is None else ("news", news)
        yield f"event: {kind}\ndata: {_json(state)}\n\n"


def _json(news: EventNews) -> str:
    return json.dumps({"plan": news.plan, "diary": news.diary})
