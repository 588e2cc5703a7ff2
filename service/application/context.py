"""What every service of the application works with, put together once at the start."""

from __future__ import annotations

from dataclasses import dataclass

from events.storage.store import Store
from service.application.change_counters import ChangeCounters
from service.application.forecast import Forecasts
from service.application.result_cache import ResultCache
from service.application.solver_pool import Solvers
from service.clock import Clock


@dataclass(frozen=True)
class Context:
    """The store, the clock, the solvers and what they answered, and what open pages listen to."""

    store: Store
    now: Clock
    solvers: Solvers
    results: ResultCache
    changes: ChangeCounters
    forecasts: Forecasts
