"""House rules as figures: what each is worth, worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from events.kitchen import Composition, Dish, Pot
from events.table import changed
from solver.policy import (
    HOLD_SPARE_K,
    PALE_BAND_C,
    SKIES_MOST,
    YOUNG_MOST,
    gas_steps,
    in_time_fraction,
    miss_steps,
    oven_floor_c,
    weight,
)
from solver.risk.monte_carlo import _shown
from solver.simulation.day import make_day
from solver.simulation.holding import standing_c
from tests.solver.checking.hand_laid import EVENT

WATER = Dish(
    id="water",
    name="Water",
    meal="lunch",
    portions=1,
    portion_kg=4.0,
    composition=Composition(water=1.0),
    done="boil",
)


def test_a_step_of_priority_outweighs_the_one_below_twice() -> None:
    assert [weight(p) for p in (1, 2, 5, 9)] == [2, 4, 32, 512]


def test_misses_and_gas_are_counted_in_steps_of_three_of_a_hundred_dishes() -> None:
    assert [miss_steps(m) for m in (0.0, 0.014, 0.016, 0.05, 1.0)] == [0, 0, 1, 2, 33]
    assert gas_steps(60, 0.3) == 10  # an hour must save 0.3 dishes
    assert gas_steps(30, 0.3) == 5


def test_a_loaf_may_go_into_an_oven_that_is_cooler_by_the_pale_band() -> None:
    bread = EVENT.dish("bread")

    assert oven_floor_c(bread) == 150.0 - PALE_BAND_C
    assert oven_floor_c(changed(bread, needs_body_c=None)) is None


def test_a_pot_is_as_surely_in_time_as_it_has_minutes_to_spare() -> None:
    took = np.asarray([60.0, 60.0, 60.0, np.inf, 120.0])
    spare = np.asarray([0.0, 30.0, -30.0, np.nan, 30.0])

    even, early, late, never, slow = in_time_fraction(spare, took)

    assert even == 0.5
    assert early == pytest.approx(1 / (1 + np.exp(-1.7 * 30 / 7.2)))
    assert late == pytest.approx(1 - early)
    assert never == 0.0
    assert 0.5 < slow < early  # what takes longer is less sure


def test_no_chance_is_told_as_certain() -> None:
    assert _shown(np.ones(200, dtype=bool)) == SKIES_MOST == 95
    assert _shown(np.zeros(200, dtype=bool)) == 0


@pytest.mark.parametrize(("clock", "after_c"), [(540, 69.8), (840, 47.1)])
def test_a_standing_pot_cools_by_eight_watts_a_square_metre_and_more_in_wind(
    clock: int, after_c: float
) -> None:
    """Four litres in a pot of five: 0.162 m² of it and 16.8 kJ/K; 1.475 times the loss at 1 m/s.

    An hour at 20 °C: 95 °C falls by exp(-0.41); at 6 m/s and 22 °C by exp(-1.07). Judgement.
    """
    pot = Pot(id="p", name="P", litres=5.0)

    warm = standing_c(make_day(EVENT), WATER, 4.0, pot, from_c=95.0, start=clock, end=clock + 60)

    assert warm == pytest.approx(after_c, abs=0.3)


def test_what_is_planned_to_stay_hot_has_two_degrees_to_spare_and_an_adult_four_young() -> None:
    """Both are judgement: who changes them, changes them here as well, and says why."""
    assert HOLD_SPARE_K == 2.0
    assert YOUNG_MOST == 4
