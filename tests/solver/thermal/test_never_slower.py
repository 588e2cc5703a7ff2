"""What must never make a dish later, for random cookers, dishes and pots of the catalogue."""

from __future__ import annotations

import numpy as np
import pytest

from events.errors import WHOLE_FILE
from events.model import Cooker, Dish, Pot
from events.reading.catalogue import entries, resolve
from events.reading.recipes import from_ingredients
from events.table import changed
from solver.thermal import energy_balance as heat
from solver.thermal.energy_balance import Forcing, Load
from solver.thermal.measurement import clear_light_w

BOIL_C, LATEST_MIN = 99.97, 900
COOKERS = [k for k, c in entries("cooker").items() if c["kind"] in ("parabolic", "box", "panel")]
Case = tuple[Cooker, Dish, Pot, float]


def cooker_like(name: str) -> Cooker:
    return Cooker.model_validate(resolve("cooker", {"id": "c", "like": name}))


def dish_like(name: str, **own: object) -> Dish:
    table = {"id": "d", "like": name, "meal": "m", "portions": 4, **own}
    return Dish.model_validate(from_ingredients(resolve("dish", table), WHOLE_FILE, []))


def minutes(case: Case, *, sun_w_m2: float = 850.0, wind_m_s: float = 1.0) -> float:
    """Return the minutes to done in a steady sun; the latest where it never is."""
    cooker, dish, pot, kg = case
    light = clear_light_w(cooker, np.full((1, 1), sun_w_m2))
    forcing = Forcing(light, np.full(1, 22.0), np.full(1, wind_m_s))
    state = heat.ensemble(
        cooker,
        Load((dish,), (kg,), (pot,)),
        minutes=np.zeros(1),
        row=np.zeros(1, dtype=np.int64),
        body_c=np.full(1, 140.0 if dish.needs_body_c else 22.0),
        strength=np.ones(1),
        boil_c=BOIL_C,
    )
    while not heat.is_done(state)[0, 0] and state.minute[0] < LATEST_MIN:
        heat.step(state, forcing, dt_s=60.0, boil_c=BOIL_C)
    return float(state.minute[0])


def drawn(seed: int) -> tuple[np.random.Generator, Case]:
    """Return a dish in a cooker that gets it done, with food for its pot."""
    luck = np.random.default_rng(seed)
    while True:
        cooker = cooker_like(str(luck.choice(COOKERS)))
        dish = dish_like(str(luck.choice(list(entries("dish")))))
        litres = float(luck.uniform(2, 8))
        case = (cooker, dish, Pot(id="p", name="P", litres=litres, mass_kg=litres / 4), litres / 2)
        if cooker.kind in dish.kinds and minutes(case) < LATEST_MIN:
            return luck, case


SEEDS = range(30)


@pytest.mark.parametrize("seed", SEEDS)
def test_more_sun_less_wind_less_food_and_better_walls_are_never_later(seed: int) -> None:
    _, (cooker, dish, pot, kg) = drawn(seed)
    case, usual = (cooker, dish, pot, kg), minutes((cooker, dish, pot, kg))
    walls = changed(
        cooker,
        pot_loss_w_m2_k=0.7 * cooker.pot_loss_w_m2_k,
        loss_w_k=cooker.loss_w_k and 0.7 * cooker.loss_w_k,
    )

    assert minutes(case, sun_w_m2=1000.0) <= usual
    assert minutes(case, wind_m_s=0.0) <= usual
    assert minutes((cooker, dish, pot, 0.7 * kg)) <= usual
    assert minutes((walls, dish, pot, kg)) <= usual
    assert minutes((changed(cooker, optical_efficiency=0.9), dish, pot, kg)) <= usual


@pytest.mark.parametrize("seed", SEEDS)
def test_pieces_cut_smaller_and_food_put_in_warmer_are_never_later(seed: int) -> None:
    luck, (cooker, dish, pot, kg) = drawn(seed)
    usual = minutes((cooker, dish, pot, kg))
    share = float(luck.uniform(0.3, 1.0))
    names = [k for k, e in entries("dish").items() if e["name"] == dish.name]

    smaller = dish_like(names[0], thickness_mm=dish.thickness_mm * share)
    warmer = dish_like(names[0], start_c=dish.start_c + 10.0)

    assert minutes((cooker, smaller, pot, kg)) <= usual
    assert minutes((cooker, warmer, pot, kg)) <= usual


def test_pieces_are_compared_with_those_the_recipe_was_written_for() -> None:
    own = dish_like("potatoes", thickness_mm=27.0)
    timed = dish_like("potatoes", thickness_mm=27.0, ordinary_min=12)

    assert own.recipe_thickness_mm == 45.0
    assert timed.recipe_thickness_mm is None
    assert heat.food.reference_cook_min(own) == pytest.approx(
        heat.food.reference_cook_min(dish_like("potatoes"))
    )
