"""What guests are told of a dish: its allergens and who may eat it. One list for every place.

The same figures stand on the board, on cards, on the sheet and on pages. What nobody can say is
said to be unknown, never left out.
"""

from __future__ import annotations

from events.allergens import (
    ALLERGENS,
    EU_14,
    NOT_VEGAN,
    NOT_VEGETARIAN,
    US_9,
    Allergen,
    FoodFact,
)
from events.model import Dish, Event
from events.reading.foods import Answer, Contents, contents

US_NAMES: dict[Allergen, str] = {
    "crustaceans": "crustacean shellfish",
    "molluscs": "mollusks",
    "nuts": "tree nuts",
    "soya": "soy",
    "sulphites": "sulfites",
}
MARK: dict[Answer, str] = {"yes": "X", "unknown": "?", "no": "–"}
ASK = "ask, before anybody eats it"


def columns(event: Event) -> tuple[Allergen, ...]:
    """Return the allergens in the order of the place's own list, then those of the other list."""
    own = US_9 if is_american(event) else EU_14
    return (*own, *(a for a in ALLERGENS if a not in own))


def is_american(event: Event) -> bool:
    """Return whether the place's own list of allergens is the US nine."""
    rules = event.site.food_rules
    return rules == "US" or (rules == "strictest" and event.units == "us")


def name_of(event: Event, allergen: Allergen) -> str:
    """Return what an allergen is called at the place."""
    return US_NAMES.get(allergen, allergen) if is_american(event) else allergen


def sentence(event: Event, dish: Dish) -> str:
    """Return what a dish contains and what is not known, for those who are about to eat it."""
    of = contents(dish)
    has = [*_names(event, of, "yes"), *of.also]
    parts = [f"Contains {', '.join(has)}."] if has else []
    if not of.whole:
        parts.append(f"{'Other allergens' if has else 'Allergens'} not known: {ASK}.")
    elif unknown := _names(event, of, "unknown"):
        parts.append(f"Not known: {', '.join(unknown)}; {ASK}.")
    elif not has:
        parts.append("No listed allergen among its ingredients.")
    return " ".join(parts)


def _names(event: Event, of: Contents, answer: Answer) -> list[str]:
    """Return the allergens with one answer; wheat and its gluten are one thing."""
    out = []
    for allergen in columns(event):
        if of.says(allergen) != answer:
            continue
        both = of.says("wheat") == of.says("gluten")
        if both and allergen == ("gluten" if is_american(event) else "wheat"):
            continue
        name = name_of(event, allergen)
        out.append("gluten (wheat)" if both and allergen == "gluten" else name)
    return out


def diet(event: Event, dish: Dish) -> str:
    """Return who may eat a dish, in a few words: vegan, vegetarian, with pork, with alcohol."""
    of = contents(dish)
    words = [*_flesh(event, of)]
    facts: tuple[FoodFact, ...] = ("pork", "alcohol")
    words += [f"with {f}" for f in facts if of.says(f) == "yes"]
    words += [f"{f} not known" for f in facts if of.says(f) == "unknown" and of.whole]
    return ", ".join(words)


def _flesh(event: Event, of: Contents) -> list[str]:
    if of.free_of(NOT_VEGAN) == "yes":
        return ["vegan"]
    vegetarian = of.free_of(NOT_VEGETARIAN)
    if vegetarian == "yes":
        return ["vegetarian"]
    if vegetarian == "no":
        seafood: tuple[Allergen, ...] = ("fish", "crustaceans", "molluscs")
        meat = ["with meat"] if of.says("meat") == "yes" else []
        return meat + [f"with {name_of(event, f)}" for f in seafood if of.says(f) == "yes"]
    if of.free_of(NOT_VEGETARIAN - {"rennet"}) == "yes":
        return ["vegetarian, but for the cheese’s rennet: not known"]
    return ["vegetarian or not: not known"]


def table(event: Event) -> dict[str, object]:
    """Return the sheet: a row for each dish; a mark, X, ? or –, in each column."""
    return {
        "list": "US 9, and the others of the EU 14" if is_american(event) else "EU and UK 14",
        "columns": [name_of(event, a) for a in columns(event)],
        "rows": [_row(event, d) for d in event.dishes],
    }


def _row(event: Event, dish: Dish) -> dict[str, object]:
    of = contents(dish)
    return {
        "food": dish.name,
        "marks": [MARK[of.says(a)] for a in columns(event)],
        "also": ", ".join(of.also),
        "diet": diet(event, dish),
    }
