"""What every door calls: one service for each thing that is stored or worked out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from events.storage.store import Store
from service.application.analyses import AnalysisService
from service.application.calendar_edition import CalendarService
from service.application.change_counters import ChangeCounters
from service.application.context import Context
from service.application.counted_solvers import CountedSolvers
from service.application.diary import DiaryService
from service.application.events import EventService
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
from service.application.reading import READER_LIMITS, ReadingService
from service.application.result_cache import ResultCache
from service.application.solver_pool import Limits, SolverPool, Solvers, solver_processes
from service.clock import Clock
from service.settings import Settings


@dataclass(frozen=True)
class Engines:
    """What works beside the pages: solves, and reads what strangers send."""

    solvers: Solvers
    reader: Solvers


def processes(settings: Settings) -> Engines:
    """Return engines in processes of our own."""
    limits = Limits(settings.solver_memory_mb, settings.solver_wall_s)
    reader = SolverPool([ALL_LANES], READER_LIMITS, preload=("service.application.reading",))
    return Engines(solver_processes(settings.solvers, limits), reader)


@dataclass(frozen=True)
class Services:
    """All that doors may ask for."""

    events: EventService
    plans: PlanService
    diary: DiaryService
    live_day: LiveDayService
    analyses: AnalysisService
    own_cookers: OwnCookerService
    links: LinkService
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
    engines = engines or processes(settings)
    metrics = metrics or Metrics()
    solvers = CountedSolvers(engines.solvers, metrics, clock)
    context = Context(
        store=Store(settings.url()),
        now=clock,
        solvers=solvers,
        results=ResultCache(solvers),
        changes=ChangeCounters(),
        forecasts=Forecasts(settings),
    )
    plans = PlanService(context)

    def close() -> None:
        """Stop solving; what is still asked is asked again at the next start."""
        engines.solvers.close()
        engines.reader.close()
        context.store.close()
        if holding is not None:
            holding.close()

    plans.ask_waiting()
    return Services(
        events=EventService(context, plans),
        plans=plans,
        diary=DiaryService(context, plans),
        live_day=LiveDayService(context, plans),
        analyses=AnalysisService(context, plans),
        own_cookers=OwnCookerService(context),
        links=LinkService(context),
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
