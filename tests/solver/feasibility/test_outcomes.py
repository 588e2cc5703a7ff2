"""A change that was tried is offered where something is better for it, and no meal less sure."""

from __future__ import annotations

import pytest

from solver.feasibility.outcomes import Outcome, no_worse, outcome_of
from solver.feasibility.problems import Problem, helps
from tests.conftest import sample_plan

BEFORE = Outcome(
    placed_ids=frozenset({"rice", "stew"}),
    meal_of_100={"lunch": 50, "tea": 70},
    dish_of_100={"rice": 60, "stew": 85},
    warm_min={"rice": 120.0},
    unsaved_ids=frozenset({"rice", "stew"}),
    on_gas_ids=frozenset({"rice", "stew"}),
    dry_ids=frozenset({"rice"}),
)
LOAF: dict[str, object] = {"placed_ids": frozenset({"rice", "stew", "loaf"})}
CAKES: dict[str, object] = {"placed_ids": frozenset({"rice", "stew", "loaf", "cake", "bun"})}
STEW_ALONE: dict[str, object] = {"placed_ids": frozenset({"stew"})}


def after(**other: object) -> Outcome:
    return BEFORE.model_copy(update=other)


@pytest.mark.parametrize(
    ("kind", "other", "is_help"),
    [
        ("unsure", {}, False),
        ("unsure", {"meal_of_100": {"lunch": 55, "tea": 70}}, True),
        ("unsure", {"meal_of_100": {"lunch": 60, "tea": 65}}, False),
        ("unsure", {"dish_of_100": {"rice": 69, "stew": 85}}, False),
        ("unsure", {"dish_of_100": {"rice": 70, "stew": 85}}, True),
        ("unsure", {"warm_min": {"rice": 120.0, "stew": 20.0}, "dish_of_100": {"rice": 90}}, False),
        ("unsure", {"placed_ids": frozenset({"rice"}), "dish_of_100": {"rice": 90}}, False),
        ("not-placed", {"placed_ids": frozenset({"rice", "stew", "loaf"})}, True),
        ("not-placed", LOAF | {"meal_of_100": {"lunch": 40, "tea": 70}}, True),
        ("not-placed", LOAF | {"meal_of_100": {"lunch": 35, "tea": 70}}, False),
        ("too-much", CAKES | {"meal_of_100": {"lunch": 30, "tea": 70}}, True),
        ("too-much", CAKES | {"meal_of_100": {"lunch": 25, "tea": 70}}, False),
        ("too-much", LOAF | {"meal_of_100": {"lunch": 50, "tea": 55}}, False),
        ("all-late", {"dish_of_100": {"rice": 90, "stew": 85}}, False),
        ("all-late", {"meal_of_100": {"lunch": 55, "tea": 70}}, True),
        ("pulls-down", STEW_ALONE | {"meal_of_100": {"lunch": 55, "tea": 70}}, True),
        ("pulls-down", STEW_ALONE, False),
        ("unsure", STEW_ALONE | {"meal_of_100": {"lunch": 55, "tea": 70}}, False),
        ("boils-dry", {}, False),
        ("boils-dry", {"dry_ids": frozenset[str]()}, True),
        ("boils-dry", {"dry_ids": frozenset[str](), "meal_of_100": {"lunch": 45}}, False),
        ("gas-day", {}, False),
        ("gas-day", {"on_gas_ids": frozenset({"stew"})}, True),
        ("warm-long", {"warm_min": {"rice": 106.0}}, False),
        ("warm-long", {"warm_min": {"rice": 105.0}}, True),
        ("warm-long", {"warm_min": {}}, True),
        ("few-rings", {"unsaved_ids": frozenset({"rice"})}, True),
        ("few-rings", {"meal_of_100": {"lunch": 60, "tea": 70}}, False),
    ],
)
def test_a_change_helps_only_where_its_problem_is_better_for_it(
    kind: str, other: dict[str, object], is_help: bool
) -> None:
    problem = Problem.model_validate({"kind": kind, "dish_ids": ("rice",)})

    assert helps(problem, BEFORE, after(**other)) == is_help


def test_a_whole_meal_is_judged_by_its_own_chance() -> None:
    problem = Problem(kind="whole-unsure", dish_ids=("rice",), meal_id="tea")

    assert helps(problem, BEFORE, after(meal_of_100={"lunch": 50, "tea": 75}))
    assert not helps(problem, BEFORE, after(meal_of_100={"lunch": 65, "tea": 70}))


def test_changes_together_are_offered_where_they_are_no_worse_than_each_alone() -> None:
    assert no_worse(BEFORE, BEFORE)
    assert not no_worse(BEFORE, after(meal_of_100={"lunch": 45, "tea": 90}))
    assert not no_worse(BEFORE, after(placed_ids=frozenset({"rice"})))


def test_an_outcome_is_read_off_a_plan() -> None:
    plan = sample_plan("harvest-lunch")
    assert plan.risk is not None

    outcome = outcome_of(plan)

    assert outcome.of_100 == min(m.of_100 for m in plan.risk.meals)
    assert outcome.placed_ids == {p.dish_id for p in plan.placements}
    assert Outcome.model_validate_json(outcome.model_dump_json()) == outcome
