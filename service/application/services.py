"""What every door calls: one service for each thing that is stored or worked out."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from threading import Event, Thread
from typing import TYPE_CHECKING

from events.storage.store import Store
from service.application.analyses import AnalysisService
from service.application.calendar_edition import CalendarService
from service.application.change_counters import ChangeCounters
from service.application.contest import ContestService
from service.application.context import Context
from service.application.counted_solvers import CountedSolvers
from service.application.day_watch import DayWatch
from service.application.diary import DiaryService
from service.application.events import EventService
from service.application.fixes import FixService
from service.application.forecast import Forecasts
from service.application.holding import Holding
from service.application.lanes import ALL_LANES
from service.application.links import LinkService
from service.application.live_day import LiveDayService
from service.application.metrics import Metrics
from service.application.news import NewsService
from service.application.operations import OperationsService
from service.application.own_cookers import OwnCookerService
from service.application.plans import PlanService
from service.application.reading import READER_LIMITS, READER_NICE, READERS, ReadingService
from service.application.result_cache import ResultCache
from service.application.solver_pool import SolverPool, Solvers, limits_of, solver_processes
from service.application.versions import VersionService
from service.clock import Clock
from service.settings import Settings

if TYPE_CHECKING:
    from service.application.postgres_channel import PostgresChannel

LOOK_S = 20.0  # so often plans are looked for that nobody works at, and days that run
log = logging.getLogger("noonfare")


@dataclass(frozen=True)
class Engines:
    """What works beside the pages: solves, and reads what strangers send."""

    solvers: Solvers
    reader: Solvers


def processes(settings: Settings, store: Store, clock: Clock) -> Engines:
    """Return engines in processes of our own, or solvers reached through the queue."""
    reader = SolverPool([ALL_LANES] * READERS, READER_LIMITS, nice=READER_NICE)
    if settings.queue:
        # Where it is used alone: the library is an extra.
        from service.application.queued_solvers import QueuedSolvers  # noqa: PLC0415

        return Engines(QueuedSolvers(settings.url(), store, clock), reader)
    return Engines(solver_processes(settings.solvers, limits_of(settings)), reader)


@dataclass(frozen=True)
class Services:
    """All that doors may ask for."""

    events: EventService
    plans: PlanService
    versions: VersionService
    diary: DiaryService
    live_day: LiveDayService
    day_watch: DayWatch
    analyses: AnalysisService
    fixes: FixService
    own_cookers: OwnCookerService
    links: LinkService
    contest: ContestService
    calendars: CalendarService
    reading: ReadingService
    changes: ChangeCounters
    news: NewsService
    metrics: Metrics
    operations: OperationsService
    now: Clock
    page_wait_s: float | None  # for a long answer; then the page shows that it is computed
    api_wait_s: float | None  # for a long answer; then Busy. None: as long as it takes
    close: Callable[[], None]


def open_services(
    settings: Settings,
    clock: Clock,
    engines: Engines | None = None,
    *,
    metrics: Metrics | None = None,
) -> Services:
    """Return services on the store that the settings name; close them when done.

    `engines` solve and read: processes of our own, unless others are given.
    """
    holding = Holding(settings.file) if settings.file else None
    store = Store(settings.url())
    engines = engines or processes(settings, store, clock)
    metrics = metrics or Metrics()
    solvers = CountedSolvers(engines.solvers, metrics, clock)
    context = Context(
        store=store,
        now=clock,
        solvers=solvers,
        results=ResultCache(solvers),
        changes=ChangeCounters(lambda name: store.tell(f"news {name}")),
        forecasts=Forecasts(settings),
    )
    plans = PlanService(context)
    events = EventService(context, plans)
    live_day = LiveDayService(context, plans)
    day_watch = DayWatch(context, plans, live_day)

    closing = Event()
    channel = _listening(settings, context.changes, engines.solvers)

    def close() -> None:
        """Stop solving; what is still asked is asked again at the next start."""
        closing.set()
        engines.solvers.close()
        looking.join()
        engines.reader.close()
        if channel is not None:
            channel.close()
        context.store.close()
        if holding is not None:
            holding.close()

    plans.ask_waiting()
    looking = Thread(
        target=_look_after,
        args=(plans, day_watch if settings.watch_days else None, closing),
        daemon=True,
    )
    looking.start()
    return Services(
        events=events,
        plans=plans,
        versions=VersionService(context, events),
        diary=DiaryService(context, plans),
        live_day=live_day,
        day_watch=day_watch,
        analyses=AnalysisService(context, plans),
        fixes=FixService(context),
        own_cookers=OwnCookerService(context),
        links=LinkService(context),
        contest=ContestService(context, events, plans),
        calendars=CalendarService(context),
        reading=ReadingService(engines.reader),
        changes=context.changes,
        news=NewsService(context, plans),
        metrics=metrics,
        operations=OperationsService(context, solvers),
        now=clock,
        page_wait_s=settings.page_wait_s,
        api_wait_s=settings.api_wait_s,
        close=close,
    )


def _listening(
    settings: Settings, changes: ChangeCounters, solvers: Solvers
) -> PostgresChannel | None:
    """Return what hears other processes on the same server; None where there can be none."""
    if not settings.on_postgres:
        return None
    from service.application.postgres_channel import PostgresChannel  # noqa: PLC0415  an extra

    def receive(word: str) -> None:
        kind, _, name = word.partition(" ")
        if kind == "news":
            changes.heard(name)
        elif kind == "work":
            solvers.look()

    return PostgresChannel(settings.url(), receive)


def _look_after(plans: PlanService, day_watch: DayWatch | None, closing: Event) -> None:
    """Have missed plans asked for again, and running days looked at, until the service stops."""
    while not closing.wait(LOOK_S):
        try:
            plans.ask_missed()
            if day_watch is not None:
                day_watch.look_at_all()
        except Exception:  # a database that is away: the next look comes
            log.warning("plans could not be looked after", exc_info=True)
