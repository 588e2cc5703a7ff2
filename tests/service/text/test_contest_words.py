"""How a contest's results are said."""

from __future__ import annotations

from datetime import timedelta

import pytest

from events.site import Weather
from events.table import changed
from service.text.contest import day_line, place_words
from service.text.formatting import clock
from tests.conftest import sample_event, sample_plan


@pytest.mark.parametrize(
    ("place", "shared", "said"),
    [
        (1, False, "1st place"),
        (2, True, "2nd place, shared"),
        (3, False, "3rd place"),
        (11, False, "11th place"),
        (21, False, "21st place"),
        (112, False, "112th place"),
    ],
)
def test_a_place_is_said_as_people_say_it(place: int, shared: bool, said: str) -> None:
    assert place_words(place, shared=shared) == said


def test_a_contest_is_said_on_one_line() -> None:
    event, plan = sample_event("twelve-pots"), sample_plan("twelve-pots").contest
    assert plan is not None
    last = max(t.at + timedelta(minutes=t.minutes) for t in plan.tastings)

    said = day_line(event, plan)
    undrawn = day_line(event, changed(plan, draw=None, tastings=()))
    blind = day_line(changed(event, weather=Weather()), plan)

    assert clock(event, plan.tastings[0].at) + "–" + clock(event, last) in said
    assert undrawn == f"{len(event.entries)} entries. Places are not drawn yet."
    assert "of 100" in said
    assert "of 100" not in blind  # without a forecast nobody can say
