"""Solver processes that die: their work is begun again, and given up after a few times."""

from __future__ import annotations

from concurrent.futures import Executor, Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from queue import Queue

import pytest

from service.application.solver_pool import TRIES, SolverPool


class Workers(ThreadPoolExecutor):
    """Workers of which some die at once, as a process does that is killed."""

    deaths: int
    made = 0

    def submit(self, work, /, *args, **more):  # type: ignore[no-untyped-def]
        if Workers.deaths:
            Workers.deaths -= 1
            future: Future[str] = Future()
            future.set_exception(BrokenProcessPool("killed"))
            return future
        return super().submit(work, *args, **more)


def workers() -> Executor:
    Workers.made += 1
    return Workers(1)


def pool(deaths: int) -> SolverPool:
    Workers.deaths, Workers.made = deaths, 0
    return SolverPool(workers)


def test_work_is_begun_again_by_fresh_workers() -> None:
    solvers, ended = pool(TRIES - 1), Queue[Future[str]]()

    solvers.start(str.upper, "a plan", ended.put)

    assert ended.get().result() == "A PLAN"
    assert Workers.made == TRIES
    assert solvers.run(str.upper, "b") == "B"
    solvers.close()


def test_work_that_kills_every_worker_is_given_up() -> None:
    solvers, ended = pool(TRIES), Queue[Future[str]]()

    solvers.start(str.upper, "a plan", ended.put)

    with pytest.raises(BrokenProcessPool):
        ended.get().result()
    solvers.close()
