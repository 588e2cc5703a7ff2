"""Changes that are made at once contradict each other in nothing."""

from __future__ import annotations

from datetime import time

from service.application.fixes import _compatible
from solver.feasibility.changes import (
    AddRing,
    EatLater,
    EatSooner,
    EventChange,
    LeaveOut,
    MakeLess,
)
from solver.feasibility.remedies import Fix


def later(meal: str, by_min: int) -> EatLater:
    return EatLater(meal_id=meal, by_min=by_min, start=time(13), end=time(14))


def made(*changes: EventChange) -> list[EventChange]:
    return [
        f.change for f in _compatible([Fix(id=str(n), change=c) for n, c in enumerate(changes)])
    ]


def test_one_meal_is_moved_once_by_the_most_that_was_asked() -> None:
    sooner = EatSooner(meal_id="lunch", by_min=30, start=time(12), end=time(13))

    assert made(later("lunch", 15), later("lunch", 30)) == [later("lunch", 30)]
    assert made(later("lunch", 15), sooner) == [sooner]
    assert made(later("lunch", 15), later("tea", 15)) == [later("lunch", 15), later("tea", 15)]


def test_of_one_dish_the_fewest_portions_are_made() -> None:
    few, fewer = MakeLess(dish_id="rice", portions=15), MakeLess(dish_id="rice", portions=10)

    assert made(few, fewer, MakeLess(dish_id="tea", portions=15))[0] == fewer
    assert made(AddRing(), AddRing(), few) == [AddRing(), few]


def test_no_dish_is_left_out_among_several_changes() -> None:
    assert made(AddRing(), LeaveOut(dish_id="rice")) == [AddRing()]
