"""Results that take a solver's process some seconds: asked once, and waited for a while."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future
from threading import Lock
from typing import TypeVar, cast

from events.errors import Busy
from service.application.lanes import Order
from service.application.solver_pool import Solvers

RESULTS_MOST = 200  # older ones are worked out anew
WAITING_MOST = 4  # questions about one event at a time
T = TypeVar("T")


class ResultCache:
    """What solvers answered about each version of an event."""

    def __init__(self, solvers: Solvers) -> None:
        self._solvers, self._lock = solvers, Lock()
        self._results: dict[tuple[str, str], Future[object]] = {}
        self._event_of: dict[tuple[str, str], str] = {}

    def ask(self, key: str, work: Callable[[str], T], payload: str, *, order: Order) -> Future[T]:
        """Return what work makes of a payload, now or later. `key` tells payloads apart.

        Raises Busy where too many questions about the same event wait already.
        """
        named = (key, work.__name__)
        with self._lock:
            result = self._results.get(named)
            if result is None or _failed(result):
                self._make_room(order.event_id)
                result = cast("Future[object]", self._solvers.submit(work, payload, order))
                self._results[named], self._event_of[named] = result, order.event_id
        return cast("Future[T]", result)  # of the work that is in its key

    def known(self, key: str, work: Callable[[str], T]) -> Future[T] | None:
        """Return what was asked before about a payload; None where it was not, and asks nothing."""
        with self._lock:
            return cast("Future[T] | None", self._results.get((key, work.__name__)))

    def _make_room(self, event_id: str) -> None:
        open_here = [
            named
            for named, result in self._results.items()
            if self._event_of[named] == event_id and not result.done()
        ]
        if len(open_here) >= WAITING_MOST:
            raise Busy(f"{WAITING_MOST} questions about this day are being counted. Wait for one.")
        while len(self._results) >= RESULTS_MOST:
            oldest = next(iter(self._results))
            del self._results[oldest], self._event_of[oldest]


def _failed(result: Future[object]) -> bool:
    return result.done() and (result.cancelled() or result.exception() is not None)
