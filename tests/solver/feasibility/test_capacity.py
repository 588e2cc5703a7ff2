"""What cookers take is never less than a plan finds a place for, and grows with cookers."""

from __future__ import annotations

from datetime import time

import pytest

from events.table import changed
from solver.feasibility.capacity import takes_kg
from tests.conftest import plan_of, sample_event


@pytest.mark.parametrize("sample", ["harvest-lunch", "winter-refusal", "school-day", "twelve-pots"])
def test_no_plan_places_more_than_the_cookers_take(sample: str) -> None:
    event = sample_event(sample)

    placed_kg = sum(p.mass_kg for p in plan_of(event).placements)

    assert placed_kg <= takes_kg(event)


def test_what_is_too_much_is_more_than_they_take() -> None:
    event = sample_event("harvest-lunch")
    crowd = tuple(changed(d, portions=10 * d.portions) for d in event.dishes)

    assert takes_kg(event) < sum(d.mass_kg for d in crowd)
    assert takes_kg(changed(event, dishes=crowd)) == pytest.approx(takes_kg(event))  # same mix


def test_it_grows_with_cookers_and_an_early_meal_leaves_no_time() -> None:
    event = sample_event("harvest-lunch")
    mirror = event.cooker("mirror-1")
    more = changed(event, cookers=(*event.cookers, changed(mirror, id="third", name="Mirror 3")))
    early = tuple(changed(m, start=time(8, 5), end=time(9, 0)) for m in event.meals)
    suns = tuple(c for c in event.cookers if c.on_sun)

    assert takes_kg(more) > takes_kg(event)
    assert takes_kg(changed(event, meals=early, cookers=suns)) == 0.0
