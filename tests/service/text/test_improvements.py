"""What would help is said whole, in the event's own clock."""

from __future__ import annotations

from datetime import time

import pytest

from events.table import changed
from service.text import improvements as text
from solver.feasibility.improvements import (
    AddCooker,
    AddHelper,
    AddRing,
    BeginEarlier,
    EatLater,
    EventChange,
    Improvement,
    MakeLess,
)
from tests.conftest import sample_event

LATER = EatLater(meal_id="taste", by_min=30, start=time(14, 0), end=time(15, 0))


@pytest.mark.parametrize(
    ("change", "says", "says_in_us"),
    [
        (LATER, "Eat Tasting at 14:00", "Eat Tasting at 2:00 pm"),
        (
            BeginEarlier(opens=time(7, 0)),
            "Begin at 07:00, all helpers too",
            "Begin at 7:00 am, all helpers too",
        ),
        (MakeLess(dish_id="loaf", portions=6), "Make 6 portions of Herb loaf", ""),
        (
            AddHelper(like_helper_id="ines"),
            "Find one more helper who may do what Ines may",
            "",
        ),
        (AddCooker(like_cooker_id="oven"), "Bring one more cooker like Oven box", ""),
        (AddRing(), "Bring a gas ring", ""),
    ],
    ids=lambda v: getattr(v, "kind", None),
)
def test_a_change_is_said_as_something_to_do(
    change: EventChange, says: str, says_in_us: str
) -> None:
    event = sample_event("school-day")
    us = changed(event, units="us", clock_h=12)

    assert text.change(event, change) == says
    assert text.change(us, change) == (says_in_us or says)


@pytest.mark.parametrize(
    ("newly_placed", "was", "now", "says"),
    [
        (False, 65, 75, "Herb loaf: 65 to 75 of 100 skies"),
        (True, None, 75, "Herb loaf is placed, 75 of 100 skies"),
        (True, None, None, "Herb loaf is placed"),
    ],
)
def test_an_effect_says_what_the_dish_gains(
    newly_placed: bool, was: int | None, now: int | None, says: str
) -> None:
    gain = Improvement(
        id="loaf-later-30",
        dish_id="loaf",
        change=LATER,
        newly_placed=newly_placed,
        was_of_100=was,
        of_100=now,
        placed=3,
    )

    assert text.effect(sample_event("school-day"), gain) == says
