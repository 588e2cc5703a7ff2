"""Why another plan is suggested, named by what it is about."""

from __future__ import annotations

import pytest

from service.text.suggestions import cause
from solver.live.watch import DayLook
from tests.conftest import sample_event, sample_plan


@pytest.mark.parametrize(
    ("broken", "says"),
    [
        (("mirror-2",), "Mirror 2 is out of action. The plan still counts on it."),
        (
            ("mirror-1", "box-2"),
            "Mirror 1 and Box 2 are out of action. The plan still counts on them.",
        ),
    ],
)
def test_a_broken_cooker_is_named(broken: tuple[str, ...], says: str) -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    look = DayLook(
        at=plan.placements[0].loaded_at, meals=(), causes=("cooker",), plan=None, broken_ids=broken
    )

    assert cause(event, plan, look) == says
