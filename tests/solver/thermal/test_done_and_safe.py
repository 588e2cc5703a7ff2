"""When a pot counts as done, and as safe: each condition alone, in a pot that keeps its heat."""

from __future__ import annotations

import numpy as np
import pytest

from events.model import Cooker, Dish, Pot
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Ensemble, Forcing, Load
from solver.thermal.safety import LETHALITY_MIN

BOIL_C = 99.0
NOTHING = Forcing(np.zeros((1, 2000)), np.full(2000, 20.0), np.zeros(2000))


def dish(**values: object) -> Dish:
    row = {"portions": 1, "portion_kg": 1.0, "composition": {"water": 1.0}, "done": "core"}
    return Dish.model_validate({"id": "d", "name": "D", "meal": "m"} | row | values)


def pot_of(food: Dish, at_c: float, *, reheat_c: float = 75.0) -> Ensemble:
    """Return a litre in a pot that loses nothing and is given nothing."""
    cooker = Cooker.model_validate(
        {"id": "c", "name": "C", "kind": "parabolic", "aperture_m2": 1.0, "litres": 10}
    )
    state = heat.ensemble(
        cooker,
        Load((food,), (1.0,), (Pot(id="p", name="P", litres=2),), reheat_c=reheat_c),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.zeros(1),
        strength=np.ones(1),
        boil_c=BOIL_C,
    )
    state.pot_loss_w_k[:] = state.vapour_w_k2[:] = 0.0
    return kept_at(state, at_c)


def kept_at(state: Ensemble, at_c: float) -> Ensemble:
    state.pot_c[:] = state.core_c[:] = at_c
    state.lag_c[:] = 0.0
    return state


def passed(state: Ensemble, minutes: int) -> bool:
    """Let minutes go by; return whether the pot is done then."""
    for _ in range(minutes):
        heat.step(state, NOTHING, dt_s=60.0, boil_c=BOIL_C)
    return bool(heat.is_done(state)[0, 0])


def test_hazardous_food_is_done_only_when_it_is_safe() -> None:
    """65 °C takes 13.6 min to be worth two minutes at 70 °C (ACMSF 2007, z 6)."""
    assert LETHALITY_MIN == 2.0
    state = pot_of(dish(core_c=60.0), 65.0)
    assert not passed(state, 13)
    assert passed(state, 1)
    harmless = pot_of(dish(core_c=60.0, hazardous=False), 65.0)
    assert passed(harmless, 1)


def test_safe_food_is_done_only_when_it_is_cooked() -> None:
    state = pot_of(dish(core_c=80.0), 79.0)

    assert not passed(state, 60)
    assert float(state.lethal_min[0, 0]) > 2.0


def test_the_minutes_at_a_middles_heat_are_in_a_row() -> None:
    state = pot_of(dish(core_c=76.0, hold_min=5), 77.0)

    assert not passed(state, 4)
    kept_at(state, 75.0)
    assert not passed(state, 1)
    kept_at(state, 77.0)
    assert not passed(state, 4)
    assert passed(state, 1)


def test_water_boils_within_half_a_degree_of_the_boil() -> None:
    for under, boils in ((0.6, False), (0.4, True)):
        state = pot_of(dish(done="boil", hold_min=10), BOIL_C - under)
        assert not passed(state, 9)
        assert passed(state, 1) == boils
    quick = pot_of(dish(done="boil", hold_min=0), BOIL_C)
    assert passed(quick, 1)


def test_no_middle_is_asked_for_more_than_the_boil() -> None:
    state = pot_of(dish(core_c=99.0), BOIL_C - 0.4)

    assert passed(state, 1)


def test_food_cooked_before_is_done_at_the_reheating_limit() -> None:
    for limit_c in (75.0, 82.0):
        assert not passed(pot_of(dish(done="reheat"), limit_c - 0.1, reheat_c=limit_c), 30)
        assert passed(pot_of(dish(done="reheat"), limit_c + 0.1, reheat_c=limit_c), 1)


def test_a_simmer_counts_the_recipes_minutes_slower_where_it_is_cooler() -> None:
    """Half a recipe's minutes at 33 K under the boil are worth a twentieth of it (z 33)."""
    soup = dish(done="simmer", ordinary_min=30, shape="liquid")
    hot, cool = pot_of(soup, 99.0), pot_of(soup, 66.0)
    passed(hot, 20)
    passed(cool, 20)

    assert float(hot.won_min[0, 0]) == pytest.approx(20 * 10 ** (-1 / 33), rel=0.01)
    assert float(cool.won_min[0, 0]) == pytest.approx(20 * 10 ** (-34 / 33), rel=0.01)
    needed = float(hot.needed_min[0, 0])
    assert needed == pytest.approx(30.0, rel=0.1)
    assert passed(pot_of(soup, 99.0), 35)
    assert not passed(pot_of(soup, 99.0), 25)


@pytest.mark.parametrize(
    ("at_c", "counts"), [(4.9, False), (5.1, True), (30.0, True), (59.9, True), (60.1, False)]
)
def test_the_clock_runs_between_5_and_60_degrees(at_c: float, counts: bool) -> None:
    state = pot_of(dish(core_c=80.0, start_c=10.0, out_min=7), at_c)

    passed(state, 10)

    assert float(state.clock_min[0, 0]) == (17.0 if counts else 7.0)


def test_what_was_never_out_of_the_cold_starts_its_clock_at_nothing() -> None:
    assert float(pot_of(dish(core_c=80.0), 2.0).clock_min[0, 0]) == 0.0
