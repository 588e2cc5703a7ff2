"""How much food the cookers take by the meal on a clear day: an estimate before any plan is made.

No timetable is made: hands are not counted, nor who waits for which pot. So a plan takes less.
"""

from __future__ import annotations

from collections import defaultdict

from events.model import Cooker, Dish, Event
from events.site import Weather
from events.table import changed
from solver.feasibility.dish_matrix import Cell, dish_matrix
from solver.plan import Window
from solver.policy import SLOT_MIN
from solver.solar.windows import windows

BETWEEN_MIN = 2 * SLOT_MIN  # a pot is lifted, the next is loaded (judgement)


def takes_kg(event: Event) -> float:
    """Return the mass in kg that the cookers can have ready for its meals, at most.

    Each cooker is taken to cook the menu's own mix, by weight, as far as it can cook it in time.
    """
    clear = changed(event, weather=Weather(), dishes=tuple(_potful(event, d) for d in event.dishes))
    alike = _alike(event.cookers)
    first = changed(clear, cookers=tuple(cookers[0] for cookers in alike))
    sunny = {w.cooker_id: w for w in windows(first)}
    in_time = [c for c in dish_matrix(first) if c.expected_min is not None and not c.late]
    whole_kg = 0.0
    for cookers in alike:
        own = [c for c in in_time if c.cooker_id == cookers[0].id]
        weights_kg = [event.dish(c.dish_id).mass_kg for c in own]
        if own:
            loads_kg = [_loads_kg(first, c, sunny.get(c.cooker_id)) for c in own]
            mix = sum(k * w for k, w in zip(loads_kg, weights_kg, strict=True))
            whole_kg += len(cookers) * mix / sum(weights_kg)
    return whole_kg


def _potful(event: Event, dish: Dish) -> Dish:
    """Return as much of a dish as the largest pot for it holds."""
    holds = [p.litres for p in event.pots if dish.shape in p.holds]
    portion_litres = dish.portion_kg * dish.litres_per_kg
    return changed(dish, portions=max(1, int(max(holds, default=0.0) / portion_litres)))


def _alike(cookers: tuple[Cooker, ...]) -> list[list[Cooker]]:
    """Return the cookers that make heat, those with the same figures together."""
    groups: defaultdict[str, list[Cooker]] = defaultdict(list)
    for cooker in cookers:
        if not cooker.keeps_heat_only:
            groups[changed(cooker, id="x", name="x").model_dump_json()].append(cooker)
    return list(groups.values())


def _loads_kg(event: Event, cell: Cell, sunny: Window | None) -> float:
    """Return what a cooker takes of one dish, one load after another.

    What is served hot stays in its cooker until then: one load. All else waits as long as it may.
    """
    dish = event.dish(cell.dish_id)
    one_kg = dish.mass_kg / cell.batches
    if dish.serve_hot:
        return one_kg
    meal_at, from_at = event.instant(event.meal(dish.meal).start), event.instant(event.site.opens)
    begins = [s.starts_at for s in sunny.stretches if s.ends_at > from_at] if sunny else []
    each_min = (cell.expected_min or 0) + BETWEEN_MIN
    in_sun = (meal_at - max([from_at, *begins[:1]])).total_seconds() / 60 // each_min
    return max(1.0, min(in_sun, 1 + dish.holding_max_min // each_min)) * one_kg
