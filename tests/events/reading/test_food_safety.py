"""Faults that keep food safe: each names the dish, the value, the limit and what to do."""

from __future__ import annotations

import pytest

from events.errors import FaultyEvent
from events.food_rules import KIDNEY_BEANS_BOIL_C, KIDNEY_BEANS_HIGHEST_M
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from service.text.faults import said
from solver.thermal.food import boiling_c
from tests.conftest import replaced

# Ada's yard: one box in the full sun, one dish, a lunch of an hour.
EVENT = """
format = 1
title = "Yard"
date = 2026-06-21
vulnerable_guests = false
[site]
latitude_deg = 40.0
longitude_deg = 0.0
altitude_m = 0
food_rules = "strictest"
[[cooker]]
id = "box"
like = "box-better"
[[pot]]
id = "pot-5l"
like = "pot-5l"
[[meal]]
id = "lunch"
from = 13:00:00
until = 14:00:00
portions = 10
waves = 1
[[dish]]
id = "food"
meal = "lunch"
portions = 4
{dish}
[[helper]]
id = "ada"
from = 08:00:00
until = 18:00:00
may = ["mirrors", "burner", "lift"]
"""


def faults(dish: str, *pairs: tuple[str, str]) -> list[str]:
    """Return the faults of the yard's lunch with one dish, other words put in."""
    try:
        read_event(replaced(EVENT.replace("{dish}", dish), *pairs))
    except FaultyEvent as error:
        return [said(f).text for f in error.faults]
    return []


def says(found: list[str], *words: str) -> bool:
    return len(found) == 1 and all(word in found[0] for word in ("food", *words))


OWN = """
name = "{name}"
portion_kg = 0.3
composition = {{ water = 0.8, carbohydrate = 0.2 }}
done = "{done}"
"""
VULNERABLE = ("vulnerable_guests = false", "vulnerable_guests = true")
US = ('food_rules = "strictest"', 'food_rules = "US"')


@pytest.mark.parametrize(
    "like", ["potatoes", "pasta", "couscous", "polenta", "cabbage", "beetroot"]
)
def test_cooked_plants_are_hazardous(like: str) -> None:
    # US Food Code: plant food that is heat-treated (from memory).
    event = read_event(EVENT.replace("{dish}", f'like = "{like}"'))

    assert event.dishes[0].hazardous


@pytest.mark.parametrize("like", ["potatoes", "rice", "vegetable-curry"])
def test_cooked_plants_can_not_be_called_safe(like: str) -> None:
    found = faults(f'like = "{like}"\nhazardous = false')

    assert says(found, "hazardous is false", "kept hot or cold", "Write hazardous = true")


@pytest.mark.parametrize("like", ["apple-cake", "plum-compote", "baked-apples", "jam", "tea"])
def test_bakes_fruit_and_tea_are_not_hazardous(like: str) -> None:
    assert faults(f'like = "{like}"\nhazardous = false') == []


def test_raw_meat_can_not_be_called_safe() -> None:
    found = faults('like = "chicken-stew"\nhazardous = false')

    assert says(found, "hazardous is false", "raw meat", "Write hazardous = true")


@pytest.mark.parametrize(
    ("rules", "core_c", "limit"), [("strictest", 74.0, "75"), ("US", 70, "73.9"), ("UK", 65, "70")]
)
def test_raw_meat_reaches_what_the_food_rules_ask(rules: str, core_c: float, limit: str) -> None:
    there = ('food_rules = "strictest"', f'food_rules = "{rules}"')

    found = faults(f'like = "chicken-stew"\ncore_c = {core_c}', there)

    assert says(found, f"core_c is {core_c:g}", f"{limit} °C", f"Write core_c = {limit}")
    assert faults(f'like = "chicken-stew"\ncore_c = {limit}', there) == []


def test_raw_meat_that_is_done_at_the_boil_is_not_judged_by_a_middle_it_does_not_use() -> None:
    meat = OWN.format(name="Stew", done="boil") + "raw_meat = true\nstart_c = 5\n"

    assert faults(meat + "core_c = 60") == []


def test_a_fault_says_which_dish_it_is_in() -> None:
    with pytest.raises(FaultyEvent) as caught:
        read_event(EVENT.replace("{dish}", 'like = "rice"\nhazardous = false'))

    (fault,) = caught.value.faults
    assert (fault.table, fault.number, fault.id) == ("dish", 1, "food")


def raw(name: str, *lines: str, done: str = "core") -> bool:
    """Return whether a dish of no known ingredients counts as raw meat by its name."""
    dish = OWN.format(name=name, done=done) + "core_c = 80\nout_min = 0\n" + "\n".join(lines)
    return read_event(EVENT.replace("{dish}", dish)).dishes[0].raw_meat


@pytest.mark.parametrize("name", ["Chicken skewers", "Trout", "Prawns", "Meatballs", "Ham rolls"])
def test_a_dish_that_is_called_after_meat_or_fish_is_raw_unless_it_says_otherwise(
    name: str,
) -> None:
    assert raw(name)
    assert not raw(name, "raw_meat = false")
    assert not raw(name, done="reheat")  # it was cooked before


@pytest.mark.parametrize("name", ["Vegan sausages", "Chili sin carne", "Meatless balls", "Dinner"])
def test_what_stands_in_for_meat_is_not_raw_meat(name: str) -> None:
    assert not raw(name, 'kidney_beans = "no"')


def test_an_unknown_ingredient_leaves_the_name_to_say_whether_it_is_raw_meat() -> None:
    def with_food(food: str) -> bool:
        return raw("Duck", f'ingredients = [{{ food = "{food}", portion_kg = 0.3 }}]')

    assert with_food("duck-breast")  # no food of the catalogue
    assert not with_food("potato")  # all of it is known: a name only


def test_meat_by_name_reaches_what_the_food_rules_ask() -> None:
    skewers = OWN.format(name="Chicken skewers", done="core") + "start_c = 5\n"

    found = faults(skewers + "core_c = 60")
    assert says(found, "core_c is 60", "75 °C", "Write core_c = 75 (or raw_meat = false")
    assert faults(skewers + "core_c = 75") == []
    known = faults('like = "chicken-stew"\ncore_c = 60')
    assert says(known, "Write core_c = 75.")  # its ingredients leave no doubt


@pytest.mark.parametrize(
    "name", ["Rice salad", "Egg custard", "Cheese sauce", "Chicken salad", "Potato mash"]
)
def test_what_spoils_by_its_name_can_not_be_called_safe(name: str) -> None:
    dish = OWN.format(name=name, done="core") + "core_c = 80\nraw_meat = false\n"

    found = faults(dish + "hazardous = false")

    assert says(found, "hazardous is false", name, "kept hot or cold", "Write hazardous = true")
    assert faults(dish) == []
    known = 'hazardous = false\ningredients = [{ food = "apple", portion_kg = 0.3 }]'
    assert faults(dish + known) == []
    assert faults(dish + 'hazardous = false\nshape = "baked"\nthickness_mm = 20') == []


@pytest.mark.parametrize("name", ["Milk chocolate", "Plum sauce", "Mulled wine"])
def test_what_keeps_by_its_name_may_be_called_safe(name: str) -> None:
    dish = OWN.format(name=name, done="core") + "core_c = 60\nhazardous = false\n"

    assert faults(dish) == []


def test_a_dish_of_raw_meat_is_raw_meat_unless_it_says_otherwise() -> None:
    own = """
name = "Dinner"
done = "core"
core_c = 80
start_c = 5
ingredients = [{ food = "chicken", portion_kg = 0.2 }]
"""
    event = read_event(EVENT.replace("{dish}", own))
    cooked = read_event(EVENT.replace("{dish}", own + "raw_meat = false\n"))

    assert event.dishes[0].raw_meat
    assert not cooked.dishes[0].raw_meat


@pytest.mark.parametrize("like", ["chicken-stew", "fish-stew", "reheated-stew"])
def test_what_is_loaded_warm_says_how_long_it_has_been_out_of_the_cold(like: str) -> None:
    warm = f'like = "{like}"\nstart_c = 9'

    assert says(faults(warm), "start_c is 9", "over 8 °C", "out_min")
    assert faults(f"{warm}\nout_min = 45") == []
    assert faults(f'like = "{like}"\nstart_c = 8') == []


@pytest.mark.parametrize(
    "name",
    [
        *("Butter beans", "KIDNEY stew", "Frijoles de olla", "Bohneneintopf", "Rajma"),
        *("Cannellini salad", "Cassoulet", "Chilli sin carne"),
    ],
)
def test_a_dish_of_beans_by_its_name_says_which(name: str) -> None:
    own = OWN.format(name=name, done="simmer") + "ordinary_min = 60\n"

    assert says(faults(own), "kidney_beans", "how boiled", '"boiled"')
    assert faults(f'{own}kidney_beans = "no"') == []


@pytest.mark.parametrize("food", ["beans-cooked", "beans-dry"])
def test_a_dish_of_beans_by_its_ingredients_says_which(food: str) -> None:
    own = f"""
name = "Hotpot"
done = "simmer"
ordinary_min = 60
ingredients = [{{ food = "{food}", portion_kg = 0.2 }}]
"""
    assert says(faults(own), "kidney_beans", "how boiled")


def test_raw_kidney_beans_are_boiled_for_half_an_hour() -> None:
    # US FDA: at least 30 minutes at the boil.
    beans = OWN.format(name="Beans", done="boil") + 'kidney_beans = "raw"\n'

    assert says(faults(f"{beans}hold_min = 29"), "kidney_beans is 'raw'", "30", "tins")
    assert faults(f"{beans}hold_min = 30") == []
    simmered = OWN.format(name="Beans", done="core") + 'kidney_beans = "raw"\ncore_c = 95\n'
    assert says(faults(f"{simmered}hold_min = 30"), 'needs done = "boil"')


def test_raw_kidney_beans_are_not_boiled_where_water_boils_too_cool() -> None:
    beans = OWN.format(name="Beans", done="boil") + 'kidney_beans = "raw"\nhold_min = 30\n'
    high = ("altitude_m = 0", f"altitude_m = {KIDNEY_BEANS_HIGHEST_M + 1:g}")
    low = ("altitude_m = 0", f"altitude_m = {KIDNEY_BEANS_HIGHEST_M:g}")

    assert says(faults(beans, high), "1491 m", "under 95 °C", "Use tins")
    assert faults(beans, low) == []
    assert boiling_c(KIDNEY_BEANS_HIGHEST_M) >= KIDNEY_BEANS_BOIL_C > boiling_c(1500)


def test_a_long_meal_needs_waves_or_something_that_keeps_its_pot_hot() -> None:
    rice = 'like = "rice"'
    six_hours = (("from = 13:00:00", "from = 12:00:00"), ("until = 14:00:00", "until = 18:00:00"))
    ring = ('like = "box-better"', 'like = "box-better"\n[[cooker]]\nid = "r"\nlike = "{}"')

    (fault,) = faults(rice, *six_hours)

    assert all(w in fault for w in ("[[meal]] 1 (lunch) waves is 1", "360 min", "120", "waves = 3"))
    assert faults(rice, *six_hours, ("waves = 1", "waves = 2"))
    assert faults(rice, *six_hours, ("waves = 1", "waves = 3")) == []
    for keeper in ("gas-ring", "hay-box"):
        assert faults(rice, *six_hours, (ring[0], ring[1].format(keeper))) == []
    assert faults('like = "plum-compote"', *six_hours) == []
    assert faults('like = "hard-eggs"', *six_hours) == []
    assert faults('like = "plum-compote"\nserve_hot = true', *six_hours) == []
    other = 'waves = 1\n[[meal]]\nid = "late"\nfrom = 11:00:00\nuntil = 11:30:00\nportions = 4'
    in_another = (('meal = "lunch"', 'meal = "late"'), ("waves = 1", other))
    assert faults(rice, *six_hours, *in_another) == []


def test_no_wave_is_longer_than_its_pot_may_stand_by_a_minute() -> None:
    four_hours = (("until = 14:00:00", "until = 17:00:00"), ("waves = 1", "waves = 2"))
    and_a_minute = (("until = 14:00:00", "until = 17:01:00"), four_hours[1])

    assert faults('like = "rice"', *four_hours) == []
    (fault,) = faults('like = "rice"', *and_a_minute)
    assert "waves = 3" in fault


def test_how_long_a_meal_may_be_is_the_rule_of_the_place() -> None:
    three_hours = ("until = 14:00:00", "until = 16:00:00")

    assert len(faults('like = "rice"', three_hours)) == 1
    assert faults('like = "rice"', three_hours, US) == []
    assert len(faults('like = "rice"', three_hours, US, VULNERABLE)) == 1


def test_vulnerable_guests_are_given_no_soft_egg() -> None:
    eggs = 'like = "hard-eggs"\ncore_c = 65\nholding_max_min = 60'

    assert faults(eggs) == []
    assert says(faults(eggs, VULNERABLE), "core_c is 65", "firm, 75 °C", "Write core_c = 75")
    assert faults(eggs.replace("65", "75"), VULNERABLE) == []
    without = OWN.format(name="Greens", done="core") + "core_c = 65\nholding_max_min = 60"
    assert faults(without, VULNERABLE) == []


def test_vulnerable_guests_are_given_no_raw_beans() -> None:
    beans = OWN.format(name="Beans", done="boil") + 'kidney_beans = "raw"\nhold_min = 30\n'

    assert faults(beans) == []
    assert says(faults(beans, VULNERABLE), "raw kidney beans", "under five", "tins")


def test_vulnerable_guests_are_given_nothing_held_for_long() -> None:
    stew = 'like = "chickpea-stew"\nholding_max_min = {}'

    assert faults(stew.format(121)) == []
    assert says(faults(stew.format(121), VULNERABLE), "holding_max_min is 121", "at most 120 min")
    assert faults(stew.format(120), VULNERABLE) == []


def test_only_the_young_are_not_enough() -> None:
    (fault,) = faults('like = "rice"', ('id = "ada"', 'id = "ada"\nadult = false'))

    assert "adult" in fault
    assert "Add an adult" in fault


def test_an_unknown_ingredient_or_a_missing_figure_hides_no_other_fault() -> None:
    """Each is a fault of its own elsewhere, or none; the rules of safety go on beside it."""
    own = OWN.format(name="Stew", done="core") + "raw_meat = true\nhazardous = false"
    found = faults(own + '\ningredients = [{ food = "nobody-knows", portion_kg = 0.3 }]')

    assert any("hazardous" in f for f in found)
    assert any("core_c" in f for f in found)


# --- entries of a contest


@pytest.mark.parametrize(
    ("dish", "key"),
    [
        ('like = "chicken-stew", hazardous = false', "hazardous"),
        ('like = "chicken-stew", done = "core", core_c = 60', "core_c"),
        ('like = "chicken-stew", start_c = 20', "start_c"),
        ('like = "lentil-soup", hazardous = false', "hazardous"),
        ('like = "bean-stew", kidney_beans = "raw", hold_min = 20', "kidney_beans"),
        ('like = "lentil-soup", name = "Bean soup"', "kidney_beans"),
    ],
)
def test_an_entry_is_held_to_the_rules_of_a_dish(dish: str, key: str) -> None:
    named = "" if "name" in dish else 'name = "Pot", '
    entry = f'{{ id = "e02", {named}team = "t02", {dish}, portions = 8, cooker = "own-02" }}'
    whole = sample_text("twelve-pots")
    start = whole.index('{ id = "e02"')
    usual = whole[start : whole.index("}", start) + 1]

    with pytest.raises(FaultyEvent) as caught:
        read_event(whole.replace(usual, entry))

    (fault,) = caught.value.faults
    assert (fault.table, fault.number, fault.id, fault.key) == ("entry", 2, "e02", key)
    assert said(fault).limit
    assert said(fault).remedy


def test_an_entry_for_vulnerable_guests_is_not_held_long_either() -> None:
    text = sample_text("twelve-pots").replace("date = ", "vulnerable_guests = true\ndate = ", 1)

    with pytest.raises(FaultyEvent) as caught:
        read_event(text)

    assert {f.key for f in caught.value.faults} == {"holding_max_min"}
    assert {f.table for f in caught.value.faults} == {"entry"}
