"""What a change brings is said beside what is now."""

from __future__ import annotations

from service.text.outcomes import brings
from solver.feasibility.outcomes import Outcome
from solver.feasibility.problems import Problem
from tests.conftest import sample_event

BEFORE = Outcome(
    placed_ids=frozenset({"rice", "tea"}),
    meal_of_100={"lunch": 55, "cake": 70},
    dish_of_100={"rice": 60},
    warm_min={"tea": 124.0},
    unsaved_ids=frozenset(),
)


def said(problem: Problem | None, **other: object) -> str:
    return brings(sample_event("harvest-lunch"), problem, BEFORE, BEFORE.model_copy(update=other))


def test_dishes_and_chances_are_said_beside_the_present_ones() -> None:
    unsure = Problem(kind="unsure", dish_ids=("rice",))
    warm = Problem(kind="warm-long", dish_ids=("tea",))
    whole = Problem(kind="whole-unsure", dish_ids=("tea",), meal_id="cake")

    assert said(None, meal_of_100={"lunch": 85, "cake": 85}) == "85 of 100, now 55"
    assert said(unsure, dish_of_100={"rice": 75}) == "55 of 100, as now; Rice 75, now 60"
    assert said(warm, warm_min={}).endswith("; Tea water: lukewarm no longer than it may")
    soup = Problem(kind="warm-long", dish_ids=("bean-stew",))
    assert said(soup, warm_min={}) == "55 of 100, as now; Bean stew: hot soon enough"
    assert said(warm, warm_min={"tea": 100.0}) == "55 of 100, as now; lukewarm 100 min, now 124"
    assert said(whole, meal_of_100={"lunch": 55, "cake": 80}).endswith("Cake and tea 80, now 70")
    less = {"meal_of_100": {"lunch": 45, "cake": 70}}
    more = {"placed_ids": frozenset({"rice", "tea", "beetroot"})}
    assert said(unsure, **(less | more)).startswith(
        "3 of 6 dishes, now 2; but lunch is less sure: 45 of 100, now 55"
    )
    three = frozenset({"rice", "tea", "beetroot"})
    assert said(unsure, placed_ids=three) == "3 of 6 dishes, now 2; 55 of 100, as now"


def test_pots_that_boil_dry_and_gas_are_said_as_what_is_left_of_them() -> None:
    dry = Problem(kind="boils-dry", dish_ids=("rice",))
    gas = Problem(kind="gas-day", dish_ids=("rice", "tea"))

    assert said(dry).endswith("Rice boils dry no more")
    assert said(dry, dry_ids=frozenset({"rice"})) == "55 of 100, as now"
    assert said(gas, on_gas_ids=frozenset({"tea"})).endswith("on gas only Tea water")
    assert said(gas).endswith("nothing is on gas")


def test_without_a_forecast_it_is_said_that_all_fit() -> None:
    assert (
        brings(
            sample_event("harvest-lunch"),
            None,
            BEFORE,
            BEFORE.model_copy(update={"meal_of_100": {}}),
        )
        == "all dishes fit"
    )
