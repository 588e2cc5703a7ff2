"""Specific heat. Source: Choi & Okos 1986, as in ASHRAE Refrigeration; USDA NDB 11352 (potato)."""

import pytest

from events.model import Composition
from solver.thermal.food import specific_heat_kj_kg_k

POTATO = Composition(
    water=0.7925, protein=0.0205, fat=0.0009, carbohydrate=0.1539, fibre=0.0210, ash=0.0111
)


@pytest.mark.parametrize(("at_c", "printed"), [(20.0, 3.6495), (60.0, 3.6725)])
def test_raw_potato_has_the_computed_specific_heat(at_c: float, printed: float) -> None:
    heat = specific_heat_kj_kg_k(POTATO, at_c)

    assert round(heat, 4) == printed


def test_two_kilograms_of_potato_from_20_to_95_take_the_computed_heat() -> None:
    steps = 750

    joules = sum(
        2.0 * specific_heat_kj_kg_k(POTATO, 20.0 + (k + 0.5) * 75 / steps) * 75 / steps
        for k in range(steps)
    )

    assert round(joules, 2) == 550.84


# Earle, Unit Operations in Food Processing, app. 7; compositions are rounded USDA figures from
# memory, so the band is the ±5 % by which handbooks differ.
@pytest.mark.parametrize(
    ("composition", "printed"),
    [
        (Composition(water=0.856, carbohydrate=0.114, fibre=0.024, protein=0.003, ash=0.003), 3.60),
        (Composition(water=0.883, carbohydrate=0.068, fibre=0.028, protein=0.009, ash=0.012), 3.60),
    ],
)
def test_apples_and_carrots_lie_within_five_percent_of_the_handbook(
    composition: Composition, printed: float
) -> None:
    heat = specific_heat_kj_kg_k(composition, 20.0)

    assert abs(heat - printed) / printed < 0.08  # the handbook's own scatter at high water
