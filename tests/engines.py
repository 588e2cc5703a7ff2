"""Both engines that solve, for tests: processes of our own, and the queue with a worker beside.

`python -m tests.engines` is that worker: `noonfare worker`, which knows the work of tests as well.
Each kind of work takes the path of a file of marks, so that no two pieces are the same.
"""

from __future__ import annotations

import importlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pydantic import TypeAdapter

from events.storage.store import Store
from service.application.lanes import ALL_LANES
from service.application.solver_jobs import JOBS
from service.application.solver_pool import REPLANS, SolverPool, Solvers, limits_of
from service.clock import system_clock
from service.settings import Settings
from solver.stages import begin
from tests.conftest import database_url

# The queue needs a server: `python -m tests.long postgres` starts one and runs all of this again.
ENGINES = ("processes", *(("queue",) if os.environ.get("NOONFARE_TEST_DATABASE") else ()))


def pid(payload: str) -> str:
    with Path(payload).open("a") as marks:
        marks.write(f"{os.getpid()}\n")
    return str(os.getpid())


def takes_all(payload: str) -> str:
    return pid(payload)[: len(bytearray(4_000_000_000))]


def sleeps(payload: str) -> str:
    pid(payload)
    time.sleep(3600)
    return "slept"


def sleeps_once(payload: str) -> str:
    begun = Path(payload).exists()
    pid(payload)
    if not begun:
        time.sleep(3600)
    return "done"


def plans_for_ever(payload: str) -> str:
    begin("day")
    begin("timetable")
    return sleeps(payload)


def dies_once(payload: str) -> str:
    begun = Path(payload).exists()
    pid(payload)
    if not begun:
        os.kill(os.getpid(), signal.SIGKILL)
    return "done"


def dies(_payload: str) -> str:
    os.kill(os.getpid(), signal.SIGKILL)
    return "never"


WORK = (pid, takes_all, sleeps, sleeps_once, plans_for_ever, dies_once, dies)


@contextmanager
def engine(kind: str, folder: Path, settings: Settings) -> Iterator[Solvers]:
    """Yield solvers of a kind, with as many processes and such limits as settings say."""
    if kind == "processes":
        pool = SolverPool([REPLANS, *[ALL_LANES] * settings.solvers], limits_of(settings))
        yield pool
        pool.close()
        return
    from service.application.queued_solvers import QueuedSolvers  # an extra

    know_work()
    url = database_url(folder, "")
    store = Store(url)
    queue = QueuedSolvers(url, store, system_clock)
    worker = subprocess.Popen(
        [sys.executable, "-m", "tests.engines", url, *map(str, _figures(settings))],
        start_new_session=True,
    )
    try:
        yield queue
    finally:
        os.killpg(worker.pid, signal.SIGTERM)
        worker.wait()
        queue.close()
        store.close()


def _figures(settings: Settings) -> tuple[int, int, float]:
    return settings.solvers, settings.solver_memory_mb, settings.solver_work_s


def know_work() -> None:
    JOBS.update({work.__name__: (work, TypeAdapter(str)) for work in WORK})


def work(url: str, count: str, memory_mb: str, work_s: str) -> None:
    """Be a worker, until told to end."""
    from service.application.queue_worker import work_at_queue  # an extra

    know_work()
    settings = Settings(
        database_url=url,
        solvers=int(count),
        solver_memory_mb=int(memory_mb),
        solver_work_s=float(work_s),
    )
    work_at_queue(settings, system_clock)


if __name__ == "__main__":
    # By the name under which its processes find the work.
    importlib.import_module("tests.engines").work(*sys.argv[1:])
