"""What both engines keep to: processes of our own, and the queue on PostgreSQL with a worker."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from events.errors import Stopped
from service.application.lanes import Lane, Order
from service.application.solver_pool import Solvers
from service.settings import Settings
from tests.engines import (
    ENGINES,
    dies,
    dies_once,
    engine,
    pid,
    plans_for_ever,
    sleeps,
    sleeps_once,
    takes_all,
)

pytestmark = pytest.mark.slow

WAIT_S = 60.0  # for what comes within a second on an idle machine
Engine = Callable[..., Solvers]


@pytest.fixture(params=ENGINES)
def solvers_of(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Engine]:
    """Yield what starts solvers; they are closed when the test is over."""
    with ExitStack() as open_ones:

        def started(count: int = 1, work_s: float = WAIT_S) -> Solvers:
            settings = Settings(solvers=count, solver_memory_mb=300, solver_work_s=work_s)
            return open_ones.enter_context(engine(request.param, tmp_path, settings))

        yield started


def until(state: Callable[[], bool]) -> None:
    """Wait for a state of other processes: there is nothing else to wait on."""
    ends_s = time.monotonic() + WAIT_S
    while not state():
        assert time.monotonic() < ends_s
        time.sleep(0.02)


def test_work_that_takes_too_much_memory_is_ended_and_the_next_is_done(
    solvers_of: Engine, tmp_path: Path
) -> None:
    """One event within the limits took 12.7 GB and the only solver for seven minutes."""
    solvers = solvers_of()
    large = solvers.submit(takes_all, str(tmp_path / "large"))
    small = solvers.submit(pid, str(tmp_path / "small"))

    with pytest.raises(Stopped, match="memory: 300"):
        large.result(WAIT_S)
    assert small.result(WAIT_S)


def test_work_that_takes_too_long_is_ended(solvers_of: Engine, tmp_path: Path) -> None:
    with pytest.raises(Stopped, match=r"time: 0\.2"):
        solvers_of(work_s=0.2).submit(sleeps, str(tmp_path / "long")).result(WAIT_S)


def test_work_whose_process_died_is_done_again_once(solvers_of: Engine, tmp_path: Path) -> None:
    solvers = solvers_of()
    again = solvers.submit(dies_once, str(tmp_path / "mark"))
    never = solvers.submit(dies, "")

    assert again.result(WAIT_S) == "done"
    with pytest.raises(Stopped, match="died"):
        never.result(WAIT_S)


def test_an_events_work_can_be_stopped_while_it_runs_and_while_it_waits(
    solvers_of: Engine, tmp_path: Path
) -> None:
    solvers = solvers_of()
    order, other = Order(Lane.PLAN, "a"), Order(Lane.PLAN, "b")
    running = solvers.submit(sleeps, str(tmp_path / "runs"), order)
    until((tmp_path / "runs").exists)
    waits = solvers.submit(pid, str(tmp_path / "waits"), order)
    others = solvers.submit(pid, str(tmp_path / "others"), other)
    assert [w.running_s is None for w in solvers.standing()] == [False, True, True]
    assert [w.ahead for w in solvers.standing()] == [0, 0, 1]

    assert solvers.stop("a", Lane.PLAN) == 2

    for stopped in (running, waits):
        with pytest.raises(Stopped, match="stopped"):
            stopped.result(WAIT_S)
    assert others.result(WAIT_S)
    assert not (tmp_path / "waits").exists()


def test_the_stage_of_a_plan_is_seen_while_it_runs_and_ends_with_it(
    solvers_of: Engine, tmp_path: Path
) -> None:
    solvers, order = solvers_of(), Order(Lane.PLAN, "lunch")
    work = solvers.submit(plans_for_ever, str(tmp_path / "first"), order)

    until(lambda: [w.stage for w in solvers.standing()] == ["timetable"])

    solvers.stop("lunch", Lane.PLAN)
    with pytest.raises(Stopped):
        work.result(WAIT_S)
    solvers.submit(sleeps, str(tmp_path / "second"), order)
    until((tmp_path / "second").exists)
    assert [w.stage for w in solvers.standing()] == [None]


def test_a_replan_does_not_wait_for_a_plan_that_runs(solvers_of: Engine, tmp_path: Path) -> None:
    solvers = solvers_of()
    plan = solvers.submit(sleeps, str(tmp_path / "plan"), Order(Lane.PLAN, "a"))
    until((tmp_path / "plan").exists)

    replan = solvers.submit(pid, str(tmp_path / "replan"), Order(Lane.REPLAN, "b"))

    assert replan.result(WAIT_S)
    assert not plan.done()


def test_advice_gives_way_to_a_plan_and_is_begun_again(solvers_of: Engine, tmp_path: Path) -> None:
    solvers = solvers_of()
    advice = solvers.submit(sleeps_once, str(tmp_path / "begun"), Order(Lane.ADVICE, "a"))
    until((tmp_path / "begun").exists)

    plan = solvers.submit(pid, str(tmp_path / "plan"), Order(Lane.PLAN, "b"))

    assert plan.result(WAIT_S)
    assert advice.result(WAIT_S) == "done"


def test_who_has_two_plans_made_gives_one_back_to_who_has_none(
    solvers_of: Engine, tmp_path: Path
) -> None:
    """One client's forty events let another wait for as long as the two that were begun took."""
    solvers, marks = solvers_of(count=2), [tmp_path / "first", tmp_path / "second"]
    theirs = []
    for mark in marks:
        theirs.append(solvers.submit(sleeps_once, str(mark), Order(Lane.PLAN, mark.name, "many")))
        until(mark.exists)

    other = solvers.submit(pid, str(tmp_path / "other"), Order(Lane.PLAN, "lunch", "another"))

    assert other.result(WAIT_S)
    assert theirs[1].result(WAIT_S) == "done", "begun again"
    assert not theirs[0].done(), "the first goes on"


def test_a_single_plan_gives_way_to_nobody(solvers_of: Engine, tmp_path: Path) -> None:
    solvers, mark = solvers_of(), tmp_path / "begun"
    running = solvers.submit(sleeps, str(mark), Order(Lane.PLAN, "a", "one"))
    until(mark.exists)

    waits = solvers.submit(pid, str(tmp_path / "waits"), Order(Lane.PLAN, "b", "another"))
    until(lambda: (solvers.standing()[0].running_s or 0.0) > 1.5)  # several looks long

    assert not running.done()
    assert not waits.done()
    assert solvers.stop("a", Lane.PLAN) == 1
    assert waits.result(WAIT_S)
