"""Specific heat. Source: Choi & Okos 1986, as in ASHRAE Refrigeration; USDA NDB 11352 (potato)."""

import pytest

from events.model import Composition
from events.reading.catalogue import entries
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


# ASHRAE Refrigeration, table of unfrozen foods (from memory); our foods' compositions are rounded
# from tables. Beef and chicken there are leaner or fatter cuts than ours.
@pytest.mark.parametrize(
    ("name", "printed", "within"),
    [
        ("apple", 3.81, 0.02),
        ("carrot", 3.92, 0.02),
        ("potato", 3.67, 0.02),
        ("cabbage", 4.02, 0.02),
        ("egg", 3.63, 0.02),
        ("milk", 3.89, 0.02),
        ("beef", 3.44, 0.06),
        ("chicken", 3.62, 0.06),
    ],
)
def test_our_foods_have_the_specific_heat_of_the_handbook(
    name: str, printed: float, within: float
) -> None:
    composition = Composition.model_validate(entries("food")[name]["composition"])

    assert specific_heat_kj_kg_k(composition, 20.0) == pytest.approx(printed, rel=within)


def test_an_older_handbook_lies_a_little_lower() -> None:
    # Earle, Unit Operations in Food Processing, app. 7 (SEEN): apples and carrots both 3.60.
    for name in ("apple", "carrot"):
        composition = Composition.model_validate(entries("food")[name]["composition"])
        assert 0 < specific_heat_kj_kg_k(composition, 20.0) / 3.60 - 1 < 0.1
