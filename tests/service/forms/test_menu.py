"""People share dishes: a course's portions for each person are divided by its dishes."""

from __future__ import annotations

from events.errors import Fault
from events.reading.catalogue import entries
from events.table import changed
from service.forms.menu import (
    COURSES,
    MENUS,
    choices,
    mass_kg,
    menu_of,
    shared_portions,
    short_of_mains,
)
from tests.conftest import sample_event, sample_plan


def test_every_dish_of_the_catalogue_is_in_one_course() -> None:
    dishes = [dish for course in COURSES for dish in course.dishes]

    assert sorted(dishes) == sorted(entries("dish"))


def test_a_menu_to_start_from_is_of_dishes_that_are_offered_and_has_a_main_and_a_side() -> None:
    offered = {dish.id for course in COURSES for dish in choices(course)}

    for menu in MENUS:
        assert len(set(menu)) == len(menu)
        assert set(menu) <= offered
        assert {"mains", "sides"} <= {c.key for c in COURSES if set(c.dishes) & set(menu)}
    assert [len(menu) for menu in MENUS] == [2, 6, 10]


def test_the_first_page_offers_no_dish_that_no_cooker_of_the_catalogue_can_do() -> None:
    """Nothing here gets as hot as a pizza needs: tests/published/test_practice.py."""
    offered = {dish.id for course in COURSES for dish in choices(course)}

    assert set(entries("dish")) - offered == {"pizza"}


def test_no_portions_of_a_dish_leave_it_out_and_the_others_share() -> None:
    faults: list[Fault] = []
    form = {"dish": "rice,potatoes,beetroot,bean-stew", "portions.potatoes": "0"}

    menu = {p.dish_id: p.portions for p in menu_of(form, 30, faults)}

    assert menu == {"rice": 15, "beetroot": 15, "bean-stew": 30}
    assert not faults
    menu_of({"dish": "rice", "portions.rice": "0"}, 30, faults)
    assert [f.kind for f in faults] == ["no-dish-ticked"]


def test_a_dish_weighs_what_its_ingredients_weigh() -> None:
    for course in COURSES:
        for dish in choices(course):
            own = entries("dish")[dish.id].get("portion_kg")
            listed = entries("dish")[dish.id]["ingredients"]
            assert isinstance(listed, list)
            sums = sum(float(i["portion_kg"]) for i in listed)
            assert abs(dish.portion_kg - float(str(own or sums))) < 1e-4


def test_shares_are_rounded_up_and_never_nothing() -> None:
    assert shared_portions(120, 1.0, 3) == 40
    assert shared_portions(25, 0.7, 2) == 9
    assert shared_portions(1, 0.1, 3) == 1


def test_a_hundred_and_twenty_people_share_ten_dishes_and_eat_what_people_eat() -> None:
    dishes = "bean-stew,chickpea-stew,lentil-soup,rice,potatoes,beetroot,apple-cake,banana-bread"

    menu = menu_of({"dish": dishes}, 120, [])

    assert {p.dish_id: p.portions for p in menu}["rice"] == 40
    assert 0.4 < mass_kg(menu) / 120 < 0.9


def test_who_goes_without_a_main_dish_is_counted_by_what_found_a_place() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    people = event.meals[0].portions
    stew = event.dish("bean-stew")
    assert stew.like == "bean-stew"
    cooked = sum(p.portions for p in plan.placements if p.dish_id == "bean-stew")

    (short,) = short_of_mains(event, plan)

    assert (short.meal, short.portions, short.people) == ("Lunch", cooked, people)
    assert short.each == "0.8"  # 24 for 30
    few = changed(event, meals=(changed(event.meals[0], portions=cooked), *event.meals[1:]))
    assert short_of_mains(few, plan) == []
    without = changed(
        plan, placements=tuple(p for p in plan.placements if p.dish_id != "bean-stew")
    )
    assert short_of_mains(event, without)[0].portions == 0
