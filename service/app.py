"""The ASGI app: every route, the services behind them, and what stands around requests."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager
from functools import cache
from importlib.metadata import version

from fastapi import Depends, FastAPI
from fastapi.middleware.gzip import GZipMiddleware
from starlette.routing import BaseRoute

from events.identity import slug
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from service.access import require_access
from service.api import analyses as analyses_json
from service.api import building as building_json
from service.api import diary as diary_json
from service.api import events as events_json
from service.api import live_day as live_day_json
from service.api import operations as operations_json
from service.api import plans as plans_json
from service.application.metrics import Metrics
from service.application.services import Engines, open_services
from service.asgi import problems
from service.asgi.host_check import hosts_answered
from service.asgi.middleware import Guard
from service.asgi.rate_limit import Limits
from service.asgi.request_log import RequestLog
from service.clock import Clock, demo_clock, system_clock
from service.settings import Settings
from service.web import (
    analysis,
    board,
    build,
    calendars,
    contest,
    day,
    diary,
    downloads,
    event_stream,
    experiments,
    fixes,
    jobs,
    judging,
    links,
    live_day,
    new_event,
    operator,
    own_cookers,
    planner,
    record,
    rota,
    run_sheet,
    show,
    site,
    stations,
    versions,
)
from service.web.live_lines import LiveLines
from service.web.static_files import FOLDER, StaticByContent

DEMO = "harvest-lunch"
COMPRESSED_FROM = 800  # bytes; less fits one packet anyway
ROUTERS = (
    events_json.router,
    plans_json.router,
    analyses_json.router,
    building_json.router,
    diary_json.router,
    live_day_json.router,
    site.router,
    new_event.router,
    build.router,
    planner.router,
    experiments.router,
    own_cookers.router,
    day.router,
    fixes.router,
    run_sheet.router,
    rota.router,
    contest.router,
    judging.public_router,
    stations.router,
    show.router,
    jobs.router,
    board.router,
    board.public_router,
    calendars.router,
    calendars.public_router,
    diary.router,
    live_day.router,
    event_stream.router,
    record.router,
    analysis.router,
    versions.router,
    downloads.router,
    links.router,
    links.public_router,
    operations_json.router,
    operator.router,
)
CLOSED = (Depends(require_access),)  # a route is, but to whom it names


@cache
def _routes() -> Sequence[BaseRoute]:
    """Return every route of ours: what each asks of a request is worked out once a process."""
    whole = FastAPI(dependencies=CLOSED, openapi_url=None)
    for router in ROUTERS:
        whole.include_router(router)
    return whole.routes


def create_app(
    settings: Settings,
    *,
    clock: Clock | None = None,
    make_engines: Callable[[], Engines] | None = None,
) -> FastAPI:
    """Return the app. With `settings.demo` a sample is put in and the clock stands on its day.

    `make_engines` makes what solves and reads: processes of our own, unless others are given.
    """

    metrics = Metrics()

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        sample = read_event(sample_text(DEMO), source=DEMO) if settings.demo else None
        now = clock or (demo_clock(sample) if sample else system_clock)
        services = open_services(
            settings, now, make_engines() if make_engines else None, metrics=metrics
        )
        if sample and not services.events.has(slug(sample)):
            services.events.put_in(sample)
        app.state.services = services
        app.state.open = settings.keyless
        app.state.start_for_network = settings.start_for_network
        app.state.closing = False
        yield
        app.state.closing = True
        if isinstance(lines := getattr(app.state, "lines", None), LiveLines):
            await lines.ended()
        services.close()

    app = FastAPI(
        title="Noonfare",
        summary="Day-of session scheduler for outdoor cooking events with sun-heated cookers.",
        version=version("noonfare"),
        lifespan=life,
        docs_url=None,  # they load from a public CDN: dead offline, blocked by our CSP
        redoc_url=None,
        openapi_url="/api/openapi.json",
        dependencies=CLOSED,
    )
    app.router.routes.extend(_routes())
    app.mount("/static", StaticByContent(directory=str(FOLDER)), name="static")
    problems.install(app)
    app.add_middleware(GZipMiddleware, minimum_size=COMPRESSED_FROM, compresslevel=6)
    app.state.limits = Limits(settings.requests_a_minute)
    app.state.operator_key = settings.operator_key
    names = hosts_answered(settings.hosts) if settings.keyless else None
    app.add_middleware(Guard, limits=app.state.limits, names=names)
    app.add_middleware(RequestLog, metrics=metrics)
    return app
