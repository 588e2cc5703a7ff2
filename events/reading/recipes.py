"""A dish's table: mixed from its ingredients by mass, its allergens by the names of the list."""

from __future__ import annotations

from events.allergens import allergen_words, allergens_of, names_flesh
from events.errors import Fault, Place
from events.kinds import DONE_MODES
from events.reading.foods import Food, foods
from events.table import RawTable

PARTS = ("water", "protein", "fat", "carbohydrate", "fibre", "ash")


def from_ingredients(dish: RawTable, place: Place, faults: list[Fault]) -> RawTable:
    """Return a dish's table with what its ingredients say, where it is not given.

    That is its composition, the mass of a portion, whether it is raw meat, and its z_c where a
    food (a dry pulse) has one of its own. Where not every ingredient is known, a name that speaks
    of meat or fish counts as raw. A food that the catalogue has not is a fault where the
    composition is to come from it.
    """
    given = dish.get("ingredients")
    if not isinstance(given, (list, tuple)) or not given:
        return {"raw_meat": True, **dish} if is_called_raw(dish) else dish
    parts: list[tuple[Food, float]] = []
    for n, ingredient in enumerate(given, 1):
        row = ingredient if isinstance(ingredient, dict) else {}
        name, kg = row.get("food", ""), row.get("portion_kg", 0)
        if isinstance(kg, bool) or not isinstance(kg, (int, float)) or not kg > 0:
            return _as_if_whole(dish)  # the model names the fault
        food = foods().get(str(name))
        if food is not None:
            parts.append((food, float(kg)))
        elif "composition" not in dish or "portion_kg" not in dish:
            key, known = f"ingredients {n} food", tuple(foods())
            faults.append(place.fault(key, repr(name), "no-such-food", known=known))
            return _as_if_whole(dish)
    return _mixed(dish, parts, all_known=len(parts) == len(given))


def _as_if_whole(dish: RawTable) -> RawTable:
    """Return a dish's table without what an ingredient's fault would leave open: one is enough."""
    return {"composition": {"water": 1.0}, "portion_kg": 1.0, **dish}


def is_called_raw(dish: RawTable) -> bool:
    """Return whether a dish is called after meat or fish and was not cooked before."""
    cooked_before = any(dish.get("done") == key for key, m in DONE_MODES.items() if m.cooked_before)
    return names_flesh(str(dish.get("name", ""))) and not cooked_before


def _mixed(dish: RawTable, parts: list[tuple[Food, float]], *, all_known: bool) -> RawTable:
    mixed = dict(dish)
    mixed.setdefault("portion_kg", round(sum(kg for _, kg in parts), 4))
    raw = any(food.raw_meat for food, _ in parts) or (not all_known and is_called_raw(dish))
    mixed.setdefault("raw_meat", raw)
    own_z = [food.z_c for food, _ in parts if food.z_c is not None]
    if own_z:
        mixed.setdefault("z_c", min(own_z))
    if "composition" not in mixed:
        sums = {p: sum(kg * food.composition.get(p, 0.0) for food, kg in parts) for p in PARTS}
        whole = sum(sums.values())
        mixed["composition"] = {k: round(v / whole, 4) for k, v in sums.items()}
    return mixed


def with_allergens(dish: RawTable, place: Place, faults: list[Fault]) -> RawTable:
    """Return a dish's table with its declared allergens by the names of the list.

    A word that stands for none is a fault: nothing declared is ever lost.
    """
    given = dish.get("allergens")
    if not isinstance(given, (list, tuple)):
        return dish  # the model names the fault
    names: dict[str, None] = {}
    for word in given:
        named = allergens_of(word) if isinstance(word, str) else ()
        if not named:
            known = tuple(allergen_words())
            faults.append(place.fault("allergens", repr(word), "no-such-allergen", known=known))
        names |= dict.fromkeys(named)
    return {**dish, "allergens": list(names)}
