"""What the cookers take by the meal on a clear day, baked and boiled: told before any plan is made.

No timetable is made: hands are not counted, nor who waits for which pot. So a plan takes less.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from events.model import Cooker, Dish, Event
from events.site import Weather
from events.table import changed
from solver.feasibility.dish_matrix import SPLITS_MOST, dish_matrix
from solver.policy import SLOT_MIN
from solver.scheduling.starts import usual_empty_min
from solver.solar.windows import windows

BETWEEN_MIN = 2 * SLOT_MIN  # a pot is lifted, the next is loaded (judgement)


@dataclass(frozen=True)
class Takes:
    """What the cookers can have ready at most, beside what is asked of them."""

    boiled_kg: float  # what needs no oven; of the ovens, what baking leaves of them
    boiled_asked_kg: float
    bakes: int  # an oven bakes one thing after another
    bakes_asked: int
    never_ids: tuple[str, ...]  # dishes that none of them has ready, however little of it


@dataclass(frozen=True)
class _Way:
    """A dish in a cooker that has it ready in time: how much at once, and how often in turn."""

    dish: Dish
    kg: float
    times: float


def takes(event: Event) -> Takes:
    """Return what the cookers can have ready for the meals, by what the dishes ask of a cooker.

    Each cooker is taken to cook the menu's own mix, as far as it can cook it in time.
    """
    asked = {d.id: math.ceil(d.mass_kg / _potful(event, d).mass_kg - 1e-9) for d in event.dishes}
    bakes_asked = sum(n for dish_id, n in asked.items() if _is_baked(event.dish(dish_id)))
    bakes, boiled_kg, beside_kg = 0.0, 0.0, 0.0
    ready: set[str] = set()
    for cookers, ways in _ways(event):
        ready |= {w.dish.id for w in ways}
        baked = [w for w in ways if _is_baked(w.dish)]
        boiled = [w for w in ways if not _is_baked(w.dish)]
        bakes += len(cookers) * _mean([w.times for w in baked], [asked[w.dish.id] for w in baked])
        kg = [w.times * w.kg for w in boiled]
        takes_kg = len(cookers) * _mean(kg, [w.dish.mass_kg for w in boiled])
        if baked:
            beside_kg += takes_kg
        else:
            boiled_kg += takes_kg
    left = max(0.0, 1 - bakes_asked / bakes) if bakes else 0.0
    return Takes(
        boiled_kg=boiled_kg + left * beside_kg,
        boiled_asked_kg=sum(d.mass_kg for d in event.dishes if not _is_baked(d)),
        bakes=int(bakes + 1e-9),
        bakes_asked=bakes_asked,
        never_ids=tuple(d.id for d in event.dishes if d.id not in ready),
    )


def _is_baked(dish: Dish) -> bool:
    return dish.needs_body_c is not None


def _mean(values: Sequence[float], weights: Sequence[float]) -> float:
    whole = sum(v * w for v, w in zip(values, weights, strict=True))
    return whole / sum(weights) if weights else 0.0


def _ways(event: Event) -> list[tuple[list[Cooker], list[_Way]]]:
    """Return the cookers that are alike, and what each of them has ready: a potful of each dish.

    What none has ready so is tried in the smallest pots a plan would take.
    """
    alike = _alike(event.cookers)
    first = changed(event, weather=Weather(), cookers=tuple(cookers[0] for cookers in alike))
    sunny = {w.cooker_id: w.stretches for w in windows(first)}
    by_cooker: defaultdict[str, list[_Way]] = defaultdict(list)

    def add(sizes: dict[str, Dish]) -> set[str]:
        cells = dish_matrix(first, list(sizes.values()), as_planned=False)
        for cell in (c for c in cells if c.expected_min is not None and not c.late):
            dish, begins = sizes[cell.dish_id], [first.instant(first.site.opens)]
            begins += [s.starts_at for s in sunny.get(cell.cooker_id, ()) if s.ends_at > begins[0]]
            on_min = (first.instant(first.meal(dish.meal).start) - max(begins[:2])).total_seconds()
            times = _times(dish, on_min / 60, cell.expected_min or 0)
            by_cooker[cell.cooker_id].append(_Way(dish, dish.mass_kg / cell.batches, times))
        return {w.dish.id for ways in by_cooker.values() for w in ways}

    ready = add({d.id: _potful(event, d) for d in event.dishes})
    if hard := {d.id: _least(d) for d in event.dishes if d.id not in ready}:
        add(hard)
    return [(cookers, by_cooker[cookers[0].id]) for cookers in alike]


def _alike(cookers: tuple[Cooker, ...]) -> list[list[Cooker]]:
    """Return the cookers that make heat, those with the same figures together."""
    groups: defaultdict[str, list[Cooker]] = defaultdict(list)
    for cooker in cookers:
        if not cooker.keeps_heat_only:
            groups[changed(cooker, id="x", name="x").model_dump_json()].append(cooker)
    return list(groups.values())


def _potful(event: Event, dish: Dish) -> Dish:
    """Return as much of a dish as the largest pot for it holds."""
    holds = [p.litres for p in event.pots if dish.shape in p.holds]
    portion_litres = dish.portion_kg * dish.litres_per_kg
    return changed(dish, portions=max(1, int(max(holds, default=0.0) / portion_litres)))


def _least(dish: Dish) -> Dish:
    parts = min(dish.batches_max, SPLITS_MOST)
    return changed(dish, portions=max(1, math.ceil(dish.portions / parts)))


def _times(dish: Dish, on_min: float, cooks_min: float) -> float:
    """Return how often in turn a cooker has a dish ready; an oven heats up before each.

    What is served hot stays in its cooker until then: one load. All else waits as long as it may.
    """
    if dish.serve_hot:
        return 1.0
    each_min = usual_empty_min(dish) + cooks_min + BETWEEN_MIN
    in_turn = (on_min + BETWEEN_MIN) // each_min
    return max(1.0, min(in_turn, 1 + dish.holding_max_min // each_min))
