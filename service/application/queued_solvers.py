"""Solvers of other processes, on this machine or another, reached through PostgreSQL.

The queue is procrastinate's: priorities, retries, workers that are missed. A piece of work is a
row, so the same work is asked once, whoever asks, and its result outlives whoever asked for it.
"""

from __future__ import annotations

import hashlib
import logging
from collections import defaultdict
from collections.abc import Callable, Iterable
from concurrent.futures import Future, InvalidStateError
from contextlib import suppress
from dataclasses import dataclass
from threading import Event, Lock, Thread
from typing import TypeVar, cast

from procrastinate import App, SyncPsycopgConnector
from procrastinate.exceptions import AlreadyEnqueued, ConnectorException
from procrastinate.jobs import JobDeferrer

from events.errors import NoonfareError, Stopped
from events.storage.store import Store
from events.storage.tables import OpenWork, Work
from service.application.lanes import Lane, Order
from service.application.postgres_channel import conninfo_of
from service.application.solver_jobs import JOBS
from service.application.solver_pool import NO_ORDER, WorkStanding
from service.clock import Clock
from solver.stages import Stage

TASK, ASK_S, ORIGIN_MOST = "noonfare.solve", 1.0, 900
T = TypeVar("T")
log = logging.getLogger("noonfare.queue")


@dataclass(frozen=True)
class QueuedWork:
    """How a piece of work stands that waits or runs."""

    row: OpenWork

    @property
    def order(self) -> Order:
        """Return what it is for."""
        return Order(Lane(self.row.lane), self.row.event_id, self.row.origin)


def running_and_waiting(rows: Iterable[OpenWork]) -> tuple[list[QueuedWork], list[QueuedWork]]:
    """Return what runs, the oldest first, and what waits, by lanes."""
    running = sorted((w for w in rows if w.began_at), key=lambda w: w.began_at or w.asked_at)
    waiting = sorted((w for w in rows if not w.began_at), key=lambda w: w.lane)
    return [QueuedWork(w) for w in running], [QueuedWork(w) for w in waiting]


def queue_of(lane: Lane) -> str:
    """Return the queue of a lane: re-plans have workers of their own."""
    return "replans" if lane == Lane.REPLAN else "solves"


class QueuedSolvers:
    """Hands work to the queue and waits for its rows to end."""

    def __init__(self, url: str, store: Store, now: Clock) -> None:
        self._store, self._now = store, now
        self._app = App(connector=SyncPsycopgConnector(conninfo=conninfo_of(url)))
        self._app.open()
        prepare_queue(self._app)
        self._pending: dict[str, list[Future[object]]] = defaultdict(list)
        self._lock, self._closing, self._word = Lock(), Event(), Event()
        self._thread = Thread(target=self._wait, daemon=True)
        self._thread.start()

    def submit(self, work: Callable[[str], T], payload: str, order: Order = NO_ORDER) -> Future[T]:
        """Ask for work, unless the same is asked for already; the future has its result."""
        kind, future = work.__name__, Future[object]()
        key = hashlib.sha256(f"{kind}\0{payload}".encode()).hexdigest()
        lane, event, origin = order.lane, order.event_id, order.origin
        row = Work(key, kind, payload, lane, event, origin, "asked", 0, self._now(), None, "")
        with self._lock:
            self._pending[key].append(future)
        if self._store.work.ask(row):
            self._defer(row)
        self._word.set()
        return cast("Future[T]", future)

    def stop(self, event_id: str, lane: Lane) -> int:
        """Stop an event's work in a lane, wherever it runs; return how many pieces."""
        stopped = self._store.work.stop(event_id, lane)
        self._word.set()
        return len(stopped)

    def standing(self) -> list[WorkStanding]:
        """Return what runs, then what waits."""
        now = self._now()
        running, waiting = running_and_waiting(self._store.work.open())

        def shown(work: QueuedWork, ahead: int) -> WorkStanding:
            began = work.row.began_at
            return WorkStanding(
                work.order,
                running_s=(now - began).total_seconds() if began else None,
                ahead=ahead,
                waiting_s=((began or now) - work.row.asked_at).total_seconds(),
                stage=cast("Stage | None", work.row.stage),
            )

        return [shown(w, 0) for w in running] + [shown(w, n) for n, w in enumerate(waiting)]

    def close(self) -> None:
        """Wait for nothing more. What is asked stays asked: workers go on with it."""
        self._closing.set()
        self._word.set()
        self._thread.join()
        with self._lock:
            for futures in self._pending.values():
                for future in futures:
                    future.cancel()
        self._app.close()

    def look(self) -> None:
        """Look at once: a worker says that something ended."""
        self._word.set()

    def _defer(self, work: Work) -> None:
        # Where the server goes away just now, a worker gives the row its place when it is back.
        with suppress(AlreadyEnqueued, ConnectorException):
            task_for(self._app, work, self._store.work.open()).defer(key=work.key)

    def _wait(self) -> None:
        while not self._closing.is_set():
            self._word.wait(ASK_S)
            self._word.clear()
            with self._lock:
                keys = list(self._pending)
            if not keys:
                continue
            try:
                for work in self._store.work.ended(keys):
                    self._deliver(work)
            except Exception:  # the server is away: asked again in a second
                log.warning("results could not be read", exc_info=True)

    def _deliver(self, work: Work) -> None:
        with self._lock:
            futures = self._pending.pop(work.key, [])
        for future in futures:
            with suppress(InvalidStateError):
                if work.state == "done":
                    future.set_result(JOBS[work.kind][1].validate_json(work.result))
                elif work.state == "stopped":
                    future.set_exception(Stopped.read(work.result) or Stopped("stopped"))
                else:
                    future.set_exception(NoonfareError(work.result))


def task_for(app: App, work: Work | OpenWork, rows: Iterable[OpenWork]) -> JobDeferrer:
    """Return a place in the queue; who has much there already comes later with the next."""
    there = sum(other.origin == work.origin for other in rows)
    return app.configure_task(
        TASK,
        queue=queue_of(Lane(work.lane)),
        priority=(len(Lane) - work.lane) * 1000 - min(there, ORIGIN_MOST),
        queueing_lock=work.key,
    )


def prepare_queue(app: App) -> None:
    """Make the queue's tables where they are not there."""
    with suppress(Exception):  # two processes may begin at once: the other one makes them
        there = app.connector.get_sync_connector().execute_query_one(
            query="SELECT to_regclass('procrastinate_jobs') IS NOT NULL AS made"
        )
        if not there["made"]:
            app.schema_manager.apply_schema()
