"""Whoever waits for a plan is told what plans took here, and nothing that is made up."""

from __future__ import annotations

from service.application.plan_times import REMEMBERED_MOST, PlanTimes


def test_an_events_own_last_plan_comes_first_then_the_day_nearest_in_size() -> None:
    times = PlanTimes()
    assert times.usual_s("lunch", 1000) is None

    times.add("supper", 900, 4.0)
    times.add("fair", 30_000, 12.0)

    assert times.usual_s("lunch", 1000) == 4.0
    assert times.usual_s("lunch", 5000) is None
    assert times.usual_s("lunch", 20_000) == 12.0
    times.add("lunch", 1000, 6.0)
    assert times.usual_s("lunch", 30_000) == 6.0


def test_only_the_last_events_are_remembered() -> None:
    times = PlanTimes()
    for n in range(REMEMBERED_MOST + 1):
        times.add(f"e{n}", 10**n if n < 2 else 1000, float(n))

    assert times.usual_s("e0", 1) is None
