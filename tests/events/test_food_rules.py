"""What a jurisdiction asks: the strictest is the strictest, and vulnerable guests are given it."""

from __future__ import annotations

import pytest

from events import food_rules
from events.food_rules import CLOCK_LIMIT_MIN, FOOD_RULES, clock_limit_min, least_middle_c, rules_of
from events.model import Dish, Event
from events.site import Jurisdiction
from events.table import changed
from tests.conftest import sample_event

OTHERS = [r for name, r in FOOD_RULES.items() if name != "strictest"]


def event(rules: Jurisdiction, *, vulnerable: bool = False) -> Event:
    base = sample_event("harvest-lunch")
    site = changed(base.site, food_rules=rules)
    return changed(base, site=site, vulnerable_guests=vulnerable)


def food(done: str) -> Dish:
    return changed(sample_event("harvest-lunch").dishes[0], done=done, core_c=None)


@pytest.mark.parametrize("figure", ["hot_holding_c", "middle_c", "reheat_c"])
def test_the_strictest_is_the_highest_of_all(figure: str) -> None:
    assert getattr(FOOD_RULES["strictest"], figure) == max(getattr(r, figure) for r in OTHERS)


@pytest.mark.parametrize("figure", ["reheat_within_min", "off_heat_min"])
def test_the_strictest_is_the_shortest_of_all(figure: str) -> None:
    assert getattr(FOOD_RULES["strictest"], figure) == min(getattr(r, figure) for r in OTHERS)


@pytest.mark.parametrize(
    ("name", "degrees", "minutes"),
    [
        ("strictest", (63.0, 75.0, 82.0), (120, 120)),
        ("US", (57.0, 73.9, 73.9), (120, 240)),
        ("EU", (63.0, 75.0, 75.0), (240, 120)),
        ("UK", (63.0, 70.0, 75.0), (240, 120)),
        ("UK-SCT", (63.0, 75.0, 82.0), (240, 120)),
        ("AU", (60.0, 75.0, 75.0), (240, 240)),
        ("NZ", (60.0, 75.0, 75.0), (240, 240)),
    ],
)
def test_a_jurisdiction_asks_its_own_figures(
    name: Jurisdiction, degrees: tuple[float, ...], minutes: tuple[int, ...]
) -> None:
    """Hot holding, middle, reheating; to reheat within, and to stand off the heat."""
    # From memory of the editions that FOOD_RULES names.
    rules = FOOD_RULES[name]

    assert (rules.hot_holding_c, rules.middle_c, rules.reheat_c) == degrees
    assert (rules.reheat_within_min, rules.off_heat_min) == minutes


def test_limits_that_are_the_same_everywhere() -> None:
    """Four hours between 5 and 60 °C (US, AU, NZ), chilled food, kidney beans (US FDA): memory."""
    assert (food_rules.CLOCK_LIMIT_MIN, food_rules.COLD_C) == (240, 8.0)
    assert (food_rules.VULNERABLE_CLOCK_MIN, food_rules.VULNERABLE_HOLDING_MIN) == (120, 120)
    assert food_rules.KIDNEY_BEANS_MIN == 30
    assert food_rules.KIDNEY_BEANS_BOIL_C == 95.0
    boil_c = 100 - 0.00335 * food_rules.KIDNEY_BEANS_HIGHEST_M  # a kelvin for each 300 m
    assert boil_c == pytest.approx(food_rules.KIDNEY_BEANS_BOIL_C, abs=0.1)


def test_vulnerable_guests_are_given_the_strictest_rules() -> None:
    assert rules_of(event("US")) == FOOD_RULES["US"]
    assert rules_of(event("US", vulnerable=True)) == FOOD_RULES["strictest"]


def test_the_clock_is_shorter_for_what_is_reheated_and_for_vulnerable_guests() -> None:
    stew, reheated = food("simmer"), food("reheat")

    assert clock_limit_min(event("US"), stew) == CLOCK_LIMIT_MIN == 240
    assert clock_limit_min(event("US"), reheated) == 120
    assert clock_limit_min(event("AU"), reheated) == 240
    assert clock_limit_min(event("AU", vulnerable=True), stew) == 120


def test_what_was_cooked_before_is_heated_to_the_reheating_limit() -> None:
    assert least_middle_c(event("UK-SCT"), food("reheat")) == 82.0
    assert least_middle_c(event("UK-SCT"), food("simmer")) == 75.0
    hotter = changed(food("core"), core_c=90.0)
    assert least_middle_c(event("UK"), hotter) == 90.0
