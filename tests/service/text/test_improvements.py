"""What would help is said whole, in the event's own clock."""

from __future__ import annotations

from datetime import time

import pytest

from events.table import changed
from service.text import improvements as text
from solver.feasibility.changes import (
    AddCooker,
    AddHelper,
    AddRing,
    BeginEarlier,
    DoneNearer,
    EatLater,
    EventChange,
    KeepOut,
    LeaveOut,
    MakeLess,
)
from solver.feasibility.improvements import Improvement
from solver.feasibility.outcomes import Fall
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
        (LeaveOut(dish_id="loaf"), "Leave out Herb loaf", ""),
        (
            KeepOut(dish_id="loaf", cooker_ids=("oven",)),
            "Keep Herb loaf out of Oven box",
            "",
        ),
        (
            DoneNearer(dish_id="loaf", most_min=90),
            "Have Herb loaf ready at most 90 min before it is eaten",
            "",
        ),
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


def test_what_makes_a_meal_less_sure_says_so() -> None:
    gain = Improvement(
        id="loaf-later-30",
        dish_id="loaf",
        change=LATER,
        newly_placed=True,
        was_of_100=None,
        of_100=75,
        placed=3,
        fall=Fall(meal_id="taste", was_of_100=70, of_100=65),
    )

    assert text.effect(sample_event("school-day"), gain) == (
        "Herb loaf is placed, 75 of 100 skies; but tasting is less sure: 65 of 100, now 70"
    )


def test_a_dish_left_out_and_one_off_the_gas_say_what_is_won() -> None:
    fields = {
        "id": "x",
        "dish_id": "loaf",
        "newly_placed": False,
        "was_of_100": 45,
        "of_100": 65,
        "placed": 2,
    }
    out = Improvement(change=LeaveOut(dish_id="loaf"), **fields)
    sun = Improvement(change=LATER, off_gas=True, **fields)

    event = sample_event("school-day")
    assert text.effect(event, out) == "All others: 65 of 100 skies, now 45"
    assert text.effect(event, sun) == "Herb loaf is cooked by the sun, not on gas"
