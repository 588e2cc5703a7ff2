"""The menu: people share dishes, each course has portions for each person, dishes divide them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from events.errors import WHOLE_FILE, Fault
from events.model import Event
from events.reading.catalogue import entries, resolve
from events.reading.recipes import from_ingredients
from solver.plan import Plan


@dataclass(frozen=True)
class Course:
    """A part of a menu: how many portions of it each person has, and the dishes that may be it."""

    key: str
    name: str
    per_head: float  # common practice, no published source
    dishes: tuple[str, ...]


COURSES = (
    Course(
        *("mains", "Mains", 1.0),
        (
            *("bean-stew", "chickpea-stew", "lentil-soup", "vegetable-curry", "chicken-stew"),
            *("beef-stew", "fish-stew", "pasta", "couscous", "mushroom-rice", "pizza", "egg-bake"),
            *(
                "pea-soup",
                "pumpkin-soup",
                "tomato-soup",
                "vegetable-soup",
                "githeri",
                "reheated-stew",
            ),
        ),
    ),
    Course(
        *("sides", "Sides", 1.0),
        (
            *("rice", "potatoes", "beetroot", "hard-eggs", "polenta", "ugali"),
            *("ratatouille", "cabbage", "herb-loaf", "porridge"),
        ),
    ),
    Course(
        *("sweet", "Something sweet", 0.7),
        (
            *("apple-cake", "banana-bread", "sponge", "flat-bread", "baked-apples"),
            *("plum-compote", "chocolate", "jam"),
        ),
    ),
    Course("drinks", "Drinks", 0.8, ("tea", "kettle", "warm-milk")),
)
PER_HEAD_MOST = 5.0
# Menus to start from: one press ticks all of one. Common practice, no published source.
MENUS = (
    ("lentil-soup", "rice"),
    ("bean-stew", "rice", "beetroot", "apple-cake", "plum-compote", "tea"),
    (
        *("bean-stew", "chickpea-stew", "lentil-soup", "vegetable-curry"),
        *("rice", "potatoes", "beetroot", "apple-cake", "baked-apples", "tea"),
    ),
)
# It asks for an oven of 250 °C, which no cooker of the catalogue is: offered under Dishes alone.
NOT_OFFERED = ("pizza",)


@dataclass(frozen=True)
class Choice:
    """A dish that can be ticked: its name, and the mass of one portion of it."""

    id: str
    name: str
    portion_kg: float


@dataclass(frozen=True)
class Portions:
    """How many portions of one dish are made."""

    dish_id: str
    portions: int


@cache
def choices(course: Course) -> tuple[Choice, ...]:
    """Return a course's dishes out of the catalogue, as the first page offers them."""
    offered = (d for d in course.dishes if d not in NOT_OFFERED)
    return tuple(Choice(d, str(entries("dish")[d]["name"]), _portion_kg(d)) for d in offered)


def course_of(dish_like: str | None) -> Course | None:
    """Return the course that a dish of the catalogue belongs to."""
    return next((c for c in COURSES if dish_like in c.dishes), None)


@dataclass(frozen=True)
class Short:
    """A meal whose mains are fewer than its people."""

    meal: str
    portions: int
    people: int

    @property
    def each(self) -> str:
        """Return how much of a portion each of them has."""
        return f"{self.portions / self.people:.1f}"


def short_of_mains(event: Event, plan: Plan) -> list[Short]:
    """Return the meals at which some go without a main dish, counting what found a place."""
    mains = {d.id: d for d in event.dishes if course_of(d.like) == COURSES[0]}
    short: list[Short] = []
    for meal in event.meals:
        asked = {d.id for d in mains.values() if d.meal == meal.id}
        portions = sum(p.portions for p in plan.placements if p.dish_id in asked)
        if asked and portions < meal.portions:
            short.append(Short(meal.name, portions, meal.portions))
    return short


def shared_portions(people: int, per_head: float, dishes: int) -> int:
    """Return the portions of one dish where a course's dishes share its people."""
    return max(1, math.ceil(round(people * per_head / dishes, 6)))


def menu_of(form: Mapping[str, str], people: int, faults: list[Fault]) -> list[Portions]:
    """Return the dishes that are ticked with their portions; what can't be read is a fault."""
    ticked = {d for d in form.get("dish", "").split(",") if d in entries("dish")}
    if not any(not _is_none(form, d) for d in ticked):
        faults.append(WHOLE_FILE.fault("Dishes", "", "no-dish-ticked"))
    menu: list[Portions] = []
    for course in COURSES:
        dishes = [d for d in course.dishes if d in ticked and not _is_none(form, d)]
        per_head = _per_head(form, course, faults)
        for dish in dishes:
            shared = shared_portions(people, per_head, len(dishes))
            own = form.get(f"portions.{dish}", "").strip()
            menu.append(Portions(dish, _whole(own, dish, faults) if own else shared))
    return menu


def mass_kg(menu: Iterable[Portions]) -> float:
    """Return what a menu weighs before it is cooked."""
    return sum(p.portions * _portion_kg(p.dish_id) for p in menu)


def tin_litres(menu: Iterable[Portions]) -> float:
    """Return how much of a menu is baked in tins."""
    baked = {p.dish_id: p for p in menu if entries("dish")[p.dish_id].get("shape") == "baked"}
    each = {d: float(str(entries("dish")[d].get("litres_per_kg", 1))) for d in baked}
    return sum(mass_kg([p]) * each[d] for d, p in baked.items())


def _per_head(form: Mapping[str, str], course: Course, faults: list[Fault]) -> float:
    text = form.get(f"heads.{course.key}", "").strip().replace(",", ".") or str(course.per_head)
    try:
        per_head = float(text)
    except ValueError:
        per_head = math.nan
    if not 0 < per_head <= PER_HEAD_MOST:
        label, usual = f"{course.name} for each person", course.per_head
        faults.append(
            WHOLE_FILE.fault(label, f"“{text}”", "per-head", most=PER_HEAD_MOST, usual=usual)
        )
        return course.per_head
    return per_head


def _is_none(form: Mapping[str, str], dish: str) -> bool:
    """Return whether 0 portions of a dish are typed: it is left out."""
    return form.get(f"portions.{dish}", "").strip() == "0"


def _whole(text: str, dish: str, faults: list[Fault]) -> int:
    if text.isdecimal() and 0 < int(text) <= 5000:
        return int(text)
    label = f"Portions of {entries('dish')[dish]['name']}"
    faults.append(WHOLE_FILE.fault(label, f"“{text}”", "whole-from-to", least=1, most=5000))
    return 1


@cache
def _portion_kg(dish: str) -> float:
    table = from_ingredients(resolve("dish", {"like": dish}), WHOLE_FILE, [])
    return float(str(table["portion_kg"]))
