"""What can be changed: hours of meals within the sun, rings beside rings, dishes left out."""

from __future__ import annotations

import itertools
from datetime import date, time

import pytest

from events.model import Dish, Event
from events.reading.event_file import read_event
from events.reading.write import write_event
from events.table import changed
from solver.feasibility.changes import (
    AddCooker,
    AddRing,
    DoneNearer,
    EatLater,
    KeepOut,
    LeaveOut,
    UseGas,
    apply,
    change_id,
    changed_event,
    changes_for,
    is_tried,
)
from solver.solar.windows import site_window
from tests.conftest import sample_event


def midwinter() -> Event:
    """Return a lunch at 12:30 at 54.8° south on 21 June: the sun is 12° high at noon."""
    event = sample_event("harvest-lunch")
    site = changed(
        event.site,
        latitude_deg=-54.8,
        longitude_deg=-68.3,
        timezone="America/Argentina/Ushuaia",
        skyline=(),
        obstacles=(),
        shade=(),
    )
    meals = tuple(changed(m, start=time(12, 30), end=time(13, 30)) for m in event.meals)
    return changed(event, date=date(2027, 6, 21), site=site, meals=meals)


def test_a_meal_is_moved_until_the_usable_sun_is_over() -> None:
    event = midwinter()
    ends_at = site_window(event).stretches[-1].ends_at.astimezone(event.zone)
    assert time(14, 45) < ends_at.time() < time(15, 0)

    later = [c for c in changes_for(event, event.dishes[0]) if isinstance(c, EatLater)]
    tried = [c for c in later if is_tried(event, c)]

    assert [c.by_min for c in tried] == [15, 30, 60, 150]
    assert tried[-1].start == time(15, 0)
    assert [c.by_min for c in later] == list(range(15, 151, 15))  # what a refusal may ask for
    assert all(apply(event, change_id(event.dishes[0], c)) is not None for c in later)


def test_in_summer_no_meal_is_moved_for_hours() -> None:
    event = sample_event("harvest-lunch")

    later = [c for c in changes_for(event, event.dishes[0]) if isinstance(c, EatLater)]

    assert [c.by_min for c in later if is_tried(event, c)] == [15, 30, 60]


def test_one_more_ring_is_numbered_stands_beside_the_first_and_is_typical() -> None:
    event = sample_event("harvest-lunch")
    rings = [c for c in event.cookers if c.on_gas]
    assert rings

    first = changed_event(event, AddRing()).cookers[-1]
    second = changed_event(changed_event(event, AddRing()), AddRing()).cookers[-1]

    assert (first.name, second.name) == ("Gas ring 2", "Gas ring 3")
    assert first.station == rings[0].station
    assert first.strength_provenance.kind == "typical"
    more = changed_event(event, AddRing())
    assert read_event(write_event(more)) == more


def test_one_more_cooker_has_the_next_number() -> None:
    event = sample_event("harvest-lunch")

    more = changed_event(event, AddCooker(like_cooker_id="mirror-1"))

    assert more.cookers[-1].name == "Mirror 3"  # there are Mirror 1 and 2


@pytest.mark.parametrize("sample", ["harvest-lunch", "school-day", "cook-off"])
def test_a_dish_left_out_leaves_a_sound_event(sample: str) -> None:
    event = sample_event(sample)

    for dish in event.dishes:
        if sum(d.meal == dish.meal for d in event.dishes) > 1:
            less = changed_event(event, LeaveOut(dish_id=dish.id))
            assert read_event(write_event(less)) == less
            assert dish.id not in {d.id for d in less.dishes}


def test_the_last_dish_of_a_meal_is_never_left_out() -> None:
    event = sample_event("harvest-lunch")
    lone = changed(event, dishes=event.dishes[:1], talks=())

    assert not [c for c in changes_for(lone, lone.dishes[0]) if isinstance(c, LeaveOut)]
    assert [c for c in changes_for(event, event.dishes[0]) if isinstance(c, LeaveOut)]


def test_gas_is_offered_for_what_a_ring_can_cook() -> None:
    event = changed(sample_event("school-day"), gas_price_dishes_h=0.1)
    ring = changed_event(event, AddRing())
    loaf, soup = ring.dish("loaf"), next(d for d in ring.dishes if d.suits_gas)

    assert loaf.needs_body_c
    assert not [c for c in changes_for(ring, loaf) if isinstance(c, UseGas | AddRing)]
    assert [c for c in changes_for(ring, soup) if isinstance(c, UseGas)]


def test_a_dish_is_kept_out_of_the_strongest_cookers_first() -> None:
    event = sample_event("harvest-lunch")
    dish = event.dishes[0]

    out = [c for c in changes_for(event, dish) if isinstance(c, KeepOut)]

    assert out
    assert all(set(a.cooker_ids) < set(b.cooker_ids) for a, b in itertools.pairwise(out))
    kept = apply(event, change_id(dish, out[0]))
    assert kept is not None
    assert set(out[0].cooker_ids) <= set(kept.dish(dish.id).not_in)


def test_only_what_is_served_cold_and_can_spoil_is_done_nearer_to_its_meal() -> None:
    event = sample_event("harvest-lunch")
    salad, rice, cake = event.dish("beetroot"), event.dish("rice"), event.dish("apple-cake")
    assert (salad.serve_hot, rice.serve_hot, cake.hazardous) == (False, True, False)

    def nearer(dish: Dish) -> list[DoneNearer]:
        return [c for c in changes_for(event, dish) if isinstance(c, DoneNearer)]

    assert not nearer(rice)
    assert not nearer(cake)
    assert [c.most_min for c in nearer(salad)][:2] == [120, 105]
    assert not [c for c in nearer(salad) if is_tried(event, c)]  # only where it stands too long
    sooner = apply(event, change_id(salad, nearer(salad)[1]))
    assert sooner is not None
    assert (sooner.dish("beetroot").holding_max_min, sooner.dish("beetroot").fresh_min) == (
        105,
        105,
    )
    again = [c.most_min for c in changes_for(sooner, sooner.dish("beetroot")) if c.kind == "nearer"]
    assert again[0] == 90
