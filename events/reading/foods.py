"""The catalogue's foods, and what a dish contains by its ingredients and by what is declared."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Literal, cast

from events.allergens import (
    ALLERGENS,
    DIETS,
    FOOD_FACTS,
    FoodFact,
    named,
    singular,
    with_implied,
)
from events.model import Dish
from events.reading.catalogue import entries

Answer = Literal["yes", "no", "unknown"]


@dataclass(frozen=True)
class Food:
    """One food: what it is made of, what a guest must know of it, and how it is bought."""

    id: str
    composition: dict[str, float]
    contains: frozenset[FoodFact]
    label: frozenset[FoodFact]  # only its label says
    hazardous: bool  # cooked and moist it must be kept hot or cold
    raw_meat: bool
    beans: bool
    cold: bool  # carried cold
    washed: bool  # before it is cut: vegetables and fruit
    shop: str  # what it is called on the list of what to buy
    bought_kg: float  # of what is bought, for a kilogram in the dish
    tins: bool  # may be bought in tins instead
    each_kg: float | None  # bought by number, of this mass each
    water_kg: float  # of water carried, for a kilogram in the dish
    z_c: float | None  # by which it softens, where that is not the general figure


@cache
def foods() -> dict[str, Food]:
    """Return the catalogue's foods by id."""
    return {name: _food(name, entry) for name, entry in entries("food").items()}


def food_called(words: str) -> str | None:
    """Return the id of the food that people call so, in the plural too; None if there is none."""
    return _by_name().get(singular(words))


@cache
def _by_name() -> dict[str, str]:
    bare = Counter(singular(_bare(name)) for name in foods())
    names = {singular(_bare(n)): n for n in foods() if bare[singular(_bare(n))] == 1}
    names |= {singular(f.shop): name for name, f in foods().items()}
    return names | {singular(name): name for name in foods()}


def _bare(name: str) -> str:
    """Return a food's name without how it is bought: who says rice means dry rice."""
    return name.removesuffix("-dry").removesuffix("-cooked")


def _food(name: str, entry: dict[str, object]) -> Food:
    buy = cast("dict[str, object]", entry.get("buy", {}))
    each = entry.get("each_kg")
    return Food(
        id=name,
        composition=cast("dict[str, float]", entry["composition"]),
        contains=with_implied(cast("list[FoodFact]", entry.get("contains", []))),
        label=with_implied(cast("list[FoodFact]", entry.get("label", []))),
        hazardous=entry.get("hazardous") is not False,
        raw_meat=entry.get("raw_meat") is True,
        beans=entry.get("beans") is True,
        cold=entry.get("cold") is True,
        washed=entry.get("washed") is True,
        shop=str(buy.get("as") or entry.get("shop") or name.replace("-", " ")),
        bought_kg=float(str(buy.get("kg_per_kg", 1.0))),
        tins=entry.get("tins") is True,
        each_kg=None if each is None else float(str(each)),
        z_c=None if "z_c" not in entry else float(str(entry["z_c"])),
        water_kg=1.0 if name == "water" else float(str(entry.get("carry_water", 0.0))),
    )


@dataclass(frozen=True)
class Contents:
    """What a dish contains, what nobody can say, and what else was declared in words.

    A fact in neither set is in none of its ingredients.
    """

    contains: frozenset[FoodFact]
    unknown: frozenset[FoodFact]
    also: tuple[str, ...]
    whole: bool  # every ingredient is known, or somebody has read every label

    def says(self, fact: FoodFact) -> Answer:
        """Return whether a fact is so; "unknown" is never "no"."""
        if fact in self.contains:
            return "yes"
        return "unknown" if fact in self.unknown else "no"

    def free_of(self, facts: Iterable[FoodFact]) -> Answer:
        """Return whether a dish has none of some facts."""
        answers = {self.says(f) for f in facts}
        return "no" if "yes" in answers else "unknown" if "unknown" in answers else "yes"


def contents(dish: Dish) -> Contents:
    """Return what a dish contains, from its ingredients and from what is declared.

    Unknown is what only a label says, what the dish's name speaks of and nobody declared, and
    everything where there is no ingredient, or one that the catalogue has not. Labels that were
    read tell allergens, not who may eat it: where ingredients are missing, meat stays unknown, and
    so it does where something was added in words that we don't know.
    """
    parts = [foods().get(i.food) for i in dish.ingredients]
    whole = bool(parts) and None not in parts
    added = [foods().get(food_called(words) or "") for words in dish.also_contains]
    known = [p for p in (*parts, *added) if p is not None]
    spoken = [with_implied(named(words)) for words in dish.also_contains]
    has = with_implied(dish.allergens).union(*(p.contains for p in known), *spoken)
    unknown: frozenset[FoodFact] = frozenset()
    if not whole:
        unknown = frozenset(FOOD_FACTS)
    elif not dish.allergens_checked:
        unknown = named(dish.name).union(*(p.label for p in known))
    if dish.allergens_checked:
        unknown -= frozenset(ALLERGENS)
    if any(food is None and not facts for food, facts in zip(added, spoken, strict=True)):
        unknown |= frozenset(DIETS)
    return Contents(has, unknown - has, dish.also_contains, whole or dish.allergens_checked)
