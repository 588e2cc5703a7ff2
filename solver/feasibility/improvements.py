"""The smallest changes that would help a refused or unsure dish, found by planning again.

Each is tried on the whole event: it counts only if the dish gets better and no other is lost.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from events.errors import PlanBroken
from events.model import Dish, Event
from solver.feasibility.changes import (
    EatLater,
    EatSooner,
    EventChange,
    LeaveOut,
    Step,
    change_id,
    changed_event,
    changes_for,
    is_tried,
)
from solver.feasibility.outcomes import (
    DISH_GAIN_LEAST,
    NOTHING,
    Fall,
    Outcome,
    bearable,
    fall_of,
    is_gas_day,
    outcome_of,
    weakest,
)
from solver.plan import Plan
from solver.planning.pipeline import make_plan

TRIES_A_DISH = 12
DISHES_MOST = 3
UNSURE_BELOW = 5  # points under the event's chance from which a placed dish is in trouble


class Improvement(Step):
    """One change that helps a dish, and what it would bring."""

    id: str
    dish_id: str
    change: EventChange
    newly_placed: bool  # the dish was refused before
    was_of_100: int | None  # the dish's chance as the event is; of the least sure meal, left out
    of_100: int | None  # its chance with the change
    placed: int  # how many dishes are placed then
    off_gas: bool = False  # it was on gas, and is cooked by the sun then
    fall: Fall | None = None  # the meal that is less sure for it


@dataclass(frozen=True)
class Tries:
    """What is known of the changes that are tried, one after another."""

    worth_making: tuple[Improvement, ...]
    tried: tuple[EventChange, ...]
    about: int  # how many there may be
    next: EventChange | None  # the first that is not tried yet


def improvements(event: Event, plan: Plan) -> list[Improvement]:
    """Return changes worth making, for the dishes that are refused or under the chosen chance."""

    @cache
    def tried(change: EventChange) -> Outcome:
        try:
            return outcome_of(make_plan(changed_event(event, change), hurried=True))
        except PlanBroken:
            return NOTHING

    return list(tries(event, plan, tried).worth_making)


def tries(event: Event, plan: Plan, known: Callable[[EventChange], Outcome | None]) -> Tries:
    """Return what is known of the changes for the dishes in trouble; None is not tried yet.

    The smallest change of a kind that helps is enough: no larger one is tried then.
    """
    before = outcome_of(plan)
    asked = {
        dish.id: _tried_for(event, plan, dish)[:TRIES_A_DISH]
        for dish in in_trouble(event, plan)[:DISHES_MOST]
    }
    worth_making: list[Improvement] = []
    first, seen, skipped = None, list[EventChange](), 0
    for dish_id, changes in asked.items():
        enough: set[str] = set()
        for change in changes:
            if change.kind in enough:
                skipped += 1
                continue
            after = known(change)
            if after is None:
                first = first or change
                continue
            seen.append(change)
            improvement = _judged(event, event.dish(dish_id), change, before, after)
            if improvement is not None:
                worth_making.append(improvement)
                enough.add(change.kind)
    about = sum(map(len, asked.values())) - skipped
    return Tries(tuple(worth_making), tuple(seen), about, first)


def in_trouble(event: Event, plan: Plan) -> list[Dish]:
    """Return the dishes that are refused, unsure, or on gas for want of sun; the worst first."""
    refused = {u.dish_id for u in plan.unplaced}
    chance = outcome_of(plan).dish_of_100
    least = event.chance_pct - UNSURE_BELOW
    on_gas = {p.dish_id for p in plan.placements} if is_gas_day(event, plan) else set[str]()
    bad = [
        d
        for d in event.dishes
        if d.id in refused or chance.get(d.id, 100) < least or d.id in on_gas
    ]
    return sorted(bad, key=lambda d: (d.id not in refused, -d.priority, chance.get(d.id, 0)))


def _tried_for(event: Event, plan: Plan, dish: Dish) -> list[EventChange]:
    """Return what is tried for a dish: on a gas day other hours, left out only the weakest."""
    changes = [c for c in changes_for(event, dish) if is_tried(event, c)]
    if is_gas_day(event, plan) and dish.id not in {u.dish_id for u in plan.unplaced}:
        return [c for c in changes if isinstance(c, EatLater | EatSooner)]
    return [c for c in changes if not isinstance(c, LeaveOut) or weakest(plan) == dish.id]


def _judged(
    event: Event, dish: Dish, change: EventChange, before: Outcome, after: Outcome
) -> Improvement | None:
    """Return what a change brings a dish, or None where that is not worth its trouble."""
    left_out = {dish.id} if isinstance(change, LeaveOut) else set[str]()
    was, now = before.dish_of_100.get(dish.id), after.dish_of_100.get(dish.id)
    newly_placed = dish.id in after.placed_ids - before.placed_ids
    off_gas = dish.id in before.on_gas_ids - after.on_gas_ids and dish.id in after.placed_ids
    fall = fall_of(before, after)
    if not before.placed_ids - left_out <= after.placed_ids:
        return None
    if left_out:
        was, now = before.of_100, after.of_100
        helps = dish.id in before.placed_ids and (now or 0) >= (was or 0) + DISH_GAIN_LEAST
    elif newly_placed or (off_gas and isinstance(change, EatLater | EatSooner)):
        helps = bearable(fall, max(1, len(after.placed_ids - before.placed_ids)))
    else:
        gain = (now or 0) - (was or 0)
        helps = was is not None and now is not None and gain >= DISH_GAIN_LEAST
    if not helps or (fall and not newly_placed):
        return None
    return Improvement(
        id=change_id(dish, change),
        dish_id=dish.id,
        change=change,
        newly_placed=newly_placed,
        was_of_100=was,
        of_100=now,
        placed=len(after.placed_ids),
        off_gas=off_gas,
        fall=fall,
    )
