"""What may go into which pot and cooker, with what beside it, and when hands are at it."""

from __future__ import annotations

from dataclasses import replace
from datetime import time

import pytest

from events.model import Cooker, Dish, Pot
from events.table import changed
from solver.scheduling.batches import (
    Batch,
    load_minutes,
    may_cook,
    may_share,
    pots_for,
    probe_minute,
    serve_minute,
    smallest_pot,
    split,
    stir_minutes,
    unwanted,
    usable_members,
)
from tests.solver.scheduling.test_formulation import replanned
from tests.solver.scheduling.test_timed_load import EVENT, NOON, batch, day, stew

MIRROR, BOX, OVEN, RING, HAY = (EVENT.cooker(c) for c in ("mirror", "box", "oven", "ring", "hay"))
POT = EVENT.pot("small")  # four litres
STOCK = changed(
    EVENT,
    pots=(
        changed(POT, id="large", litres=8.0),
        changed(POT, id="four"),
        changed(POT, id="ring-only", litres=3.0, fits=("burner",)),
        changed(POT, id="tin", litres=3.0, holds=("baked",)),
    ),
)


@pytest.mark.parametrize(
    ("cooker", "litres", "shape", "pots"),
    [
        (BOX, 3.0, "liquid", ["four", "large"]),
        (BOX, 4.0, "liquid", ["four", "large"]),
        (BOX, 4.1, "liquid", ["large"]),
        (BOX, 8.1, "liquid", []),
        (changed(BOX, litres=4.0), 4.1, "liquid", []),
        (RING, 3.0, "pieces", ["ring-only", "four", "large"]),
        (BOX, 3.0, "baked", ["tin"]),
    ],
)
def test_a_pot_fits_its_cooker_suits_the_food_and_holds_all_of_it(
    cooker: Cooker, litres: float, shape: str, pots: list[str]
) -> None:
    dish = stew(shape=shape)

    assert [p.id for p in pots_for(STOCK, cooker, dish, litres)] == pots


@pytest.mark.parametrize(
    ("litres", "shape", "pot"),
    [
        (3.0, "liquid", "ring-only"),
        (3.1, "liquid", "four"),
        (3.0, "baked", "tin"),
        (9.0, "slab", None),
    ],
)
def test_the_smallest_pot_for_a_batch_suits_its_food(
    litres: float, shape: str, pot: str | None
) -> None:
    smallest = smallest_pot(STOCK, replace(batch(stew(shape=shape)), litres=litres))

    assert (smallest.id if smallest else None) == pot


@pytest.mark.parametrize(
    ("cooker", "dish", "why"),
    [
        (BOX, {}, None),
        (HAY, {"kinds": ("insulated",)}, "makes-no-heat"),
        (MIRROR, {"needs_body_c": 150.0}, "no-oven"),
        (OVEN, {"needs_body_c": 150.0}, None),
        (RING, {"kinds": ("box", "parabolic")}, "not-for-this-dish"),
        (BOX, {"stir_every_min": 20}, "kept-shut"),
        (MIRROR, {"stir_every_min": 20}, None),
    ],
)
def test_a_kind_of_cooker_is_right_for_a_dish_or_says_why_not(
    cooker: Cooker, dish: dict[str, object], why: str | None
) -> None:
    refusal = may_cook(cooker, stew(**dish))

    assert (refusal.kind if refusal else None) == why


@pytest.mark.parametrize(
    ("dish", "why"),
    [
        ({"not_in": ("box", "oven")}, "kept-out"),
        ({"not_in": ("oven",)}, None),
        ({"only_in": ("box",)}, None),
        ({"only_in": ("oven", "ring")}, "held-elsewhere"),
    ],
)
def test_the_organisers_wish_holds(dish: dict[str, object], why: str | None) -> None:
    refusal = unwanted(day(), BOX, stew(**dish))

    assert (refusal.kind if refusal else None) == why


def test_a_dish_is_kept_out_of_a_pool_only_where_it_is_of_all_of_its_cookers() -> None:
    twins = changed(EVENT, cookers=(BOX, changed(BOX, id="twin")), dishes=(), talks=())

    assert day(twins).pools["box"] == ("box", "twin")
    assert unwanted(day(twins), BOX, stew(not_in=("box",))) is None
    assert unwanted(day(twins), BOX, stew(not_in=("box", "twin"))) is not None
    assert unwanted(day(twins), BOX, stew(only_in=("twin",))) is None
    assert unwanted(day(twins), BOX, stew(only_in=("ring",))) is not None


def test_of_a_pool_those_are_used_that_are_not_out_of_action() -> None:
    twins = changed(EVENT, cookers=(BOX, changed(BOX, id="twin")), dishes=(), talks=())

    assert usable_members(day(twins), "box") == ("box", "twin")
    broken = replanned(twins, NOON, unavailable=frozenset({"box"}))
    assert usable_members(broken, "box") == ("twin",)
    assert usable_members(broken, "oven") == ("oven",)


def test_waves_are_served_on_the_timetables_grain_and_never_later_than_they_begin() -> None:
    """Seven waves of an hour: the second begins after eight minutes and a half."""
    assert [serve_minute(NOON, NOON + 60, 7, wave) - NOON for wave in range(7)] == [
        *(0, 5, 15, 25, 30, 40, 50)
    ]


ONE_POT = changed(POT, count=1)


@pytest.mark.parametrize(
    ("dishes", "litres", "meal", "pots", "may"),
    [
        ((stew(), stew()), (5.0, 5.0), (NOON, NOON), (POT, POT), True),
        ((stew(), stew()), (5.0, 5.1), (NOON, NOON), (POT, POT), False),  # a box of ten litres
        ((stew(), stew()), (3.0, 3.0), (NOON, NOON + 30), (POT, POT), False),
        ((stew(), stew(needs_body_c=150.0)), (3.0, 3.0), (NOON, NOON), (POT, POT), False),
        ((stew(), stew(raw_meat=True)), (3.0, 3.0), (NOON, NOON), (POT, POT), False),
        ((stew(raw_meat=True),) * 2, (3.0, 3.0), (NOON, NOON), (POT, POT), True),
        ((stew(), stew()), (3.0, 3.0), (NOON, NOON), (ONE_POT, ONE_POT), False),
        ((stew(), stew()), (3.0, 3.0), (NOON, NOON), (ONE_POT, EVENT.pot("pot")), True),
    ],
)
def test_a_box_is_shared_by_one_meal_where_there_is_room_and_never_with_raw_meat_beside(
    dishes: tuple[Dish, ...],
    litres: tuple[float, ...],
    meal: tuple[int, ...],
    pots: tuple[Pot, ...],
    may: bool,
) -> None:
    batches = tuple(
        replace(batch(d), litres=n, serve_minute=at)
        for d, n, at in zip(dishes, litres, meal, strict=True)
    )

    assert may_share(BOX, batches, pots) == may
    later = (replace(batches[0], serve_end=batches[0].serve_end + 30), *batches[1:])
    assert not may_share(BOX, later, pots)  # one is served out of it for longer


def test_loading_takes_the_minutes_of_all_and_half_an_hour_at_most() -> None:
    def loads(*minutes: int) -> int:
        return load_minutes(tuple(batch(stew(load_min=m)) for m in minutes))

    assert (loads(4), loads(4, 8), loads(20, 20)) == (5, 15, 30)


def test_a_load_is_stirred_as_often_as_asked_until_done_once_it_is_loaded() -> None:
    def stirs(*every: int, load_min: int = 5, done: int = 60) -> list[int]:
        batches = tuple(batch(stew(stir_every_min=e, load_min=load_min)) for e in every)
        return stir_minutes(batches, 0, done)

    assert stirs(0) == []
    assert stirs(20) == [20, 40]
    assert stirs(20, done=61) == [20, 40, 60]
    assert stirs(0, 30, 20) == [20, 40]  # by the one that needs it most
    assert stirs(17) == [15, 30, 45]
    assert stirs(3, done=20) == [5, 10, 15]
    assert stirs(10, load_min=25) == [30, 40, 50]


def test_what_bakes_is_looked_at_when_it_may_be_done_if_it_stays_ten_minutes_longer() -> None:
    loaf, rice = (batch(changed(stew(), shape=shape)) for shape in ("baked", "pieces"))

    assert probe_minute((rice, loaf), 600, 610) == 600
    assert probe_minute((loaf,), 600, 605) is None
    assert probe_minute((rice,), 600, 700) is None


@pytest.mark.parametrize(
    ("number", "waves", "served"),
    [
        (1, 3, [("12:00", "13:00")]),
        (3, 3, [("12:00", "12:20"), ("12:20", "12:40"), ("12:40", "13:00")]),
        (2, 3, [("12:00", "12:20"), ("12:20", "13:00")]),
        (2, 1, [("12:00", "13:00"), ("12:00", "13:00")]),
        (4, 2, [("12:00", "12:30"), ("12:00", "12:30"), ("12:30", "13:00"), ("12:30", "13:00")]),
    ],
)
def test_batches_are_served_in_their_waves_and_all_of_the_dish_is_in_them(
    number: int, waves: int, served: list[tuple[str, str]]
) -> None:
    meals = tuple(changed(m, waves=waves) for m in EVENT.meals)
    dish = changed(EVENT.dish("rice"), portions=17, litres_per_kg=2.0)

    batches = split(day(changed(EVENT, meals=meals)), dish, number)

    assert [(_clock(b.serve_minute), _clock(b.serve_end)) for b in batches] == served
    assert sum(b.portions for b in batches) == 17
    assert max(b.portions for b in batches) - min(b.portions for b in batches) <= 1
    assert {b.mass_kg for b in batches} == {dish.mass_kg / number}
    assert {b.litres for b in batches} == {2 * dish.mass_kg / number}


def _clock(minute: int) -> str:
    return f"{time(*divmod(minute, 60)):%H:%M}"


def test_batches_of_another_split_have_other_names() -> None:
    dish = EVENT.dish("rice")
    names: list[tuple[Batch, ...]] = [split(day(), dish, 2), split(day(), dish, 2, other=True)]

    assert [[b.id for b in of] for of in names] == [
        ["rice-1", "rice-2"],
        ["rice-1of2", "rice-2of2"],
    ]
