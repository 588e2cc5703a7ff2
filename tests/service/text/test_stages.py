"""The steps of a plan: those before the one under way are done, those after it still to come."""

from __future__ import annotations

from typing import get_args

import pytest

from service.text.stages import steps
from solver.planning.pipeline import make_plan
from solver.stages import Stage, reporting
from tests.conftest import sample_event


@pytest.mark.parametrize(
    ("stage", "states"),
    [
        (None, ["later"] * 4),
        ("day", ["now", "later", "later", "later"]),
        ("timetable", ["done", "done", "now", "later"]),
        ("chances", ["done", "done", "done", "now"]),
    ],
)
def test_each_step_is_done_under_way_or_to_come(stage: Stage | None, states: list[str]) -> None:
    assert [step.state for step in steps(stage)] == states


def test_a_plan_reports_its_stages_in_the_order_in_which_they_are_said() -> None:
    reported: list[str] = []

    with reporting(reported.append):
        make_plan(sample_event("winter-refusal"))

    assert reported == list(get_args(Stage))
    assert len(steps(None)) == len(reported)
