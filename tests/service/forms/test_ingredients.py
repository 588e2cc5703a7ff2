"""What a dish is made of, typed in one line: in grams or ounces, by what people call their food."""

from __future__ import annotations

import pytest

from events.errors import FaultyEvent
from events.model import Dish, Event
from events.reading.event_file import read_table
from events.reading.foods import contents
from events.table import changed
from service.forms.event_form import as_shown, rows_of, table_of, with_rows
from tests.conftest import sample_event

KG_AN_OUNCE = 0.028349523125


def lunch(units: str = "metric") -> Event:
    return changed(sample_event("harvest-lunch"), units=units)


def added(made_of: str, *, units: str = "metric", like: str = "vegetable-curry") -> Dish:
    form = {"new.like": like, "new.name": "Calabacitas", "new.portions": "10"}
    form |= {"new.meal": "lunch", "new.ingredients": made_of}
    return read_table(with_rows(lunch(units), "dish", form, {}), source="typed").dishes[-1]


@pytest.mark.parametrize(("units", "kg"), [("metric", 0.001), ("us", KG_AN_OUNCE)])
def test_a_dish_of_ones_own_is_made_of_what_was_typed(units: str, kg: float) -> None:
    dish = added("Potatoes 20, onion 5, cheese 2.5 , Eggs 4", units=units)

    assert [i.food for i in dish.ingredients] == ["potato", "onion", "cheese", "egg"]
    parts = [i.portion_kg for i in dish.ingredients]
    assert parts == pytest.approx([20 * kg, 5 * kg, 2.5 * kg, 4 * kg], abs=1e-5)
    assert dish.portion_kg == pytest.approx(31.5 * kg, abs=1e-4)
    assert contents(dish).says("milk") == contents(dish).says("eggs") == "yes"
    assert contents(dish).says("nuts") == "no"


@pytest.mark.parametrize(
    ("units", "typed"),
    [("metric", "potato 7 oz"), ("us", "potato 198.45 g"), ("us", "potato 0.4375 lb")],
)
def test_a_unit_that_is_typed_is_taken_at_its_word(units: str, typed: str) -> None:
    (potato,) = added(typed, units=units).ingredients

    assert potato.portion_kg == pytest.approx(0.19845, abs=1e-5)


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("potato 200, dragonfruit 50", "ingredients 2 food"),
        ("potato", "ingredients.0.portion_kg"),
        ("potato 0", "ingredients.0.portion_kg"),
        ("potato 200 apples", "ingredients.0.portion_kg"),
    ],
)
def test_a_food_that_is_not_known_or_has_no_amount_is_named(typed: str, key: str) -> None:
    with pytest.raises(FaultyEvent) as refused:
        added(typed)

    assert [f.key for f in refused.value.faults] == [key]


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_ingredients_of_a_kind_are_shown_and_stay_as_they_are(units: str) -> None:
    event = lunch(units)
    row = next(r for r in rows_of(table_of(event), "dish") if r["id"] == "rice")
    shown = str(as_shown(event, row)["ingredients"])
    assert shown.startswith("rice ")

    form = {"rice.id": "rice", "rice.ingredients": shown}
    kept = read_table(with_rows(event, "dish", form, {}), source="typed")
    assert kept.dish("rice") == event.dish("rice")


def test_a_portion_is_as_large_as_what_is_in_it_unless_it_is_typed_too() -> None:
    event = lunch()
    form = {"rice.id": "rice", "rice.ingredients": "rice 100, water 200, butter 10"}

    other = read_table(with_rows(event, "dish", form, {}), source="typed").dish("rice")
    assert other.portion_kg == pytest.approx(0.31)
    assert contents(other).says("milk") == "yes"

    form["rice.portion_kg"] = "0.25"
    both = read_table(with_rows(event, "dish", form, {}), source="typed").dish("rice")
    assert both.portion_kg == 0.25
