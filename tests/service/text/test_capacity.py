"""What the cookers take is said by kind: what is baked, and what is boiled beside it."""

from __future__ import annotations

from events.table import changed
from service.text.capacity import takes_line
from solver.feasibility.capacity import Takes
from tests.conftest import sample_event

SOME = Takes(boiled_kg=20.0, boiled_asked_kg=15.0, bakes=3, bakes_asked=2, never_ids=())


def said(**values: object) -> str:
    return takes_line(sample_event("harvest-lunch"), Takes(**(vars(SOME) | values)))


def test_what_is_enough_is_said_without_anything_to_do() -> None:
    assert said() == (
        "By 12:30 on a clear day your ovens bake 3 tinfuls at most; this is 2. "
        "Your cookers boil about 20.0 kg at most beside the baking; this is 15.0 kg."
    )
    assert "beside" not in said(bakes_asked=0)


def test_what_is_too_much_is_said_first_with_what_to_do() -> None:
    us = changed(sample_event("harvest-lunch"), units="us", clock_h=12)

    less = takes_line(us, Takes(**(vars(SOME) | {"boiled_asked_kg": 25.0})))
    assert less.startswith("By 12:30 pm on a clear day your cookers boil about 44.1 lb at most")
    assert "this is 55.1 lb. Make fewer portions" in less
    bakes = said(bakes=1, bakes_asked=4)
    assert bakes.startswith("By 12:30 on a clear day your ovens bake 1 tinful at most, an oven one")
    assert "this is 4. Bake less, bring another oven, or eat later. Your cookers boil" in bakes


def test_what_none_has_ready_is_named() -> None:
    every = tuple(d.id for d in sample_event("harvest-lunch").dishes)

    assert said(never_ids=("rice",)).startswith(
        "By 12:30 on a clear day none of your cookers has Rice ready. Your ovens bake"
    )
    assert said(never_ids=every) == (
        "By 12:30 on a clear day none of your cookers has any of this ready."
    )
    assert "bake" not in said(never_ids=("apple-cake",), bakes=0, bakes_asked=1).split(". ")[0]
