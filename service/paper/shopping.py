"""What is bought and carried: food as shops sell it, water, cold boxes, tools, by the menu.

All ratios that are not of a dish itself are common practice, no published source.
"""

from __future__ import annotations

from collections import defaultdict

from events.model import Dish, Event
from events.reading.foods import Food, foods
from service.text import formatting
from solver.plan import Plan

Facts = dict[str, object]
DRINK_L_H = 0.5  # for each helper
HANDS_L, WASHING_UP_L = 10.0, 10.0  # for the day, and for each meal
ICE_KG_PER_KG = 1.0  # of food
COLD_BOX_C = 5.0
SPARE_PLATES = 0.1


def shopping(event: Event, dishes: list[Dish]) -> list[Facts]:
    """Return what the placed dishes take, as it is bought: dry, in pieces, in tins; no water."""
    kilos: dict[str, float] = defaultdict(float)
    of: dict[str, Food] = {}
    for name, kg in _amounts(dishes):
        food = foods().get(name)
        shop = food.shop if food else name.replace("-", " ")
        kilos[shop] += kg * (food.bought_kg if food else 1.0)
        if food:
            of[shop] = food
    kilos.pop("water", None)
    return [
        {"food": shop, "amount": _amount(event, kg, of.get(shop)), "kg": round(kg, 3)}
        for shop, kg in sorted(kilos.items())
    ]


def _amounts(dishes: list[Dish]) -> list[tuple[str, float]]:
    """Return each food and its mass: portions larger than the recipe's take more of each."""
    out = [(d.name, d.mass_kg) for d in dishes if not d.ingredients]
    for dish in dishes:
        recipe_kg = sum(i.portion_kg for i in dish.ingredients)
        out += [(i.food, dish.mass_kg * i.portion_kg / recipe_kg) for i in dish.ingredients]
    return out


def _amount(event: Event, kg: float, food: Food | None) -> str:
    if food is not None and food.each_kg:
        return f"{-(-kg // food.each_kg):.0f} ({formatting.mass(event, kg)})"
    if food is not None and food.tins:
        drained = formatting.mass(event, kg / food.bought_kg)
        return f"{formatting.mass(event, kg)}, or {drained} drained from tins"
    return formatting.mass(event, kg)


def water(event: Event, dishes: list[Dish]) -> list[str]:
    """Return the water to carry: for the pots, to drink, for hands and washing up."""
    pots = sum(kg * food.water_kg for name, kg in _amounts(dishes) if (food := foods().get(name)))
    hours = sum(
        h.end.hour - h.start.hour + (h.end.minute - h.start.minute) / 60 for h in event.helpers
    )
    wash = HANDS_L + WASHING_UP_L * len(event.meals)
    parts = ((pots, "for the pots"), (hours * DRINK_L_H, "for the helpers to drink"))
    return [
        *(f"Water {what}: {formatting.volume(event, litres)}" for litres, what in parts),
        f"Water for hands and washing up: {formatting.volume(event, wash)}",
    ]


def cold_boxes(event: Event, dishes: list[Dish]) -> list[str]:
    """Return the cold boxes and their ice: raw meat and fish have one of their own."""
    meat, rest = 0.0, 0.0
    for name, kg in _amounts(dishes):
        food = foods().get(name)
        if food is not None and food.raw_meat:
            meat += kg
        elif food is not None and food.cold:
            rest += kg
    limit = formatting.temp(event, COLD_BOX_C)
    return [
        f"Cold box for {what}: {formatting.mass(event, kg)} and as much ice, "
        f"{formatting.mass(event, kg * ICE_KG_PER_KG)}; a thermometer in it, at most {limit}"
        for kg, what in ((meat, "raw meat and fish, nothing else in it"), (rest, "eggs and dairy"))
        if kg > 0
    ]


def tools(event: Event, plan: Plan, dishes: list[Dish]) -> list[str]:
    """Return what is cut, dished out and eaten with, counted."""
    adults = sum(h.adult for h in event.helpers)
    most = max((m.portions for m in event.meals), default=0)
    out = [f"Boards and knives: {max(1, min(adults, len(dishes)))}"]
    if any(d.raw_meat for d in dishes):
        out.append("One more board and knife, marked: for raw meat and fish only")
    ladles = max((sum(d.meal == m.id for d in dishes) for m in event.meals), default=0)
    out.append(f"Ladles and serving spoons: {ladles}, one for each dish of a meal, never shared")
    out.append(f"Plates and cutlery: {most + -(-most * SPARE_PLATES // 1):.0f}")
    stirred = any(j.kind == "stir" for j in plan.jobs)
    return [*out, "Long spoons for stirring"] if stirred else out
