"""What a file says that would hurt who eats it: each fault with its limit and what to do."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, datetime, time

from events.allergens import names_beans
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

VULNERABLE = "for guests who are under five, pregnant, old or ill"


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


def _fault(place: Place, key: str, value: object, limit: str, remedy: str) -> Fault:
    shown = "" if value is None else str(value).lower() if isinstance(value, bool) else repr(value)
    return place.fault(key, f"{value:g}" if isinstance(value, float) else shown, limit, remedy)


def _foods_of(dish: Dish) -> list[Food]:
    return [foods()[i.food] for i in dish.ingredients if i.food in foods()]


def _raw_meat_is_hazardous(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    if not dish.raw_meat:
        return
    if not dish.hazardous:
        yield _fault(
            place,
            "hazardous",
            dish.hazardous,
            "raw meat and fish are hazardous",
            "Write hazardous = true.",
        )
    least = rules_of(event).middle_c
    if dish.done_mode.measured == "core" and dish.core_c is not None and dish.core_c < least:
        limit = (
            f"raw meat and fish must reach {least:g} °C in the middle ({rules_of(event).edition})"
        )
        yield _fault(place, "core_c", dish.core_c, limit, f"Write core_c = {least:g}.")


def _cooked_food_is_hazardous(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    """Heat-treated plant food too is kept hot or cold (US Food Code, memory); a bake is dry."""
    wet = [f.shop for f in _foods_of(dish) if f.hazardous]
    if dish.hazardous or dish.raw_meat or dish.shape == "baked" or not wet:
        return
    limit = f"cooked, {' and '.join(wet)} must be kept hot or cold"
    yield _fault(place, "hazardous", dish.hazardous, limit, "Write hazardous = true.")


def _what_leaves_the_cold_warm_says_when(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    perishable = dish.raw_meat or dish.done_mode.cooked_before
    if perishable and dish.start_c > COLD_C and dish.out_min is None:
        what = "raw meat or fish" if dish.raw_meat else "food that was cooked before"
        yield _fault(
            place,
            "start_c",
            dish.start_c,
            f"{what} over {COLD_C:g} °C must say how long it has been out of the cold",
            "Load it from the cold box (start_c = 5), or write its minutes out as out_min.",
        )


def _beans_say_which(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    beans = names_beans(dish.name) or any(f.beans for f in _foods_of(dish))
    if beans and dish.kidney_beans is None:
        yield _fault(
            place,
            "kidney_beans",
            None,
            "a dish of beans must say whether they are kidney beans, and how boiled",
            'Write "no" (none at all), "boiled" (for 30 minutes before, or tinned) or "raw".',
        )


def _kidney_beans_boil(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    if dish.kidney_beans != "raw":
        return
    remedy = 'Boil them first and write "boiled", or use tins.'
    # US FDA: dry kidney beans are boiled for at least 30 minutes.
    if dish.done_mode.measured != "boil" or dish.hold_min < KIDNEY_BEANS_MIN:
        yield _fault(
            place,
            "kidney_beans",
            dish.kidney_beans,
            f'needs done = "boil" and hold_min of at least {KIDNEY_BEANS_MIN} (US FDA)',
            remedy,
        )
    if event.site.altitude_m > KIDNEY_BEANS_HIGHEST_M:
        yield _fault(
            place,
            "kidney_beans",
            dish.kidney_beans,
            f"at {event.site.altitude_m:.0f} m water boils under {KIDNEY_BEANS_BOIL_C:g} °C, too "
            f"cool for raw kidney beans (at most {KIDNEY_BEANS_HIGHEST_M:.0f} m)",
            'Use tins and write "boiled".',
        )
    if event.vulnerable_guests:
        limit = f"raw kidney beans are not cooked here {VULNERABLE}"
        yield _fault(place, "kidney_beans", dish.kidney_beans, limit, remedy)


def _eggs_are_firm(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    least = rules_of(event).middle_c
    soft = dish.core_c is not None and dish.core_c < least
    if event.vulnerable_guests and soft and "eggs" in contents(dish).contains:
        limit = f"eggs must be firm, {least:g} °C in the middle, {VULNERABLE}"
        yield _fault(place, "core_c", dish.core_c, limit, f"Write core_c = {least:g}.")


def _vulnerable_food_is_not_held_long(event: Event, dish: Dish, place: Place) -> Iterator[Fault]:
    most = VULNERABLE_HOLDING_MIN
    if event.vulnerable_guests and dish.hazardous and dish.holding_max_min > most:
        limit = f"food that can spoil is held for at most {most} min {VULNERABLE}"
        do = f"Write holding_max_min = {most}."
        yield _fault(place, "holding_max_min", dish.holding_max_min, limit, do)


def _meal_is_not_too_long(event: Event, meal: Meal, place: Place) -> Iterator[Fault]:
    """A pot off the heat feeds one wave, and no longer than hot food may stand."""
    pots = [d for d in event.dishes if d.meal == meal.id and d.hazardous and d.serve_hot]
    keeps_hot = any(c.on_gas or c.keeps_heat_only for c in event.cookers)
    most, long = rules_of(event).off_heat_min, _minutes(meal.start, meal.end)
    if not pots or keeps_hot or long / meal.waves <= most:
        return
    yield place.fault(
        "waves",
        repr(meal.waves),
        f"{pots[0].name} would stand off the heat for {long // meal.waves} min; hot food may for "
        f"{most} min ({rules_of(event).edition})",
        f"Write waves = {-(-long // most)} (a fresh pot for each), end the meal sooner, or add a "
        "gas ring or an insulated box.",
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
