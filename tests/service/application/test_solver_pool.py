"""Solver processes: limits of memory and time, work begun again once, stopped, by lanes."""

from __future__ import annotations

import math
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import CancelledError
from pathlib import Path

import pytest

from events.errors import FaultyEvent, NotFound, PlanBroken, Stopped
from events.reading.limits import FAULTS_MOST
from service.application.lanes import ALL_LANES, Lane, Order
from service.application.reading import SentFile, event_job
from service.application.solver_pool import Limits, SolverPool
from service.application.worker_process import GOOD_SHARE, seconds_left
from solver.stages import begin

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


def takes_all(_payload: str) -> int:
    return len(bytearray(4_000_000_000))


def time_left_s(_payload: str) -> float:
    return seconds_left()


def sleeps(_payload: str) -> str:
    time.sleep(3600)
    return "slept"


def plans_for_ever(_payload: str) -> str:
    begin("day")
    begin("timetable")
    return sleeps(_payload)


def dies_once(payload: str) -> str:
    mark = Path(payload)
    if not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return "done"


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
    pool = SolverPool(ONE, Limits(memory_mb=300, wall_s=WAIT_S))
    yield pool
    pool.close()


def test_each_work_knows_until_when_it_may_improve_its_answer(solvers: SolverPool) -> None:
    left_s = [solvers.submit(time_left_s, "").result(WAIT_S) for _ in range(2)]

    assert all(0 < left < WAIT_S * GOOD_SHARE for left in left_s)
    assert seconds_left() == math.inf, "outside of a solver's process"


def test_work_runs_beside_us_in_one_process(solvers: SolverPool) -> None:
    first = solvers.submit(pid, "").result(WAIT_S)

    assert first != os.getpid()
    assert solvers.submit(pid, "").result(WAIT_S) == first


def test_work_that_takes_too_much_memory_is_ended_and_the_next_is_done(solvers: SolverPool) -> None:
    """One event within the limits took 12.7 GB and the only solver for seven minutes."""
    large, small = solvers.submit(takes_all, ""), solvers.submit(pid, "")

    with pytest.raises(Stopped, match="300 MB"):
        large.result(WAIT_S)
    assert small.result(WAIT_S)


def test_work_that_takes_too_long_is_ended() -> None:
    solvers = SolverPool(ONE, Limits(wall_s=0.0))

    with pytest.raises(Stopped, match="within 0 seconds"):
        solvers.submit(sleeps, "").result(WAIT_S)
    solvers.close()


def test_work_whose_process_died_is_done_again_once(solvers: SolverPool, tmp_path: Path) -> None:
    again = solvers.submit(dies_once, str(tmp_path / "mark"))
    never = solvers.submit(dies, "")

    assert again.result(WAIT_S) == "done"
    with pytest.raises(Stopped, match="died twice"):
        never.result(WAIT_S)


def test_work_goes_on_where_what_processes_are_forked_from_died(solvers: SolverPool) -> None:
    first = solvers.submit(forked_from, "").result(WAIT_S)
    os.kill(first, signal.SIGKILL)
    while not has_ended(first):
        time.sleep(0.01)  # another process ends: there is nothing else to wait on

    assert solvers.submit(forked_from, "").result(WAIT_S) != first


def test_an_events_work_can_be_stopped_while_it_runs_and_while_it_waits(
    solvers: SolverPool,
) -> None:
    order, other = Order(Lane.PLAN, "a"), Order(Lane.PLAN, "b")
    running = solvers.submit(sleeps, "", order)
    while not any(w.running_s is not None for w in solvers.standing()):
        time.sleep(0.01)  # another process starts: there is nothing else to wait on
    waits, others = solvers.submit(pid, "", order), solvers.submit(pid, "", other)
    assert [w.running_s is None for w in solvers.standing()] == [False, True, True]

    assert solvers.stop("a", Lane.PLAN) == 2

    for stopped in (running, waits):
        with pytest.raises(Stopped, match="was stopped"):
            stopped.result(WAIT_S)
    assert others.result(WAIT_S)


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


def test_the_stage_of_a_plan_is_seen_while_it_runs_and_ends_with_it(solvers: SolverPool) -> None:
    order = Order(Lane.PLAN, "lunch")
    work = solvers.submit(plans_for_ever, "", order)
    ends_s = time.monotonic() + WAIT_S

    while [w.stage for w in solvers.standing()] != ["timetable"]:
        assert time.monotonic() < ends_s
        time.sleep(0.02)

    solvers.stop("lunch", Lane.PLAN)
    with pytest.raises(Stopped):
        work.result(WAIT_S)
    next_work = solvers.submit(sleeps, "", order)
    while [w.running_s for w in solvers.standing()] in ([], [None]):
        assert time.monotonic() < ends_s
        time.sleep(0.02)
    assert [w.stage for w in solvers.standing()] == [None]
    solvers.stop("lunch", Lane.PLAN)
    with pytest.raises(Stopped):
        next_work.result(WAIT_S)


def test_as_many_faults_as_there_can_be_come_back(solvers: SolverPool) -> None:
    text = "\n".join(f"key{n} = 1" for n in range(FAULTS_MOST + 9))
    file = SentFile(text=text, source="a file")

    with pytest.raises(FaultyEvent) as refused:
        solvers.submit(event_job, file.model_dump_json()).result(WAIT_S)

    assert len(refused.value.faults) == FAULTS_MOST


def test_an_answer_that_cannot_be_read_ends_its_work_and_not_the_pool(solvers: SolverPool) -> None:
    with pytest.raises(Stopped, match="died twice"):
        solvers.submit(unreadable, "").result(WAIT_S)

    assert solvers.submit(pid, "").result(WAIT_S)


def test_a_pool_that_closes_cancels_what_is_not_done() -> None:
    solvers = SolverPool(ONE, Limits())
    running, waits = solvers.submit(sleeps, ""), solvers.submit(sleeps, "")

    solvers.close()

    for left in (running, waits, solvers.submit(pid, "")):
        with pytest.raises(CancelledError):
            left.result(WAIT_S)


def test_a_replan_does_not_wait_for_a_plan_that_runs() -> None:
    solvers = SolverPool([frozenset((Lane.REPLAN,)), ALL_LANES], Limits())
    plan = solvers.submit(sleeps, "", Order(Lane.PLAN, "a"))

    assert solvers.submit(pid, "", Order(Lane.REPLAN, "b")).result(WAIT_S)
    assert not plan.done()
    solvers.close()


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


def sleeps_once(payload: str) -> str:
    mark = Path(payload)
    if not mark.exists():
        mark.touch()
        time.sleep(3600)
    return "done"


def test_advice_gives_way_to_a_plan_and_is_begun_again(solvers: SolverPool, tmp_path: Path) -> None:
    advice = solvers.submit(sleeps_once, str(tmp_path / "begun"), Order(Lane.ADVICE, "a"))
    while not (tmp_path / "begun").exists():
        time.sleep(0.05)  # its process has to start: there is nothing else to wait on

    plan = solvers.submit(pid, "", Order(Lane.PLAN, "b"))

    assert plan.result(WAIT_S)
    assert advice.result(WAIT_S) == "done"


def test_who_has_two_plans_made_gives_one_back_to_who_has_none(tmp_path: Path) -> None:
    """One client's forty events let another wait for as long as the two that were begun took."""
    solvers = SolverPool([ALL_LANES] * 2, Limits(memory_mb=300, wall_s=WAIT_S))
    marks = [tmp_path / "first", tmp_path / "second"]
    theirs = []
    for mark in marks:
        theirs.append(solvers.submit(sleeps_once, str(mark), Order(Lane.PLAN, mark.name, "many")))
        while not mark.exists():
            time.sleep(0.05)  # its process has to start: there is nothing else to wait on

    other = solvers.submit(pid, "", Order(Lane.PLAN, "lunch", "another"))

    assert other.result(WAIT_S)
    assert theirs[1].result(WAIT_S) == "done", "begun again"
    assert not theirs[0].done(), "the first goes on"
    assert solvers.stop("first", Lane.PLAN) == 1
    solvers.close()


def test_a_single_plan_gives_way_to_nobody(solvers: SolverPool, tmp_path: Path) -> None:
    mark = tmp_path / "begun"
    running = solvers.submit(sleeps_once, str(mark), Order(Lane.PLAN, "a", "one"))
    while not mark.exists():
        time.sleep(0.05)  # as above

    waits = solvers.submit(pid, "", Order(Lane.PLAN, "b", "another"))
    while solvers.standing()[0].running_s is None or solvers.standing()[0].running_s < 0.5:
        time.sleep(0.05)  # several looks long

    assert not running.done()
    assert not waits.done()
    assert solvers.stop("a", Lane.PLAN) == 1
    assert waits.result(WAIT_S)
