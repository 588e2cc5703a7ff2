"""How long a piece of work may take, by a clock and a process that are laid by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from events.errors import Stopped
from service.application import solver_pool
from service.application.solver_pool import Limits, SolverPool
from service.application.worker_process import Outcome

LIMIT_S, BEFORE_S, BEGAN_S = 10.0, 7.0, 1000.0


class Hands:
    """A process that worked before, and works and lasts as it is told, then is done."""

    stage = None

    def __init__(self, worked_s: float) -> None:
        self._worked, self._looks = iter((BEFORE_S, BEFORE_S + worked_s)), iter((False, True))

    def begin(self, work: object, payload: str) -> None:
        """Begin nothing: what it takes is given."""

    def worked_s(self) -> float:
        return next(self._worked)

    def ended(self, within_s: float) -> bool:
        return next(self._looks)

    def outcome(self) -> Outcome:
        return Outcome("value", "done", 0)


@pytest.mark.parametrize(
    ("worked_s", "lasted_s", "in_time"),
    [
        (10.0, 10.0, True),
        (10.1, 10.1, False),
        (1.0, 40.0, True),  # a busy machine is not its doing, up to four times its time
        (1.0, 40.1, False),
        (9.0, 39.0, True),  # the longer of the two counts, not both together
    ],
)
def test_work_is_ended_by_its_own_time_or_by_four_times_as_much_of_the_clock(
    monkeypatch: pytest.MonkeyPatch, worked_s: float, lasted_s: float, in_time: bool
) -> None:
    pool = SolverPool([], Limits(work_s=LIMIT_S))
    job = solver_pool._Job(str, "", solver_pool.NO_ORDER, asked_s=BEGAN_S - 60)
    clock = iter((BEGAN_S, BEGAN_S + lasted_s))
    monkeypatch.setattr(solver_pool, "time", SimpleNamespace(monotonic=lambda: next(clock)))
    process: Any = Hands(worked_s)

    kept = pool._work(process, job)

    assert kept == in_time
    if in_time:
        assert job.future.result(0) == "done"
    else:
        with pytest.raises(Stopped, match=r"time: 10\.0"):
            job.future.result(0)
