"""What a food can be made of that a guest must know, and the words that people write for it.

Sources
[EU]  Regulation (EU) 1169/2011 Annex II: the fourteen; gluten is of wheat, rye, barley and oats.
[US]  FALCPA 2004 and FASTER Act 2021: the nine; of the cereals, wheat alone.
Both lists are from memory. Synonyms are common usage, no published source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal, get_args

Allergen = Literal[
    "celery",
    "gluten",
    "crustaceans",
    "eggs",
    "fish",
    "lupin",
    "milk",
    "molluscs",
    "mustard",
    "nuts",
    "peanuts",
    "sesame",
    "soya",
    "sulphites",
    "wheat",
]
ALLERGENS: tuple[Allergen, ...] = get_args(Allergen)
EU_14: tuple[Allergen, ...] = tuple(a for a in ALLERGENS if a != "wheat")  # [EU]
US_9: tuple[Allergen, ...] = (  # [US]
    *("milk", "eggs", "fish", "crustaceans", "nuts", "peanuts", "wheat", "soya", "sesame"),
)

# What else a food can be made of: who eats by a rule of faith or conscience asks for these.
Diet = Literal["meat", "pork", "alcohol", "honey", "rennet"]
DIETS: tuple[Diet, ...] = get_args(Diet)
FoodFact = Allergen | Diet
FOOD_FACTS: tuple[FoodFact, ...] = (*ALLERGENS, *DIETS)
NOT_VEGETARIAN: frozenset[FoodFact] = frozenset(
    ("meat", "pork", "fish", "crustaceans", "molluscs", "rennet")
)
NOT_VEGAN: frozenset[FoodFact] = NOT_VEGETARIAN | {"milk", "eggs", "honey"}

# Words in the singular; plurals are read too. "Shellfish" is both kinds: US law means the one,
# British English the other as well, and one named too many hurts nobody.
_ALLERGEN_WORDS: dict[Allergen, tuple[str, ...]] = {
    "celery": ("celery", "celeriac"),
    "gluten": ("gluten", "cereal containing gluten", "rye", "barley", "oat", "malt"),
    "wheat": ("wheat", "spelt", "durum", "semolina", "bulgur", "couscous", "seitan"),
    "crustaceans": (
        *("crustacean", "crustacean shellfish", "shellfish"),
        *("prawn", "shrimp", "crab", "lobster", "crayfish"),
    ),
    "eggs": ("egg",),
    "fish": (
        *("fish", "anchovy", "salmon", "tuna", "cod", "trout", "mackerel", "herring"),
        *("sardine", "haddock", "tilapia"),
    ),
    "lupin": ("lupin", "lupine"),
    "milk": ("milk", "dairy", "lactose", "cheese", "butter", "cream", "yoghurt", "yogurt"),
    "molluscs": (
        *("mollusc", "mollusk", "shellfish", "mussel", "oyster", "clam"),
        *("squid", "octopus", "snail"),
    ),
    "mustard": ("mustard",),
    "nuts": (
        *("nut", "tree nut", "almond", "hazelnut", "walnut", "cashew"),
        *("pecan", "pistachio", "macadamia", "brazil nut"),
    ),
    "peanuts": ("peanut", "groundnut"),
    "sesame": ("sesame", "sesame seed", "tahini"),
    "soya": ("soya", "soy", "soybean", "soya bean", "soy bean", "tofu"),
    "sulphites": ("sulphite", "sulfite", "sulphur dioxide", "sulfur dioxide", "so2"),
}
_DIET_WORDS: dict[Diet, tuple[str, ...]] = {
    "meat": (
        *("meat", "beef", "chicken", "turkey", "duck", "goose", "poultry", "lamb", "mutton"),
        *("veal", "venison", "rabbit", "sausage", "meatball", "carne", "hamburger"),
    ),
    "pork": ("pork", "bacon", "ham", "chorizo", "salami"),
    "alcohol": ("alcohol", "wine", "beer", "rum", "brandy", "cider", "sherry"),
    "honey": ("honey",),
    "rennet": ("rennet",),
}
# Foods that are called after one of these and have none of it.
_NONE_OF_IT = re.compile(r"coconut (milk|cream)|cocoa butter|(?<=peanut) butter|butter ?beans?")
# In a dish's name these ask whether its beans are kidney beans.
_BEANS = (
    *("bean", "kidney", "haricot", "frijol", "bohne", "fagiol", "feij", "rajma", "cannellini"),
    *("borlotti", "pinto", "flageolet", "cassoulet", "chili con", "chilli con", "chili sin"),
    *("chilli sin", "habichuela", "poroto", "alubia"),
)
# Raw, until its file says otherwise, is a dish that is called after one of these.
FLESH: frozenset[FoodFact] = frozenset(("meat", "fish", "crustaceans", "molluscs"))
_PLANTS = re.compile(r"vegan|vegetarian|veggie|sin carne|meat(less|[ -]free)|plant[ -]based")
# Cooked and moist, these spoil when they stand (rice and pulses: Bacillus cereus; from memory).
_SPOIL = ("rice", "pasta", "noodle", "potato", "bean", "lentil", "chickpea", "tofu", "gravy")
_FOLLOWS: dict[FoodFact, FoodFact] = {"wheat": "gluten", "pork": "meat"}  # the one is the other too


def with_implied(facts: Iterable[FoodFact]) -> frozenset[FoodFact]:
    """Return the facts with those that follow: wheat is gluten, pork is meat."""
    given = frozenset(facts)
    return given | {_FOLLOWS[f] for f in given if f in _FOLLOWS}


def allergens_of(word: str) -> tuple[Allergen, ...]:
    """Return the allergens that a word stands for, in the order of the list; none if unknown."""
    found = _WORDS.get(singular(word), frozenset())
    return tuple(a for a in ALLERGENS if a in found)


def allergen_words() -> list[str]:
    """Return every word that stands for an allergen, as it may be written in an event file."""
    return sorted({w for words in _ALLERGEN_WORDS.values() for w in words} | {*ALLERGENS})


def named(name: str) -> frozenset[FoodFact]:
    """Return what a dish's name speaks of: "Prawn soup" speaks of crustaceans."""
    words = singular(_NONE_OF_IT.sub(" ", name.casefold())).split()
    return frozenset(fact for word in words for fact in _WORDS.get(word, ()))


def names_beans(name: str) -> bool:
    """Return whether a dish's name speaks of beans, in one of a few languages."""
    return any(stem in name.casefold() for stem in _BEANS)


def names_flesh(name: str) -> bool:
    """Return whether a dish's name speaks of meat or fish, and not of what stands in for it."""
    return bool(named(name) & FLESH) and not _PLANTS.search(name.casefold())


def names_what_spoils(name: str) -> bool:
    """Return whether a dish's name speaks of what must be kept hot or cold once it is cooked."""
    words = singular(name.casefold().replace("milk chocolate", "")).split()
    speaks_of = {fact for word in words for fact in _WORDS.get(word, ())}
    return bool(speaks_of & (FLESH | {"milk", "eggs"}) or set(words) & set(_SPOIL))


def singular(text: str) -> str:
    """Return words in small letters and in the singular, as far as their ends tell."""
    return " ".join(map(_one, re.findall(r"[^\W_]+", text.casefold())))


def _one(word: str) -> str:
    if word.endswith("ies"):
        return word[:-3] + "y"
    if word.endswith("oes"):
        return word[:-2]
    return word.removesuffix("s")


def _by_word() -> dict[str, frozenset[FoodFact]]:
    out: dict[str, frozenset[FoodFact]] = {}
    pairs: list[tuple[FoodFact, tuple[str, ...]]] = [
        *_ALLERGEN_WORDS.items(),
        *_DIET_WORDS.items(),
    ]
    for fact, words in pairs:
        for word in map(singular, words):
            out[word] = out.get(word, frozenset()) | with_implied([fact])
    return out


_WORDS = _by_word()
