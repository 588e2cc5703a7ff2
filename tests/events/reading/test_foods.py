"""What a dish contains: from its ingredients, by what is declared; the unknown stays unknown."""

from __future__ import annotations

from typing import cast

import pytest

from events.allergens import (
    ALLERGENS,
    EU_14,
    FOOD_FACTS,
    NOT_VEGAN,
    NOT_VEGETARIAN,
    US_9,
    FoodFact,
    allergen_words,
    allergens_of,
)
from events.errors import FaultyEvent
from events.model import Dish
from events.reading.catalogue import entries
from events.reading.event_file import read_event
from events.reading.foods import contents, foods
from events.reading.samples import sample_text
from service.text.faults import said
from tests.conftest import replaced

HARVEST = sample_text("harvest-lunch")


def dish(extra: str, *, like: str = "tomato-soup") -> Dish:
    """Return the first dish of the harvest lunch, made of something else."""
    text = replaced(HARVEST, ('like = "bean-stew"', f'like = "{like}"\n{extra}'))
    return read_event(text).dishes[0]


OWN = """
name = "Noodles"
start_c = 5
ingredients = [{ food = "pasta-dry", portion_kg = 0.1 }, { food = "%s", portion_kg = 0.05 }]
"""


def test_the_lists_are_the_fourteen_and_the_nine() -> None:
    # Regulation (EU) 1169/2011 Annex II; FALCPA 2004 with FASTER 2021 (from memory).
    assert len(EU_14) == 14
    assert len(US_9) == 9
    assert {*EU_14, *US_9} == {*ALLERGENS}
    assert {*US_9} - {*EU_14} == {"wheat"}


def test_a_dish_of_ones_own_contains_what_its_ingredients_do() -> None:
    of = contents(dish(OWN % "cheese"))

    assert {"gluten", "wheat", "milk"} <= of.contains
    assert of.says("celery") == "no"
    assert of.says("eggs") == "unknown"  # pasta may be made with eggs: its label says


@pytest.mark.parametrize(
    ("food", "facts"),
    [
        ("egg", {"eggs"}),
        ("prawns", {"crustaceans"}),
        ("mussels", {"molluscs"}),
        ("fish", {"fish"}),
        ("pork", {"pork", "meat"}),
        ("wine", {"alcohol", "sulphites"}),
        ("peanut-butter", {"peanuts"}),
        ("tahini", {"sesame"}),
        ("tofu", {"soya"}),
        ("almonds", {"nuts"}),
        ("mustard", {"mustard"}),
        ("vegetable-stock", {"celery"}),
        ("butter", {"milk"}),
        ("honey", {"honey"}),
        ("oats", {"gluten"}),
        ("soy-sauce", {"soya", "wheat", "gluten"}),
        ("couscous-dry", {"wheat", "gluten"}),
    ],
)
def test_a_food_contains_what_it_is(food: str, facts: set[FoodFact]) -> None:
    assert foods()[food].contains == facts


def test_oats_are_gluten_and_their_wheat_is_not_known() -> None:
    of = contents(dish("", like="porridge"))

    assert (of.says("gluten"), of.says("wheat")) == ("yes", "unknown")


@pytest.mark.parametrize(
    ("like", "facts"),
    [
        ("polenta", {"milk"}),
        ("baked-apples", {"milk"}),
        ("apple-cake", {"gluten", "wheat", "eggs", "milk"}),
        ("chocolate", {"milk", "soya"}),
        ("pizza", {"gluten", "wheat", "milk"}),
        ("fish-stew", {"fish", "celery"}),
        ("hard-eggs", {"eggs"}),
        ("lentil-soup", set()),
        ("rice", set()),
        *((n, {"celery"}) for n in ("bean-stew", "pumpkin-soup", "vegetable-soup", "tomato-soup")),
        *((n, {"celery"}) for n in ("chicken-stew", "beef-stew", "reheated-stew")),
        ("mushroom-rice", {"celery", "milk"}),
    ],
)
def test_a_dish_of_the_catalogue_contains_what_is_in_it(like: str, facts: set[FoodFact]) -> None:
    assert contents(dish("", like=like)).contains & {*ALLERGENS} == facts


def test_every_dish_of_the_catalogue_is_of_known_foods_and_declares_nothing_beside_them() -> None:
    for name, entry in entries("dish").items():
        parts = cast("list[dict[str, str]]", entry["ingredients"])
        assert parts, name
        assert {p["food"] for p in parts} <= set(foods()), name
        assert "allergens" not in entry, name


def test_every_food_is_whole_and_its_facts_are_known_words() -> None:
    for name, food in foods().items():
        assert sum(food.composition.values()) == pytest.approx(1.0, abs=0.011), name
        assert food.contains | food.label <= {*FOOD_FACTS}, name
        assert food.contains & food.label <= {"gluten", "meat"}, (
            name
        )  # these may follow from others
        assert not food.raw_meat or (food.cold and food.hazardous), name


def test_what_only_a_label_says_is_unknown_and_never_none() -> None:
    of = contents(dish(""))

    assert [of.says(a) for a in ("celery", "milk", "fish")] == ["yes", "unknown", "no"]


NO_INGREDIENTS = "name = 'Stew'\ningredients = []\nportion_kg = 0.3\ncomposition = { water = 1.0 }"


def test_without_ingredients_all_but_what_is_declared_is_unknown() -> None:
    of = contents(dish(f"{NO_INGREDIENTS}\nallergens = ['fish']"))

    assert of.says("fish") == "yes"
    assert {of.says(a) for a in ALLERGENS if a != "fish"} == {"unknown"}
    assert of.free_of(NOT_VEGAN) == "no"
    assert not of.whole


def test_a_food_that_is_not_in_the_table_leaves_all_unknown() -> None:
    extra = "ingredients = [{ food = 'saffron', portion_kg = 0.3 }]\nportion_kg = 0.3"
    of = contents(dish(f"{extra}\ncomposition = {{ water = 1.0 }}"))

    assert {of.says(a) for a in ALLERGENS} == {"unknown"}


def test_a_food_that_is_not_in_the_table_needs_the_composition_of_the_dish() -> None:
    with pytest.raises(FaultyEvent) as refused:
        dish("ingredients = [{ food = 'saffron', portion_kg = 0.3 }]")

    text = said(refused.value.faults[0]).text
    assert all(words in text for words in ("saffron", "food table", "composition"))


def test_labels_that_somebody_has_read_leave_no_allergen_unknown() -> None:
    for extra in ("allergens_checked = true", f"{NO_INGREDIENTS}\nallergens_checked = true"):
        of = contents(dish(f"{extra}\nallergens = ['mustard']"))

        assert not of.unknown.intersection(ALLERGENS)
        assert of.whole
        assert of.says("mustard") == "yes"
    assert not contents(dish("allergens_checked = true")).unknown


def test_labels_that_were_read_do_not_make_a_dish_without_ingredients_vegan() -> None:
    of = contents(dish(f"{NO_INGREDIENTS}\nallergens_checked = true"))

    assert of.free_of(NOT_VEGAN) == of.free_of(NOT_VEGETARIAN) == "unknown"


@pytest.mark.parametrize(
    ("words", "vegan", "vegetarian"),
    [
        ("bacon", "no", "no"),
        ("cheese", "no", "unknown"),  # its rennet
        ("Smoked salmon", "no", "no"),
        ("apple", "yes", "yes"),  # the food table has it
        ("gelatine", "unknown", "unknown"),
        ("kiwi", "unknown", "unknown"),  # a plant, but the table does not know it
    ],
)
def test_what_is_added_in_words_is_no_vegan_dish_by_the_rest(
    words: str, vegan: str, vegetarian: str
) -> None:
    of = contents(dish(f"also_contains = ['{words}']", like="rice"))

    assert of.also == (words,)
    assert (of.free_of(NOT_VEGAN), of.free_of(NOT_VEGETARIAN)) == (vegan, vegetarian)


def test_an_allergen_that_is_added_in_words_is_one() -> None:
    of = contents(dish("also_contains = ['cheese', 'kiwi']", like="rice"))

    assert (of.says("milk"), of.says("fish"), of.says("meat")) == ("yes", "no", "unknown")


def test_what_only_the_name_speaks_of_is_unknown() -> None:
    of = contents(dish("name = 'Prawn and peanut soup'"))

    assert [of.says(a) for a in ("crustaceans", "peanuts", "fish")] == ["unknown", "unknown", "no"]


@pytest.mark.parametrize(
    ("name", "none"), [("Coconut milk soup", "milk"), ("Peanut butter bake", "milk")]
)
def test_a_name_that_only_sounds_like_an_allergen_says_nothing(name: str, none: FoodFact) -> None:
    lentils = f"name = '{name}'"

    assert contents(dish(lentils, like="lentil-soup")).says(none) == "no"


@pytest.mark.parametrize(
    ("word", "found"),
    [
        ("wheat", ("gluten", "wheat")),
        ("Soy", ("soya",)),
        ("egg", ("eggs",)),
        ("tree nuts", ("nuts",)),
        ("Tree-Nuts", ("nuts",)),
        ("shellfish", ("crustaceans", "molluscs")),
        ("sulfites", ("sulphites",)),
        ("sulphur dioxide", ("sulphites",)),
        ("dairy", ("milk",)),
        ("groundnuts", ("peanuts",)),
        ("anchovies", ("fish",)),
        ("gluen", ()),
        ("pork", ()),
    ],
)
def test_an_allergen_is_read_by_any_of_its_words(word: str, found: tuple[str, ...]) -> None:
    assert allergens_of(word) == found


def test_every_word_on_the_list_of_words_stands_for_an_allergen() -> None:
    assert all(allergens_of(word) for word in allergen_words())


def test_declared_words_become_the_names_of_the_list() -> None:
    read = dish('allergens = ["wheat", "soy", "tree nuts", "egg"]').allergens

    assert read == ("gluten", "wheat", "soya", "nuts", "eggs")


def test_a_word_that_is_no_allergen_is_a_fault_with_the_words_there_are() -> None:
    with pytest.raises(FaultyEvent) as caught:
        dish('allergens = ["milk", "gluen"]')

    (fault,) = caught.value.faults
    assert "gluen" in said(fault).text
    assert all(word in said(fault).text for word in ("gluten", "tree nut", "also_contains"))


def test_anything_else_is_declared_in_words() -> None:
    assert contents(dish('also_contains = ["kiwi"]')).also == ("kiwi",)


@pytest.mark.parametrize(
    ("like", "extra", "vegetarian", "vegan"),
    [
        ("lentil-soup", "", "yes", "yes"),
        ("hard-eggs", "", "yes", "no"),
        ("polenta", "", "unknown", "no"),  # the cheese's rennet
        ("chicken-stew", "", "no", "no"),
        ("fish-stew", "", "no", "no"),
        ("tomato-soup", "", "yes", "unknown"),  # milk in the stock
    ],
)
def test_who_may_eat_a_dish_follows_from_its_ingredients(
    like: str, extra: str, vegetarian: str, vegan: str
) -> None:
    of = contents(dish(extra, like=like))

    assert (of.free_of(NOT_VEGETARIAN), of.free_of(NOT_VEGAN)) == (vegetarian, vegan)


def test_pork_and_alcohol_are_found_and_a_stock_of_any_kind_leaves_pork_open() -> None:
    own = "ingredients = [{ food = 'onion', portion_kg = 0.1 }, { food = '%s', portion_kg = 0.1 }]"

    assert contents(dish(own % "wine")).says("alcohol") == "yes"
    assert contents(dish(f"start_c = 5\n{own % 'bacon'}")).says("pork") == "yes"
    assert contents(dish(own % "stock")).says("pork") == "unknown"
    assert contents(dish(own % "vegetable-stock")).says("pork") == "no"
