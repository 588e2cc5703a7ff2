"""A deadline: the best plan by then, checked, with its gaps; one that is far changes nothing."""

from __future__ import annotations

import math

import pytest

from solver import deadline
from solver.checking.rules import check
from solver.deterministic import deterministic_solver
from solver.planning.pipeline import make_plan
from solver.scheduling.enumeration import enumerate_candidates
from solver.scheduling.formulation import build_problem
from solver.scheduling.lexicographic import solve
from solver.simulation.day import make_day
from tests.conftest import plan_of
from tests.scale import grown


def limit_s() -> float:
    return deterministic_solver(3.0).parameters.max_time_in_seconds


def test_a_solve_ends_with_the_deadline_it_is_in() -> None:
    left = 90.0

    with deadline.within(lambda: left):
        early, over = limit_s(), deadline.is_over()
        left = -1.0
        late, over_now = limit_s(), deadline.is_over()

    assert (early, over) == (90.0, False)
    assert (late, over_now) == (deadline.LEAST_S, True), "each has time to find an answer"
    assert limit_s() == math.inf


@pytest.mark.slow
def test_the_timetable_at_a_deadline_is_what_was_found_without_search(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    day = make_day(grown(8, 3, 2, full=10))
    problem = build_problem(day, enumerate_candidates(day))
    best = solve(problem).levels[0]
    monkeypatch.setattr(deadline, "LEAST_S", 0.0)

    with deadline.within(lambda: 0.0):
        hurried = solve(problem)

    placed = hurried.levels[0]
    assert hurried.chosen
    assert not placed.proven
    assert 0 < placed.value <= best.value <= placed.bound, "its gap holds the best"


@pytest.mark.slow
def test_a_large_day_whose_time_is_over_has_a_checked_plan_with_its_gaps() -> None:
    event = grown(30, 12, 3, full=10)

    with deadline.within(lambda: 0.0):
        plan = make_plan(event)

    placed = next(level for level in plan.levels if level.key == "placed")
    assert plan.placements
    assert placed.value < placed.bound
    assert not check(event, plan)


@pytest.mark.slow
def test_a_deadline_that_is_far_changes_nothing() -> None:
    event = grown(6, 4, 2)

    with deadline.within(lambda: 10_000.0):
        assert make_plan(event) == plan_of(event)
