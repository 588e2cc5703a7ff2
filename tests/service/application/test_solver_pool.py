"""Solver processes: what they are, how they end. What both engines keep to: test_engines."""

from __future__ import annotations

import gc
import math
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import CancelledError
from pathlib import Path
from types import SimpleNamespace

import pytest

from events.errors import FaultyEvent, NotFound, PlanBroken, Stopped
from events.reading.event_file import zone_at
from events.reading.limits import FAULTS_MOST
from service.application.lanes import ALL_LANES
from service.application.reading import SentFile, event_job
from service.application.solver_pool import Limits, SolverPool
from service.application.worker_process import (
    GOOD_SHARE,
    Allowance,
    WorkerProcess,
    seconds_left,
)
from solver.thermal import energy_balance

pytestmark = pytest.mark.slow

ONE = [ALL_LANES]
WAIT_S = 60.0  # for what comes within a second on an idle machine


def pid(_payload: str) -> int:
    return os.getpid()


def forked_from(_payload: str) -> int:
    return os.getppid()


def has_ended(pid: int) -> bool:
    """Return whether a process is gone, or only waits to be counted by its parent."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(") ")[2].startswith("Z")
    except OSError:
        return True


def time_left_s(_payload: str) -> float:
    return seconds_left()


def steppers(_payload: str) -> int:
    return len(energy_balance._steppers)


def own_mb(_payload: str) -> int:
    """Return what this process holds alone, once it knows a zone and its garbage was collected."""
    zone_at(47.0, 8.0)
    gc.collect()
    lines = Path("/proc/self/smaps_rollup").read_text().splitlines()
    return sum(int(line.split()[1]) for line in lines if line.startswith("Private")) // 1024


def sleeps(_payload: str) -> str:
    time.sleep(3600)
    return "slept"


def worked_s(_payload: str) -> float:
    """Return the processor time of this process, a little of it spent now."""
    while time.process_time() < 0.1:
        pass
    return time.process_time()


def goes_round(_payload: str) -> str:
    while True:
        pass


def dies(_payload: str) -> str:
    os.kill(os.getpid(), signal.SIGKILL)
    return "never"


def refuses(payload: str) -> str:
    if payload == "faults":
        raise FaultyEvent("a file", [])
    if payload == "broken":
        raise PlanBroken(["a", "b"])
    raise NotFound(payload)


class Unreadable(Exception):
    """An error that can be sent and not be made again."""

    def __init__(self, one: str, two: str) -> None:
        super().__init__(f"{one} {two}")


def unreadable(_payload: str) -> str:
    raise Unreadable("one", "two")


@pytest.fixture
def solvers() -> Iterator[SolverPool]:
    pool = SolverPool(ONE, Limits(memory_mb=300, work_s=WAIT_S))
    yield pool
    pool.close()


def test_each_work_knows_until_when_it_may_improve_its_answer(solvers: SolverPool) -> None:
    left_s = [solvers.submit(time_left_s, "").result(WAIT_S) for _ in range(2)]

    assert all(0 < left < WAIT_S * GOOD_SHARE for left in left_s)
    assert seconds_left() == math.inf, "outside of a solver's process"


def test_work_is_ended_by_the_time_that_it_worked() -> None:
    """What only waits may last four times as long; a busy machine is not the work's doing."""
    process = WorkerProcess(Allowance(memory_mb=300))
    process.begin(worked_s, "")
    while not process.ended(WAIT_S):
        pass
    told_s = process.outcome().value
    assert isinstance(told_s, float)
    assert told_s <= process.worked_s() + 0.02 < told_s + WAIT_S  # told in hundredths
    process.kill()
    process._process = SimpleNamespace(pid=2**31 - 1)  # type: ignore[assignment]
    assert process.worked_s() == 0.0, "one that is gone is begun again, not ended for its time"

    pool = SolverPool(ONE, Limits(memory_mb=300, work_s=0.3))
    with pytest.raises(Stopped, match=r"time: 0\.3"):
        pool.submit(goes_round, "").result(WAIT_S)
    pool.close()


def test_work_runs_beside_us_in_one_process(solvers: SolverPool) -> None:
    first = solvers.submit(pid, "").result(WAIT_S)

    assert first != os.getpid()
    assert solvers.submit(pid, "").result(WAIT_S) == first


def test_solver_processes_step_by_compiled_code_and_we_by_numpy(solvers: SolverPool) -> None:
    assert solvers.submit(steppers, "").result(WAIT_S) == 1
    assert steppers("") == 0


def test_a_process_shares_what_it_was_forked_with(solvers: SolverPool) -> None:
    """Zones' shapes are 57 MB, and another 60 would be copied by looking for garbage in them."""
    assert solvers.submit(own_mb, "").result(WAIT_S) < 25


def test_work_goes_on_where_what_processes_are_forked_from_died(solvers: SolverPool) -> None:
    first = solvers.submit(forked_from, "").result(WAIT_S)
    os.kill(first, signal.SIGKILL)
    while not has_ended(first):
        time.sleep(0.01)  # another process ends: there is nothing else to wait on

    assert solvers.submit(forked_from, "").result(WAIT_S) != first


@pytest.mark.parametrize(
    ("payload", "kind"), [("faults", FaultyEvent), ("broken", PlanBroken), ("x", NotFound)]
)
def test_refusals_come_back_whole(solvers: SolverPool, payload: str, kind: type) -> None:
    with pytest.raises(kind) as refused:
        solvers.submit(refuses, payload).result(WAIT_S)

    if isinstance(refused.value, PlanBroken):
        assert refused.value.breaches == ["a", "b"]
    if isinstance(refused.value, FaultyEvent):
        assert refused.value.source == "a file"


def test_as_many_faults_as_there_can_be_come_back(solvers: SolverPool) -> None:
    text = "\n".join(f"key{n} = 1" for n in range(FAULTS_MOST + 9))
    file = SentFile(text=text, source="a file")

    with pytest.raises(FaultyEvent) as refused:
        solvers.submit(event_job, file.model_dump_json()).result(WAIT_S)

    assert len(refused.value.faults) == FAULTS_MOST


def test_an_answer_that_cannot_be_read_ends_its_work_and_not_the_pool(solvers: SolverPool) -> None:
    with pytest.raises(Stopped, match="died"):
        solvers.submit(unreadable, "").result(WAIT_S)

    assert solvers.submit(pid, "").result(WAIT_S)


def test_a_pool_that_closes_cancels_what_is_not_done() -> None:
    solvers = SolverPool(ONE, Limits())
    running, waits = solvers.submit(sleeps, ""), solvers.submit(sleeps, "")

    solvers.close()

    for left in (running, waits, solvers.submit(pid, "")):
        with pytest.raises(CancelledError):
            left.result(WAIT_S)


_PARENT = """
import sys
from events.reading.limits import FAULTS_MOST
from service.application.lanes import ALL_LANES
from service.application.reading import SentFile, event_job
from service.application.solver_pool import Limits, SolverPool
from tests.service.application.test_solver_pool import pid, sleeps
if __name__ == "__main__":
    solvers = SolverPool([ALL_LANES], Limits())
    print(solvers.submit(pid, "").result(), flush=True)
    solvers.submit(sleeps, "")
    sys.stdin.read()
"""


def test_a_solver_ends_with_its_parent_however_that_ends(tmp_path: Path) -> None:
    """Each kill -9 of the service left a solver alive; one lived 45 minutes."""
    script = tmp_path / "parent.py"
    script.write_text(_PARENT)
    parent = subprocess.Popen(
        [sys.executable, str(script)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(Path.cwd())},
    )
    assert parent.stdout
    assert parent.stdin
    child = Path(f"/proc/{int(parent.stdout.readline())}")
    assert child.exists()

    parent.kill()
    parent.wait()

    while not has_ended(int(child.name)):
        time.sleep(0.01)  # another process ends: there is nothing else to wait on
    parent.stdout.close()
    parent.stdin.close()


def test_work_that_was_given_up_is_ended_and_what_waited_is_not_begun(solvers: SolverPool) -> None:
    running, waits = solvers.submit(sleeps, ""), solvers.submit(dies, "")
    while not any(w.running_s is not None for w in solvers.standing()):
        time.sleep(0.01)  # another process starts: there is nothing else to wait on
    first = solvers.submit(pid, "")

    assert running.cancel()
    assert waits.cancel()

    assert first.result(WAIT_S)
