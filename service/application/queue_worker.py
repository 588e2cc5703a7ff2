"""A process that works at the queue's solves: any number of them, beside any number of services."""

from __future__ import annotations

import asyncio
import logging
import signal
from collections.abc import Callable
from contextlib import closing, suppress
from datetime import timedelta
from typing import Literal, ParamSpec, TypeVar

from procrastinate import App, PsycopgConnector, SyncPsycopgConnector
from procrastinate.exceptions import AlreadyEnqueued, ConnectorException
from procrastinate.jobs import Status
from sqlalchemy.exc import OperationalError

from events.errors import NoonfareError, Stopped
from events.storage.store import Store
from events.storage.tables import Work, WorkState
from service.application.lanes import ALL_LANES, Lane, Order, gives_way
from service.application.postgres_channel import conninfo_of
from service.application.queued_solvers import (
    TASK,
    prepare_queue,
    queue_of,
    running_and_waiting,
    task_for,
)
from service.application.solver_jobs import JOBS
from service.application.solver_pool import REPLANS, SolverPool, limits_of
from service.clock import Clock
from service.settings import Settings

LOOK_S = 0.5  # so often a worker looks whether its work was stopped
AWAY = (ConnectorException, OperationalError)  # the database starts again, or can't be reached
AGAIN_S = 1.0  # then it is asked again
MISSED_S = 30.0  # a worker that is not heard of for so long is gone; its work is done again
KEPT = timedelta(days=2)  # results, so that who asks again has them at once
log = logging.getLogger("noonfare.worker")
P = ParamSpec("P")
T = TypeVar("T")


class QueueWorker:
    """Takes work from the queue, does it in processes of its own, and stores what came of it."""

    def __init__(self, settings: Settings, store: Store, solvers: SolverPool, now: Clock) -> None:
        self._store, self._solvers, self._now = store, solvers, now
        self._count, self._limits = settings.solvers, limits_of(settings)
        self.app = App(connector=PsycopgConnector(conninfo=conninfo_of(settings.url())))
        self.app.task(name=TASK, queue=queue_of(Lane.PLAN))(self.solve)

    async def run(self) -> None:
        """Work until the process is told to end."""
        loop = asyncio.get_running_loop()
        async with self.app.open_async():
            together = asyncio.gather(
                self._run(queue_of(Lane.REPLAN), 1),
                self._run(queue_of(Lane.PLAN), self._count),
                self._look_after(),
            )
            for told in (signal.SIGTERM, signal.SIGINT):
                loop.add_signal_handler(told, together.cancel)
            with suppress(asyncio.CancelledError):
                await together  # what it was at is begun again by another, or by the next

    async def solve(self, key: str) -> None:
        """Do a piece of work."""
        died = Stopped("died", self._limits.memory_mb).written
        work = await _kept_asking(self._store.work.begin, key, now=self._now(), died=died)
        if work is not None:
            ended = await self._result(work)
            if ended is None:
                return  # it has an end already, or waits again
            await _kept_asking(self._store.work.end, key, *ended)
        await _kept_asking(self._store.tell, f"work {key}")

    async def _result(self, work: Work) -> tuple[WorkState, str] | None:
        """Do a piece of work; None where it was stopped, or gives way to who comes first."""
        function, written = JOBS[work.kind]
        order = Order(Lane(work.lane), work.event_id, work.origin)
        future = self._solvers.submit(function, work.payload, order)
        wrapped = asyncio.wrap_future(future)
        while not (await asyncio.wait({wrapped}, timeout=LOOK_S))[0]:
            word = await _kept_asking(self._look, work.key, order)
            if word == "go on":
                continue
            wrapped.cancel()
            if word == "give way":
                await self._put_back(work)
            return None
        try:
            return "done", written.dump_json(wrapped.result()).decode()
        except Stopped as stopped:
            return "stopped", stopped.written
        except NoonfareError as error:
            return "failed", str(error)
        except Exception:
            log.exception("work on %s", work.event_id)
            return "failed", "a fault of the program; its log says which"

    def _look(self, key: str, order: Order) -> Literal["go on", "stop", "give way"]:
        """Look how work stands that runs here, and store which stage of its plan it is at."""
        running, waiting = running_and_waiting(self._store.work.open())
        mine = next((work for work in running if work.row.key == key), None)
        if mine is None:
            return "stop"
        stages = [at.stage for at in self._solvers.standing() if at.order == order]
        if order.lane < Lane.ADVICE and stages and stages[0] != mine.row.stage:
            self._store.work.reach(key, stages[0])
        queue = queue_of(order.lane)
        next_here = [work.order for work in waiting if queue_of(work.order.lane) == queue]
        return "give way" if gives_way(mine, running, next_here) else "go on"

    async def _put_back(self, work: Work) -> None:
        await _kept_asking(self._store.work.put_back, work.key)
        rows = await _kept_asking(self._store.work.open)
        with suppress(AlreadyEnqueued, ConnectorException):  # then `_look_after` does it
            await task_for(self.app, work, rows).defer_async(key=work.key)

    async def _run(self, queue: str, concurrency: int) -> None:
        while True:
            try:
                await self.app.run_worker_async(
                    queues=[queue],
                    concurrency=concurrency,
                    delete_jobs="always",
                    fetch_job_polling_interval=1.0,
                    shutdown_graceful_timeout=0.0,
                    install_signal_handlers=False,
                )
            except AWAY:
                log.warning("the queue %s can't be reached; asked again", queue)
                await asyncio.sleep(AGAIN_S)

    async def _look_after(self) -> None:
        """Have the work of workers that are gone done again; forget old results."""
        while True:
            await asyncio.sleep(MISSED_S / 3)
            try:
                await self._retry_missed()
                await self._queue_forgotten()
                await asyncio.to_thread(self._store.work.clear, before=self._now() - KEPT)
            except AWAY:
                log.warning("the database is away; looked after again later")

    async def _retry_missed(self) -> None:
        manager = self.app.job_manager
        for job in await manager.get_stalled_jobs(seconds_since_heartbeat=MISSED_S):
            log.warning("a worker is gone; its work is begun again")
            await manager.retry_job(job)

    async def _queue_forgotten(self) -> None:
        """Give work that is open and has no place in the queue one: the server went in between."""
        rows = await asyncio.to_thread(self._store.work.open)
        manager, known = self.app.job_manager, set[object]()
        for status in (Status.TODO, Status.DOING):
            jobs = await manager.list_jobs_async(task=TASK, status=status.value)
            known |= {job.task_kwargs.get("key") for job in jobs}
        for row in rows:
            if row.key not in known:
                log.warning("work for %s had no place in the queue", row.event_id)
                with suppress(AlreadyEnqueued):
                    await task_for(self.app, row, rows).defer_async(key=row.key)


async def _kept_asking(ask: Callable[P, T], *args: P.args, **named: P.kwargs) -> T:
    """Ask the database in a thread, until it answers: work in hand outlives a server's restart."""
    while True:
        try:
            return await asyncio.to_thread(ask, *args, **named)
        except OperationalError:
            log.warning("the database is away; asked again in a second")
            await asyncio.sleep(AGAIN_S)


def work_at_queue(settings: Settings, now: Clock) -> None:
    """Work at the queue until the process is told to end."""
    with App(connector=SyncPsycopgConnector(conninfo=conninfo_of(settings.url()))).open() as app:
        prepare_queue(app)
    each = [REPLANS, *[ALL_LANES] * settings.solvers]  # the queue says who comes first
    with (
        closing(Store(settings.url())) as store,
        closing(SolverPool(each, limits_of(settings))) as solvers,
    ):
        asyncio.run(QueueWorker(settings, store, solvers, now).run())
