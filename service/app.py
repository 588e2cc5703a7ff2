"""The ASGI app: every route, put together with a desk, a clock and what stands around requests."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from concurrent.futures import Executor
from contextlib import asynccontextmanager
from importlib.metadata import version
from importlib.resources import files

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles

from events.reading.event_file import read_event
from events.reading.samples import sample_text
from events.storage.store import Store
from service.api import events, live_day
from service.application.desk import Desk
from service.application.forecast import Forecasts
from service.application.solver_pool import solver_pool
from service.asgi import problems
from service.asgi.middleware import Guard
from service.asgi.rate_limit import Limits
from service.clock import Clock, demo_clock, system_clock
from service.settings import Settings
from service.web import (
    analysis,
    board,
    day,
    diary,
    downloads,
    event_stream,
    experiments,
    jobs,
    links,
    new_event,
    own_cookers,
    planner,
    record,
    run_sheet,
    site,
    stations,
)
from service.web import live_day as live_day_pages

DEMO = "harvest-lunch"
ROUTERS = (
    events.router,
    live_day.router,
    site.router,
    new_event.router,
    planner.router,
    experiments.router,
    own_cookers.router,
    day.router,
    run_sheet.router,
    stations.router,
    jobs.router,
    board.router,
    diary.router,
    live_day_pages.router,
    event_stream.router,
    record.router,
    analysis.router,
    downloads.router,
    links.router,
    links.doors,
)


def create_app(
    settings: Settings,
    *,
    clock: Clock | None = None,
    make_pool: Callable[[], Executor] | None = None,
) -> FastAPI:
    """Return the app. With `settings.demo` a sample is put in and the clock stands on its day.

    `make_pool` makes executors for solves: processes of their own, unless another is given.
    """

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        sample = read_event(sample_text(DEMO), source=DEMO)
        tells = clock or (demo_clock(sample) if settings.demo else system_clock)
        desk = Desk(
            Store(settings.url()),
            tells,
            make_pool or (lambda: solver_pool(settings.solvers)),
            Forecasts(settings),
            page_wait_s=settings.page_wait_s,
            api_wait_s=settings.api_wait_s,
        )
        if settings.demo:
            desk.put_event(sample)
        app.state.desk = desk
        app.state.open = settings.demo or settings.open
        app.state.closing = False
        yield
        app.state.closing = True
        desk.close()

    app = FastAPI(
        title="Noonfare",
        summary="Day-of session scheduler for outdoor cooking events with sun-heated cookers.",
        version=version("noonfare"),
        lifespan=life,
        docs_url=None,  # they load from a public CDN: dead offline, blocked by our CSP
        redoc_url=None,
        openapi_url="/api/openapi.json",
    )
    for router in ROUTERS:
        app.include_router(router)
    static = str(files("service") / "web" / "static")
    app.mount("/static", StaticFiles(directory=static), name="static")
    problems.install(app)
    app.add_middleware(Guard, limits=Limits(settings.requests_a_minute))
    return app
