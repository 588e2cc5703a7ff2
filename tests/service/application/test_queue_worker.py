"""A worker of the queue keeps what it is at while the database starts again.

`python -m tests.long machines` restarts a real PostgreSQL under two workers.
"""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any

import pytest
from sqlalchemy.exc import OperationalError

from events.storage.tables import OpenWork, Work
from service.application import queue_worker
from service.application.lanes import Lane
from service.application.queue_worker import QueueWorker
from service.settings import Settings

NOW = datetime(2027, 6, 12, 9, tzinfo=UTC)
WORK = Work("key", "plan_job", "", Lane.PLAN, "an-event", "somebody", "asked", 0, NOW, None, "")
OPEN = OpenWork("key", Lane.PLAN, "an-event", "somebody", NOW, NOW, None)


class Away:
    """A store whose server is away for the first two calls of each kind."""

    def __init__(self, rows: list[OpenWork]) -> None:
        self.calls: list[str] = []
        self.rows = rows
        self.work = SimpleNamespace(
            begin=lambda *_, **__: self._answers("begin", WORK),
            end=lambda *_: self._answers("end", None),
            open=lambda: self._answers("open", self.rows),
        )

    def tell(self, _word: str) -> None:
        self._answers("tell", None)

    def _answers(self, name: str, answer: object) -> Any:
        self.calls.append(name)
        if self.calls.count(name) <= 2:
            raise OperationalError("select", None, Exception("the server starts up"))
        return answer


def worker(store: Away, future: Future[object]) -> QueueWorker:
    solvers = SimpleNamespace(submit=lambda *_: future, standing=list)
    settings = Settings(database_url="postgresql+psycopg://nobody@localhost/none", queue=True)
    return QueueWorker(settings, store, solvers, lambda: NOW)  # type: ignore[arg-type]


def run(work: Coroutine[None, None, None]) -> None:
    """Run work in a thread of its own: this one may drive a browser, which has a loop already."""
    with ThreadPoolExecutor(1) as hands:
        hands.submit(asyncio.run, work).result()


@pytest.fixture(autouse=True)
def _at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(queue_worker, "AGAIN_S", 0.0)
    monkeypatch.setattr(queue_worker, "LOOK_S", 0.001)


def test_work_in_hand_outlives_a_restart_of_the_database() -> None:
    store, future = Away([OPEN]), Future[object]()
    after_open: list[str] = []

    def looked() -> list[OpenWork]:
        rows: list[OpenWork] = store._answers("open", store.rows)
        after_open.append("looked")
        future.set_exception(ValueError("no plan")) if not future.done() else None
        return rows

    store.work.open = looked

    run(worker(store, future).solve("key"))

    assert after_open
    assert [store.calls.count(name) for name in ("begin", "end", "tell")] == [3, 3, 3]


def test_open_work_without_a_place_in_the_queue_gets_one(monkeypatch: pytest.MonkeyPatch) -> None:
    lost = OpenWork("lost", Lane.PLAN, "an-event", "somebody", NOW, None, None)
    store = Away([OPEN, lost])
    store.calls = ["open", "open"]  # the server is back
    deferred: list[str] = []

    async def defer(key: str) -> None:
        deferred.append(key)

    async def jobs(*, task: str, status: str) -> list[SimpleNamespace]:
        assert task == "noonfare.solve"
        return [SimpleNamespace(task_kwargs={"key": "key"})] if status == "doing" else []

    monkeypatch.setattr(queue_worker, "task_for", lambda *_: SimpleNamespace(defer_async=defer))
    one = worker(store, Future())
    monkeypatch.setattr(one.app, "job_manager", SimpleNamespace(list_jobs_async=jobs))

    run(one._queue_forgotten())

    assert deferred == ["lost"]
