"""What guests are told of a dish: in the words of the place, the unknown never left out."""

from __future__ import annotations

from typing import cast

import pytest

from events.allergens import ALLERGENS, EU_14, US_9
from events.model import Event
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from events.table import changed
from service.text.allergens import columns, diet, is_american, sentence, table
from tests.conftest import replaced, sample_event

HARVEST = sample_text("harvest-lunch")


def lunch(extra: str, *, like: str = "lentil-soup", rules: str = "strictest") -> Event:
    return read_event(
        replaced(
            HARVEST,
            ('like = "bean-stew"', f'like = "{like}"\n{extra}'),
            ("altitude_m = 220", f'altitude_m = 220\nfood_rules = "{rules}"'),
        )
    )


def told(extra: str = "", *, like: str = "lentil-soup", rules: str = "strictest") -> str:
    event = lunch(extra, like=like, rules=rules)
    return sentence(event, event.dishes[0])


@pytest.mark.parametrize(("rules", "first"), [("US", US_9), ("EU", EU_14), ("strictest", EU_14)])
def test_both_lists_are_columns_everywhere_the_place_s_own_first(
    rules: str, first: tuple[str, ...]
) -> None:
    there = columns(lunch("", rules=rules))

    assert there[: len(first)] == first
    assert {*there} == {*ALLERGENS}


def row(extra: str, *, like: str, rules: str) -> dict[str, str]:
    sheet = table(lunch(extra, like=like, rules=rules))
    first = cast("list[dict[str, list[str]]]", sheet["rows"])[0]
    names = cast("list[str]", sheet["columns"])
    return dict(zip(names, first["marks"], strict=True))


def test_allergens_of_the_eu_alone_stand_on_a_us_sheet() -> None:
    marks = row("allergens = ['celery', 'mustard', 'molluscs']", like="rice", rules="US")

    assert [marks[c] for c in ("celery", "mustard", "mollusks", "milk")] == ["X", "X", "X", "–"]


def test_words_of_any_kind_mark_their_columns_under_eu_rules() -> None:
    marks = row("allergens = ['wheat', 'soy', 'egg', 'tree nuts']", like="rice", rules="EU")

    crossed = {c for c, m in marks.items() if m == "X"}
    assert crossed == {"wheat", "gluten", "soya", "eggs", "nuts"}


def test_what_is_unknown_has_a_mark_of_its_own_and_no_cell_is_empty() -> None:
    own = "ingredients = []\nportion_kg = 0.3\ncomposition = { water = 1.0 }"

    assert {*row(own, like="rice", rules="US").values()} == {"?"}
    assert row("", like="tomato-soup", rules="EU")["milk"] == "?"


@pytest.mark.parametrize(
    ("like", "rules", "said"),
    [
        ("apple-cake", "EU", "Contains gluten (wheat), eggs, milk."),
        ("apple-cake", "US", "Contains milk, eggs, wheat."),
        ("rice", "EU", "No listed allergen among its ingredients."),
        ("hard-eggs", "EU", "Contains eggs."),
    ],
)
def test_a_dish_says_what_it_contains_in_the_words_of_the_place(
    like: str, rules: str, said: str
) -> None:
    assert told(like=like, rules=rules) == said


def test_a_dish_says_what_is_not_known() -> None:
    assert "Not known: gluten (wheat), milk, mustard, soya; ask" in told(like="tomato-soup")
    own = "ingredients = []\nportion_kg = 0.3\ncomposition = { water = 1.0 }"
    assert told(own).startswith("Allergens not known: ask")
    assert told(f"{own}\nallergens = ['fish']").startswith(
        "Contains fish. Other allergens not known: ask"
    )
    assert told(f"{own}\nallergens = ['fish']\nallergens_checked = true") == "Contains fish."


def test_what_is_declared_in_words_is_said() -> None:
    assert told("also_contains = ['kiwi']") == "Contains kiwi."


@pytest.mark.parametrize(
    ("rules", "units", "american"),
    [
        ("US", "metric", True),
        ("strictest", "us", True),
        ("strictest", "metric", False),
        ("EU", "us", False),
        ("AU", "us", False),
    ],
)
def test_the_list_is_that_of_the_place(rules: str, units: str, american: bool) -> None:
    event = sample_event("harvest-lunch")
    event = changed(event, units=units, site=changed(event.site, food_rules=rules))

    assert is_american(event) == american


OWN = "ingredients = [{ food = 'onion', portion_kg = 0.1 }, { food = '%s', portion_kg = 0.1 }]"


@pytest.mark.parametrize(
    ("extra", "like", "who"),
    [
        ("", "lentil-soup", "vegan"),
        ("", "hard-eggs", "vegetarian"),
        ("", "polenta", "vegetarian, but for the cheese’s rennet: not known"),
        ("", "chicken-stew", "with meat"),
        ("", "fish-stew", "with fish"),
        (f"start_c = 5\n{OWN % 'bacon'}", "lentil-soup", "with meat, with pork"),
        (OWN % "wine", "lentil-soup", "vegan, with alcohol"),
        (OWN % "stock", "lentil-soup", "vegetarian or not: not known, pork not known"),
        (
            "ingredients = []\nportion_kg = 0.3\ncomposition = { water = 1.0 }",
            "lentil-soup",
            "vegetarian or not: not known",
        ),
    ],
)
def test_who_may_eat_a_dish_is_said_in_a_few_words(extra: str, like: str, who: str) -> None:
    event = lunch(extra, like=like)

    assert diet(event, event.dishes[0]) == who
