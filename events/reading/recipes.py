"""What a dish is made of, mixed from its ingredients by mass."""

from __future__ import annotations

from events.errors import Fault, Place
from events.reading.catalogue import entries
from events.table import RawTable

PARTS = ("water", "protein", "fat", "carbohydrate", "fibre", "ash")


def from_ingredients(dish: RawTable, place: Place, faults: list[Fault]) -> RawTable:
    """Return a dish's table with what its ingredients say, where it is not given.

    Composition and portion_kg; and z_c, where a food (a dry pulse) softens by one of its own.

    An unknown food is a fault, with the foods there are.
    """
    given = dish.get("ingredients")
    if not isinstance(given, (list, tuple)) or not given:
        return dish
    foods = entries("food")
    total, parts = 0.0, dict.fromkeys(PARTS, 0.0)
    for n, one in enumerate(given, 1):
        name, kg = (one.get("food"), one.get("portion_kg")) if isinstance(one, dict) else ("", 0)
        if name not in foods:
            there = ", ".join(foods)
            faults.append(
                place.fault(f"ingredients {n} food", repr(name), "is no food we know", there)
            )
            return dish
        if isinstance(kg, bool) or not isinstance(kg, (int, float)) or not kg > 0:
            return dish  # the model names the fault
        total += kg
        for part in PARTS:
            parts[part] += kg * float(str(foods[name].get(part, 0.0)))
    whole = sum(parts.values())
    out = dict(dish)
    out.setdefault("portion_kg", round(total, 4))
    own_z = [float(str(foods[g["food"]]["z_c"])) for g in given if "z_c" in foods[g["food"]]]
    if own_z:
        out.setdefault("z_c", min(own_z))
    if "composition" not in out:
        out["composition"] = {k: round(v / whole, 4) for k, v in parts.items()}
    return out
