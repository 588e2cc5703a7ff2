"""What cookers take is never less than a plan finds a place for, and grows with cookers."""

from __future__ import annotations

from datetime import time

import pytest

from events.table import changed
from service.text.verdict import problem_words
from solver.feasibility.capacity import Takes, takes
from solver.feasibility.problems import problems
from tests.conftest import plan_of, sample_event


@pytest.mark.parametrize("sample", ["harvest-lunch", "winter-refusal", "school-day", "twelve-pots"])
def test_no_plan_places_more_than_the_cookers_take(sample: str) -> None:
    event = sample_event(sample)
    baked = {d.id for d in event.dishes if d.needs_body_c is not None}

    placed, most = plan_of(event).placements, takes(event)

    assert sum(p.mass_kg for p in placed if p.dish_id not in baked) <= most.boiled_kg
    assert sum(p.dish_id in baked for p in placed) <= most.bakes
    assert not {p.dish_id for p in placed} & set(most.never_ids)


def test_what_is_too_much_is_more_than_they_take() -> None:
    event = sample_event("harvest-lunch")
    crowd = tuple(changed(d, portions=10 * d.portions) for d in event.dishes)

    most = takes(changed(event, dishes=crowd))

    assert most.boiled_kg < most.boiled_asked_kg
    assert most.boiled_asked_kg == pytest.approx(10 * takes(event).boiled_asked_kg)
    assert most.bakes < most.bakes_asked


def test_it_grows_with_cookers_and_an_early_meal_leaves_no_time() -> None:
    event = sample_event("harvest-lunch")
    mirror, box = event.cooker("mirror-1"), event.cooker("box-1")
    third = changed(event, cookers=(*event.cookers, changed(mirror, id="third", name="Mirror 3")))
    oven = changed(event, cookers=(*event.cookers, changed(box, id="third", name="Box 3")))
    early = tuple(changed(m, start=time(8, 5), end=time(9, 0)) for m in event.meals)
    suns = tuple(c for c in event.cookers if c.on_sun)

    assert takes(third).boiled_kg > takes(event).boiled_kg
    assert takes(third).bakes == takes(event).bakes  # a mirror bakes nothing
    assert takes(oven).bakes > takes(event).bakes
    assert takes(changed(event, meals=early, cookers=suns)) == Takes(
        boiled_kg=0.0,
        boiled_asked_kg=takes(event).boiled_asked_kg,
        bakes=0,
        bakes_asked=takes(event).bakes_asked,
        never_ids=tuple(d.id for d in event.dishes),
    )


def test_four_cakes_are_more_than_one_oven_bakes_however_small_they_are() -> None:
    """An oven bakes one thing after another: by weight they would all fit."""
    event = sample_event("harvest-lunch")
    cake = event.dish("apple-cake")
    cakes = tuple(
        changed(cake, id=f"cake-{n}", name=f"Cake {n}", portions=2, meal="lunch") for n in range(4)
    )
    small = changed(event, dishes=cakes, cookers=(event.cooker("box-1"),), talks=())

    most, plan = takes(small), plan_of(small)

    assert (most.bakes_asked, most.boiled_asked_kg) == (4, 0)
    assert len(plan.placements) <= most.bakes < 4
    (too_many,) = [p for p in problems(small, plan) if p.kind == "too-many-bakes"]
    assert set(too_many.dish_ids) == {u.dish_id for u in plan.unplaced}
    assert "another" in problem_words(small, too_many).why
    assert any(f.change.kind == "cooker" for f in too_many.fixes)
    assert not [f for f in too_many.fixes if f.change.kind == "less-of-all"]
