"""What is bought and carried: as shops sell it, in the amounts that the menu takes."""

from __future__ import annotations

import pytest

from events.model import Event
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from service.paper.lists import lists
from service.paper.shopping import cold_boxes, shopping, tools, water
from tests.conftest import replaced, sample_event, sample_plan


def bought(event: Event) -> dict[str, str]:
    return {str(r["food"]): str(r["amount"]) for r in shopping(event, list(event.dishes))}


def test_beans_are_bought_dry_or_in_tins_eggs_by_number_and_no_water() -> None:
    event = sample_event("harvest-lunch")
    dishes = list(event.dishes)
    kilos = {str(r["food"]): float(str(r["kg"])) for r in shopping(event, dishes)}
    stew = next(d for d in dishes if d.id == "bean-stew")
    cooked = next(i.portion_kg for i in stew.ingredients if i.food == "beans-cooked")

    list_ = bought(event)

    # A kilogram of cooked beans is of 0.42 kg dry ones (common practice).
    assert kilos["beans, dry"] == pytest.approx(0.42 * cooked * stew.portions, rel=0.01)
    assert list_["beans, dry"] == "1.4 kg, or 3.4 kg drained from tins"
    assert list_["egg"] == "5 (218 g)"
    assert "water" not in list_
    assert {"salt", "tea leaves", "baking powder", "vegetable stock powder"} <= set(list_)


def test_larger_portions_than_the_recipe_s_take_more_of_everything() -> None:
    text = sample_text("harvest-lunch")
    twice = replaced(
        text, ("portions = 20\n[[dish]]", "portions = 20\nportion_kg = 0.442\n[[dish]]")
    )

    once = shopping(read_event(text), [read_event(text).dishes[1]])
    more = shopping(read_event(twice), [read_event(twice).dishes[1]])

    assert float(str(more[0]["kg"])) == pytest.approx(2 * float(str(once[0]["kg"])), rel=0.01)


def test_water_is_counted_for_pots_people_and_washing_up() -> None:
    event = sample_event("harvest-lunch")

    pots, drink, wash = water(event, list(event.dishes))

    # Rice 2.9, tea 4.0, stock 0.98 of 1.3 and the beetroot's own, rounded up; 24.5 helper's hours
    # at half a litre; ten for hands and ten for each of two meals.
    assert pots == "Water for the pots: 10 litres"
    assert drink == "Water for the helpers to drink: 13 litres"
    assert wash == "Water for hands and washing up: 30 litres"


def test_raw_meat_has_a_cold_box_of_its_own_with_its_ice() -> None:
    event = sample_event("cook-off")

    meat, rest = cold_boxes(event, list(event.dishes))

    assert "raw meat and fish, nothing else" in meat
    assert meat.count("3.3 lb") == 2
    assert "eggs and dairy" in rest
    assert all("41 °F" in line for line in (meat, rest))
    assert cold_boxes(event, [d for d in event.dishes if d.id == "rice-1"]) == []


@pytest.mark.slow
def test_tools_are_counted_by_the_menu() -> None:
    event, plan = sample_event("cook-off"), sample_plan("cook-off")

    said = tools(event, plan, list(event.dishes))

    assert said[0] == "Boards and knives: 3"
    assert any("raw meat and fish only" in line for line in said)
    assert any("Ladles and serving spoons: 8" in line for line in said)
    assert any("Plates and cutlery: 66" in line for line in said)


def test_each_shape_is_prepared_as_it_is() -> None:
    rows = lists(sample_event("harvest-lunch"), sample_plan("harvest-lunch"))["prepare"]
    assert isinstance(rows, list)
    what = {r["food"]: r["what"] for r in rows}

    assert what["Tea water"] == "measure into its pot"
    assert what["Apple cake"] == "mix and weigh into its tin"
    assert what["Rice"] == "prepare and weigh into its pot"
