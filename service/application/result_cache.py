"""Results that take a solver's process some seconds: asked once, and waited for a while."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from threading import Lock
from typing import TypeVar, cast

from events.errors import Busy
from service.application.solver_pool import SolverPool

RESULTS_MOST = 60  # older ones are worked out anew
T = TypeVar("T")


class ResultCache:
    """What solvers answered about each version of an event."""

    def __init__(self, solvers: SolverPool) -> None:
        self._solvers, self._lock = solvers, Lock()
        self._threads = ThreadPoolExecutor(2, "results")
        self._results: dict[tuple[str, str], Future[object]] = {}

    def get(self, key: str, work: Callable[[str], T], payload: str, *, wait_s: float | None) -> T:
        """Return what work makes of a payload; raises Busy where that takes longer than the wait.

        `key` tells payloads apart. Without a limit (None) it waits as long as it takes.
        """
        named = (key, work.__name__)
        with self._lock:
            result = self._results.get(named)
            if result is None or (result.done() and result.exception() is not None):
                result = self._threads.submit(self._solvers.run, work, payload)
                self._results[named] = result
                if len(self._results) > RESULTS_MOST:
                    del self._results[next(iter(self._results))]
        try:
            return cast(T, result.result(wait_s))  # of the work that is in its key
        except TimeoutError:
            raise Busy("This is still being counted. Look again in a moment.") from None

    def close(self) -> None:
        """Shut down without waiting."""
        self._threads.shutdown(wait=False, cancel_futures=True)
