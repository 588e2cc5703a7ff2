"""Solvers whose work is counted, and whose last failures are remembered for the operator."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from events.errors import NoonfareError, Stopped
from service.application.lanes import Lane, Order
from service.application.metrics import Metrics
from service.application.solver_pool import NO_ORDER, Solvers, WorkStanding
from service.clock import Clock

FAILURES_SHOWN = 30
T = TypeVar("T")


@dataclass(frozen=True)
class Failure:
    """Work that ended without an answer: what it was for, and how it ended."""

    at: datetime
    order: Order
    ended: str


class CountedSolvers:
    """Solvers, counted."""

    def __init__(self, solvers: Solvers, metrics: Metrics, now: Clock) -> None:
        self._solvers, self._metrics, self._now = solvers, metrics, now
        self._failures: deque[Failure] = deque(maxlen=FAILURES_SHOWN)

    def submit(self, work: Callable[[str], T], payload: str, order: Order = NO_ORDER) -> Future[T]:
        """Begin work as soon as there is room."""
        future = self._solvers.submit(work, payload, order)
        future.add_done_callback(lambda done: self._count(order, done))
        return future

    def stop(self, event_id: str, lane: Lane) -> int:
        """Stop an event's work in a lane; return how many pieces."""
        return self._solvers.stop(event_id, lane)

    def standing(self) -> list[WorkStanding]:
        """Return what runs, then what waits."""
        return self._solvers.standing()

    def look(self) -> None:
        """Look for results now."""
        self._solvers.look()

    def close(self) -> None:
        """Stop all work."""
        self._solvers.close()

    def failures(self) -> list[Failure]:
        """Return the last failures, the newest first."""
        return list(reversed(self._failures))

    def _count(self, order: Order, done: Future[T]) -> None:
        if done.cancelled():
            return
        error = done.exception()
        ended = "done"
        if isinstance(error, Stopped):
            ended = error.reason
        elif isinstance(error, NoonfareError):
            ended = "refused"
        elif error is not None:
            ended = "fault"
        self._metrics.solve(order.lane.name.lower(), ended)
        if ended not in ("done", "refused"):
            self._failures.append(Failure(self._now(), order, ended))
