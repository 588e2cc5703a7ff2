"""What the operator looks at: whether all is well, what runs, what waits, what failed."""

from __future__ import annotations

from dataclasses import dataclass

from service.application.context import Context
from service.application.counted_solvers import CountedSolvers, Failure
from service.application.lanes import Lane
from service.application.solver_pool import WorkStanding


@dataclass(frozen=True)
class Health:
    """How the service is: what there is, what waits, and for how long."""

    events: int
    asked_plans: int  # in the database: still to be made
    running: int
    waiting: int
    oldest_wait_s: float


class OperationsService:
    """The service as a whole."""

    def __init__(self, context: Context, solvers: CountedSolvers) -> None:
        self._store, self._solvers = context.store, solvers

    def health(self) -> Health:
        """Return how the service is; raises the database's own error where it is away."""
        standing = self._solvers.standing()
        waits = [w.waiting_s for w in standing if w.running_s is None]
        return Health(
            events=self._store.events.count(),
            asked_plans=len(self._store.plans.asked()),
            running=len(standing) - len(waits),
            waiting=len(waits),
            oldest_wait_s=round(max(waits, default=0.0), 1),
        )

    def work(self) -> list[WorkStanding]:
        """Return what runs, then what waits."""
        return self._solvers.standing()

    def failures(self) -> list[Failure]:
        """Return what failed last, the newest first."""
        return self._solvers.failures()

    def stop(self, event_id: str, lane: Lane) -> int:
        """Stop an event's work in a lane; return how many pieces."""
        return self._solvers.stop(event_id, lane)
