"""Rules of the trade that the product's own model must agree with.

Common practice, no published source (or only in charts that cooks hand round, from memory): how
hot boxes get empty, what panels do to a pot, that nothing here bakes a pizza, that cooking takes
about twice a stove's time, and how long common dishes take.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from events.reading.catalogue import entries
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from solver.planning.pipeline import make_plan
from solver.policy import oven_floor_c
from solver.thermal.measurement import water
from solver.thermal.pots import pot_heat_j_k, pot_side_m2
from tests.published.runs import (
    cooker_like,
    dish_like,
    empty_c,
    heated,
    line,
    minutes_to,
    minutes_to_done,
    of_kind,
    steel_pot,
)


def test_about_half_of_a_mirrors_light_gets_into_a_cold_pot() -> None:
    for name in of_kind("parabolic"):
        mirror = cooker_like(name)
        pot, litres, sun = steel_pot(6.5), 5.0, 900.0

        track = heated(mirror, litres, sun=sun, from_c=25.0, pot=pot.litres, minutes=5)

        into_w = (track[-1] - track[0]) * pot_heat_j_k(water(litres, 25.0), litres, pot) / 300
        assert into_w / (0.85 * sun * (mirror.aperture_m2 or 0.0)) == pytest.approx(0.5, abs=0.1)


@pytest.mark.parametrize(
    ("name", "low_c", "high_c"),
    [
        ("box-plain", 110, 124),  # SEEN: plate 124 °C at the most without mirrors; 115 to 135
        ("box-better", 133, 150),  # a better one 140; SEEN: 144 °C with mirrors
        ("box-large", 133, 150),
        ("box-hot", 140, 180),  # SEEN: 154 °C with four mirrors, 180 °C the record
        ("box-show", 70, 110),
    ],
)
def test_an_empty_box_gets_as_hot_as_boxes_do(name: str, low_c: float, high_c: float) -> None:
    assert low_c <= empty_c(cooker_like(name)) <= high_c


def test_nothing_on_the_sun_without_a_focus_gets_as_hot_as_a_pizza_needs() -> None:
    pizza = dish_like("pizza")
    floor_c = oven_floor_c(pizza) or 0.0

    hottest = [
        empty_c(cooker_like(name), sun=1000.0, pot=pot)
        for name in (*of_kind("box"), *of_kind("panel"))
        for pot in (1.0, 4.0, 12.0)
    ]

    assert max(hottest) < floor_c


def test_a_panel_heats_a_pot_several_times_as_fast_as_the_bare_sun_and_a_large_one_less() -> None:
    times = []
    for litres in (2.0, 4.0, 8.0):
        track = heated(
            cooker_like("panel-folded"), litres / 1.3, sun=850.0, from_c=25.0, pot=litres, minutes=5
        )
        heat_j_k = pot_heat_j_k(water(litres / 1.3, 25.0), litres / 1.3, steel_pot(litres))
        into_w = (track[-1] - track[0]) * heat_j_k / 300
        times.append(into_w / (0.9 * 850 * pot_side_m2(litres)))

    # About eight images is what a good folded one shows; bag and foil keep some of the light.
    assert all(3.5 <= n <= 8 for n in times)
    assert times == sorted(times, reverse=True)


def test_an_oven_within_a_band_under_the_recipes_still_bakes_later_and_paler() -> None:
    for name, entry in entries("dish").items():
        dish = dish_like(name)
        floor_c = oven_floor_c(dish)
        if "needs_body_c" not in entry:
            assert floor_c is None
            continue
        assert floor_c is not None
        assert floor_c == (dish.needs_body_c or 0.0) - 40.0
    loaf, tin, box = dish_like("herb-loaf"), steel_pot(2.5, colour="dark"), cooker_like("box-hot")
    slow, usual = (
        minutes_to_done(box, loaf, 0.8, tin, oven_c=c)
        for c in (oven_floor_c(loaf), loaf.needs_body_c)
    )
    assert usual < slow < 1.5 * usual


def test_a_pot_in_a_mirror_takes_about_twice_a_stoves_time() -> None:
    # 1.4 m mirror, 4 litres of lentil soup: a kitchen ring brings it to the boil in about
    # 15 minutes (1.5 kW into the pot) and the recipe simmers 30: 45 minutes.
    event = read_event(sample_text("school-day"))

    soup = next(p for p in make_plan(event).placements if p.dish_id == "soup")

    minutes = (soup.done_at - soup.loaded_at).total_seconds() / 60
    assert 1.4 <= minutes / 45 <= 2.6


@dataclass(frozen=True)
class Row:
    """A common dish in a common cooker, and how many hours it takes cooks in good sun."""

    cooker: str
    dish: str
    kg: float
    pot_litres: float
    hours: float
    oven_c: float | None = None


# Charts for boxes give, for about 2 kg: 1 to 2 h eggs, rice, fruit, fish, pieces of chicken; 3 to
# 4 h roots, lentils, pre-boiled beans, bread; 1.5 to 2 h a cake (from memory). Mirrors: 5 L as
# printed by Samiji & Mlyuka (SEEN), 10 L in proportion, rice by Mohammed 2013 (SEEN), soup at
# twice a stove's time. Panels: 2 to 3 h (from memory).
ROWS = (
    Row("box-better", "hard-eggs", 1.0, 2.0, 2.0),
    Row("box-better", "rice", 1.5, 3.0, 2.0),
    Row("box-better", "potatoes", 2.0, 3.0, 3.5),
    Row("box-better", "beetroot", 2.0, 3.0, 3.5),
    Row("box-better", "chicken-stew", 2.0, 3.0, 2.5),
    Row("box-better", "bean-stew", 2.0, 3.0, 3.5),
    Row("box-better", "lentil-soup", 2.0, 3.0, 3.5),
    Row("box-better", "baked-apples", 1.5, 3.0, 2.0),
    Row("box-hot", "herb-loaf", 0.8, 2.5, 3.0, oven_c=140.0),
    Row("box-hot", "apple-cake", 0.8, 2.5, 1.75, oven_c=140.0),
    Row("mirror-140cm", "kettle", 5.0, 6.5, 1.0),
    Row("mirror-140cm", "kettle", 10.0, 12.0, 1.6),
    Row("mirror-180cm", "rice", 8.7, 12.0, 95 / 60),
    Row("mirror-140cm", "lentil-soup", 4.0, 5.0, 1.5),
    Row("panel-folded", "rice", 1.0, 2.0, 2.5),
    Row("panel-folded", "kettle", 1.0, 1.5, 2.5),
    Row("panel-folded", "hard-eggs", 0.6, 1.5, 2.0),
)
# Outside, and why (balances in the two tests below): ten litres in 1.6 h would need 608 W into the
# water on the mean, and a mirror of half its light has 556 W to give, 260 W of it left at the boil;
# a panel's eggs are few here, 0.6 kg, which 47 W on the mean have at 83 °C, done at 75 in the
# middle, after 1.1 h; 1.5 kg take the two hours that cooks mean.
OUTSIDE = {("mirror-140cm", "kettle", 10.0), ("panel-folded", "hard-eggs", 0.6)}


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r.dish} in {r.cooker}, {r.kg} kg")
def test_a_common_dish_takes_about_as_long_as_it_takes_cooks(row: Row) -> None:
    hours = (
        minutes_to_done(
            cooker_like(row.cooker),
            dish_like(row.dish),
            row.kg,
            steel_pot(row.pot_litres),
            oven_c=row.oven_c,
        )
        / 60
    )

    band = 0.55 if (row.cooker, row.dish, row.kg) in OUTSIDE else 0.4
    assert hours == pytest.approx(row.hours, rel=band)


def test_ten_litres_take_as_long_as_printed_steps_go_on_to_but_not_as_the_row_has_it() -> None:
    """Samiji & Mlyuka (SEEN): 2 L in 30 min and 5 L in 60, to 95 °C, so ten more for each litre.

    Ten litres then take 110 minutes in their 1.44 m². The row's 96 minutes are a mirror that
    catches more than this one: 0.61 of its light, as a maker says of its own, comes near.
    """
    printed_min = 30 + 10.0 * (10 - 2)
    theirs = cooker_like("mirror-140cm", aperture_m2=1.44)
    track = heated(theirs, 10.0, sun=950.0, from_c=25.0, pot=12.0)
    assert minutes_to(track, 95.0) == pytest.approx(printed_min, rel=0.1)

    ours, kettle, pot = cooker_like("mirror-140cm"), dish_like("kettle"), steel_pot(12.0)
    caught_w = 0.85 * 850 * (ours.aperture_m2 or 0.0) * ours.optical_efficiency
    heat_j_k = pot_heat_j_k(kettle, 10.0, pot)
    wanted_w = heat_j_k * (99.5 - kettle.start_c) / (1.6 * 3600)
    assert caught_w == pytest.approx(556, abs=1)
    assert wanted_w == pytest.approx(608, abs=5)
    assert wanted_w > caught_w
    makers = cooker_like("mirror-140cm", optical_efficiency=0.61)
    assert minutes_to_done(makers, kettle, 10.0, pot) / 60 == pytest.approx(1.6, rel=0.15)


def test_a_panels_few_eggs_are_done_early_because_they_are_few() -> None:
    """They and their water want 2.54 kJ/K x 71 K; two hours of that would be 25 W on the mean.

    A panel of this size gives 20 to 60 W at 50 K over the air (printed standard tests).
    """
    eggs, panel = dish_like("hard-eggs"), cooker_like("panel-folded")
    few_j = pot_heat_j_k(eggs, 0.6, steel_pot(1.5)) * (83.0 - eggs.start_c)

    assert few_j / (2.0 * 3600) == pytest.approx(25, abs=1)
    assert 20 <= line(panel)[0] <= 60
    usual_h = minutes_to_done(panel, eggs, 1.5, steel_pot(2.0)) / 60
    assert usual_h == pytest.approx(2.0, rel=0.2)


def test_at_least_fourteen_of_seventeen_rows_are_held_to_the_narrow_band() -> None:
    assert len(ROWS) == 17
    assert len(ROWS) - len(OUTSIDE) >= 14
