"""The smallest changes that would let a refused or unsure dish in, found by planning again.

Each is tried on the whole event: it counts only if the dish gets better and no other is lost.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from datetime import datetime, time, timedelta

from pydantic import BaseModel, ConfigDict

from events.errors import PlanBroken
from events.model import Cooker, Dish, Event
from solver.plan import Plan
from solver.planning.pipeline import make_plan
from solver.risk.gas import USUAL_RING
from solver.scheduling.batches import may_cook

LATER_MIN = (15, 30, 60)
SMALLER = (0.75, 0.5)
EARLIER_MIN = 60
TRIES_A_DISH = 9
DISHES_MOST = 3
WORTH = 10  # points of a hundred that a change must add to be worth its trouble


class Fix(BaseModel):
    """One change that helps a dish, and what it would bring."""

    model_config = ConfigDict(frozen=True)

    id: str
    dish_id: str
    change: str  # what to do, in words
    effect: str  # what it brings, in words
    placed: int  # dishes placed then
    of_100: int | None  # the dish's chance then


def improvements(event: Event, plan: Plan) -> list[Fix]:
    """Return changes worth making, for the dishes that are refused or under the chosen chance."""
    out: list[Fix] = []
    for dish in _in_trouble(event, plan)[:DISHES_MOST]:
        found: set[str] = set()  # the smallest change of a kind is enough
        for n, (key, words, changed) in enumerate(_changes(event, dish)):
            kind = key.partition("-")[0]
            if n >= TRIES_A_DISH or kind in found:
                continue
            fix = _tried(event, plan, dish, key, words, changed)
            if fix is not None:
                out.append(fix)
                found.add(kind)
    return out


def applied(event: Event, fix_id: str) -> Event | None:
    """Return the event with one change made, or None where there is no such change."""
    for dish in event.dishes:
        for key, _, changed in _changes(event, dish):
            if f"{dish.id}-{key}" == fix_id:
                return changed
    return None


def _in_trouble(event: Event, plan: Plan) -> list[Dish]:
    refused = {u.dish_id for u in plan.unplaced}
    chance = _chances(plan)
    bad = [
        d for d in event.dishes if d.id in refused or chance.get(d.id, 100) < event.chance_pct - 5
    ]
    return sorted(bad, key=lambda d: (d.id not in refused, -d.priority, chance.get(d.id, 0)))


def _chances(plan: Plan) -> dict[str, int]:
    return {c.dish_id: c.of_100 for c in plan.risk.dishes} if plan.risk else {}


def _changes(event: Event, dish: Dish) -> Iterator[tuple[str, str, Event]]:
    """Yield (key, what to do, the changed event), the smallest changes first."""
    meal = next(m for m in event.meals if m.id == dish.meal)
    for minutes in LATER_MIN:
        start, end = _later(event, meal.start, minutes), _later(event, meal.end, minutes)
        if start < event.site.closes and end > start:
            moved = meal.model_copy(update={"start": start, "end": end})
            meals = tuple(moved if m.id == meal.id else m for m in event.meals)
            words = f"Eat {meal.name} at {start:%H:%M}"
            yield f"later-{minutes}", words, event.model_copy(update={"meals": meals})
    for share in SMALLER:
        portions = max(1, round(dish.portions * share))
        if portions < dish.portions:
            less = dish.model_copy(update={"portions": portions})
            words = f"Make {portions} portions of {dish.name}"
            yield f"smaller-{portions}", words, _with_dish(event, less)
    opens = _later(event, event.site.opens, -EARLIER_MIN)
    if opens < event.site.opens:
        site = event.site.model_copy(update={"opens": opens})
        helpers = tuple(
            h.model_copy(update={"start": _later(event, h.start, -EARLIER_MIN)})
            for h in event.helpers
        )
        words = f"Begin at {opens:%H:%M}, all helpers too"
        yield "earlier", words, event.model_copy(update={"site": site, "helpers": helpers})
    best = max(event.helpers, key=lambda h: len(h.works), default=None)
    if best is not None:
        taken = {h.id for h in event.helpers}
        more = best.model_copy(update={"id": _new_id("one-more", taken), "name": "One more helper"})
        words = "Find one more helper who may do what " + best.name + " may"
        yield "helper", words, event.model_copy(update={"helpers": (*event.helpers, more)})
    fit = [c for c in event.cookers if c.on_sun and may_cook(c, dish) is None]
    if fit:
        like = max(fit, key=lambda c: (c.aperture_m2 or 0.0) * c.optical_efficiency)
        name = _new_id("one-more-cooker", {c.id for c in event.cookers})
        twin = like.model_copy(update={"id": name, "name": f"One more {like.name}"[:60]})
        words = f"Bring one more cooker like {like.name}"
        yield "cooker", words, event.model_copy(update={"cookers": (*event.cookers, twin)})
    if not any(c.on_gas for c in event.cookers) and USUAL_RING.kind in dish.kinds:
        name = _new_id("gas-ring-more", {c.id for c in event.cookers})
        ring: Cooker = USUAL_RING.model_copy(update={"id": name, "trained": False})
        yield (
            "burner",
            "Bring a gas ring",
            event.model_copy(update={"cookers": (*event.cookers, ring)}),
        )


def _new_id(stem: str, taken: set[str]) -> str:
    """Return an id that is free: the same change may be made twice."""
    more = (f"{stem}-{n}" for n in itertools.count(2))
    return next(name for name in itertools.chain([stem], more) if name not in taken)


def _later(event: Event, clock: time, minutes: int) -> time:
    moved = datetime.combine(event.date, clock) + timedelta(minutes=minutes)
    return moved.time() if moved.date() == event.date else clock


def _with_dish(event: Event, dish: Dish) -> Event:
    return event.model_copy(
        update={"dishes": tuple(dish if d.id == dish.id else d for d in event.dishes)}
    )


def _tried(
    event: Event, plan: Plan, dish: Dish, key: str, words: str, changed: Event
) -> Fix | None:
    try:
        new = make_plan(changed, hurried=True)
    except PlanBroken:
        return None
    before, after = {p.dish_id for p in plan.placements}, {p.dish_id for p in new.placements}
    if not before <= after or dish.id not in after:
        return None
    was, now = _chances(plan).get(dish.id), _chances(new).get(dish.id)
    if dish.id in before and (was is None or now is None or now < was + WORTH):
        return None
    chance = f", {now} of 100 skies" if now is not None else ""
    if dish.id in before:
        effect = f"{dish.name}: {was} to {now} of 100 skies"
    else:
        effect = f"{dish.name} is placed{chance}"
    return Fix(
        id=f"{dish.id}-{key}",
        dish_id=dish.id,
        change=words,
        effect=effect,
        placed=len(after),
        of_100=now,
    )
