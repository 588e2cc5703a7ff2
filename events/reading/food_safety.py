"""What a file says that would hurt who eats it: each fault with its limit and what to do."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, datetime, time

from events.allergens import names_beans, names_what_spoils
from events.errors import Fault, Place
from events.food_rules import (
    COLD_C,
    KIDNEY_BEANS_BOIL_C,
    KIDNEY_BEANS_HIGHEST_M,
    KIDNEY_BEANS_MIN,
    VULNERABLE_HOLDING_MIN,
    rules_of,
)
from events.model import Dish, Event, Meal
from events.reading.foods import Food, contents, foods


def food_faults(event: Event) -> Iterator[Fault]:
    """Yield every fault by which food would be unsafe."""
    for n, dish in enumerate(event.dishes, 1):
        for rule in _DISH_RULES:
            yield from rule(event, dish, Place("dish", n, dish.id))
    for n, entry in enumerate(event.entries, 1):
        for rule in _DISH_RULES:
            yield from rule(event, entry.dish, Place("entry", n, entry.id))
    for n, meal in enumerate(event.meals, 1):
        yield from _meal_is_not_too_long(event, meal, Place("meal", n, meal.id))


def _foods_of(dish: Dish) -> list[Food]:
    return [foods()[i.food] for i in dish.ingredients if i.food in foods()]


def _raw_meat_is_hazardous(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    if not dish.raw_meat:
        return
    if not dish.hazardous:
        yield place.fault("hazardous", dish.hazardous, "raw-is-hazardous")
    least = rules_of(event).middle_c
    if dish.done_mode.measured == "core" and dish.core_c is not None and dish.core_c < least:
        known = any(f.raw_meat for f in _foods_of(dish))
        yield place.fault(
            *("core_c", dish.core_c, "raw-middle" if known else "raw-middle-by-name"),
            least_c=least,
            edition=rules_of(event).edition,
        )


def _cooked_food_is_hazardous(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    """Heat-treated plant food too is kept hot or cold (US Food Code, memory); a bake is dry."""
    wet = tuple(f.shop for f in _foods_of(dish) if f.hazardous)
    if not dish.ingredients and names_what_spoils(dish.name):
        wet = (dish.name,)
    if dish.hazardous or dish.raw_meat or dish.shape == "baked" or not wet:
        return
    yield place.fault("hazardous", dish.hazardous, "cooked-is-hazardous", foods=wet)


def _what_leaves_the_cold_warm_says_when(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    perishable = dish.raw_meat or dish.done_mode.cooked_before
    if perishable and dish.start_c > COLD_C and dish.out_min is None:
        if dish.raw_meat:
            yield place.fault("start_c", dish.start_c, "raw-out-of-cold", cold_c=COLD_C)
        else:
            yield place.fault("start_c", dish.start_c, "cooked-out-of-cold", cold_c=COLD_C)


def _beans_say_which(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    beans = names_beans(dish.name) or any(f.beans for f in _foods_of(dish))
    if beans and dish.kidney_beans is None:
        yield place.fault("kidney_beans", "", "which-beans")


def _kidney_beans_boil(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    if dish.kidney_beans != "raw":
        return
    shown = repr(dish.kidney_beans)
    # US FDA: dry kidney beans are boiled for at least 30 minutes.
    if dish.done_mode.measured != "boil" or dish.hold_min < KIDNEY_BEANS_MIN:
        yield place.fault("kidney_beans", shown, "beans-boil", least=KIDNEY_BEANS_MIN)
    if event.site.altitude_m > KIDNEY_BEANS_HIGHEST_M:
        yield place.fault(
            *("kidney_beans", shown, "beans-too-high"),
            altitude_m=event.site.altitude_m,
            boil_c=KIDNEY_BEANS_BOIL_C,
            most_m=KIDNEY_BEANS_HIGHEST_M,
        )
    if event.vulnerable_guests:
        yield place.fault("kidney_beans", shown, "beans-for-the-vulnerable")


def _eggs_are_firm(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    least = rules_of(event).middle_c
    soft = dish.core_c is not None and dish.core_c < least
    if event.vulnerable_guests and soft and "eggs" in contents(dish).contains:
        yield place.fault("core_c", dish.core_c or "", "eggs-firm", least_c=least)


def _vulnerable_food_is_not_held_long(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    most = VULNERABLE_HOLDING_MIN
    if event.vulnerable_guests and dish.hazardous and dish.holding_max_min > most:
        yield place.fault(
            "holding_max_min", dish.holding_max_min, "held-for-the-vulnerable", most_min=most
        )


def _meal_is_not_too_long(event: Event, meal: Meal, place: Place) -> Iterator[Fault]:
    """A pot off the heat feeds one wave, and no longer than hot food may stand."""
    pots = [d for d in event.dishes if d.meal == meal.id and d.hazardous and d.serve_hot]
    keeps_hot = any(c.on_gas or c.keeps_heat_only for c in event.cookers)
    most, long = rules_of(event).off_heat_min, _minutes(meal.start, meal.end)
    if not pots or keeps_hot or long / meal.waves <= most:
        return
    yield place.fault(
        *("waves", meal.waves, "meal-too-long"),
        dish=pots[0].name,
        wave_min=long // meal.waves,
        most_min=most,
        edition=rules_of(event).edition,
        waves=-(-long // most),
    )


def _minutes(start: time, end: time) -> int:
    day = date.min
    return int((datetime.combine(day, end) - datetime.combine(day, start)).total_seconds() // 60)


_DISH_RULES: list[Callable[[Event, Dish, Place], Iterator[Fault]]] = [
    _raw_meat_is_hazardous,
    _cooked_food_is_hazardous,
    _what_leaves_the_cold_warm_says_when,
    _beans_say_which,
    _kidney_beans_boil,
    _eggs_are_firm,
    _vulnerable_food_is_not_held_long,
]
