"""The smallest changes that would let a refused or unsure dish in, found by planning again.

Each is tried on the whole event: it counts only if the dish gets better and no other is lost.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from datetime import datetime, time, timedelta
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from events.errors import PlanBroken
from events.model import COOKERS_MOST, HELPERS_MOST, Cooker, Dish, Event, Meal
from events.table import changed
from solver.plan import Plan
from solver.planning.pipeline import make_plan
from solver.risk.gas import USUAL_RING
from solver.scheduling.batches import may_cook

LATER_MIN = (15, 30, 60)
SOONER_MIN, AFTERNOON = 30, time(14)
SMALLER = (0.75, 0.5)
LESS_OF_ALL_PCT = (90, 80, 70, 60, 50)
EARLIER_MIN = 60
TRIES_A_DISH = 11
DISHES_MOST = 3
UNSURE_BELOW = 5  # points under the event's chance from which a placed dish is in trouble
GAIN_LEAST = 10  # points of a hundred that a change must add to be worth its trouble


class Step(BaseModel):
    """A part of an answer: frozen."""

    model_config = ConfigDict(frozen=True)


class EatLater(Step):
    """A meal is moved."""

    kind: Literal["later"] = "later"
    meal_id: str
    by_min: int
    start: time
    end: time


class EatSooner(Step):
    """A meal is moved towards the high sun of noon, where it is eaten late in the day."""

    kind: Literal["sooner"] = "sooner"
    meal_id: str
    by_min: int
    start: time
    end: time


class MakeLess(Step):
    """A dish is made for fewer."""

    kind: Literal["smaller"] = "smaller"
    dish_id: str
    portions: int


class BeginEarlier(Step):
    """The site opens earlier, and all helpers come earlier too."""

    kind: Literal["earlier"] = "earlier"
    opens: time


class AddHelper(Step):
    """One more helper comes, who may do what another may."""

    kind: Literal["helper"] = "helper"
    like_helper_id: str


class AddCooker(Step):
    """One more cooker of a kind that is there is brought."""

    kind: Literal["cooker"] = "cooker"
    like_cooker_id: str


class AddRing(Step):
    """A gas ring is brought where there is none, or one more."""

    kind: Literal["burner"] = "burner"


class UseGas(Step):
    """Gas is used as it comes: wherever a ring makes a dish surer, and not only where it must."""

    kind: Literal["gas"] = "gas"


class MakeLessOfAll(Step):
    """All dishes are made for fewer: portions are cut to what fits before a dish is dropped."""

    kind: Literal["less-of-all"] = "less-of-all"
    pct: int


EventChange = Annotated[
    EatLater
    | EatSooner
    | MakeLess
    | BeginEarlier
    | AddHelper
    | AddCooker
    | AddRing
    | UseGas
    | MakeLessOfAll,
    Field(discriminator="kind"),
]


class Improvement(Step):
    """One change that helps a dish, and what it would bring."""

    id: str
    dish_id: str
    change: EventChange
    newly_placed: bool  # the dish was refused before
    was_of_100: int | None  # the dish's chance as the event is
    of_100: int | None  # its chance with the change
    placed: int  # how many dishes are placed then


def improvements(event: Event, plan: Plan) -> list[Improvement]:
    """Return changes worth making, for the dishes that are refused or under the chosen chance."""
    worth_making: list[Improvement] = []
    for dish in _in_trouble(event, plan)[:DISHES_MOST]:
        kinds: set[str] = set()  # the smallest change of a kind is enough
        for change in itertools.islice(changes_for(event, dish), TRIES_A_DISH):
            if change.kind in kinds:
                continue
            improvement = _evaluate(event, plan, dish, change)
            if improvement is not None:
                worth_making.append(improvement)
                kinds.add(change.kind)
    return worth_making


def apply(event: Event, *improvement_ids: str) -> Event | None:
    """Return the event with some changes made at once, or None where one of them is none.

    Each is what it is for the event as it stands; a change that two of them are is made once.
    """
    changes = [_change_of(event, improvement_id) for improvement_id in improvement_ids]
    better = event
    for n, change in enumerate(changes):
        if change is None:
            return None
        if change not in changes[:n]:
            better = _with(better, change)
    return better


def _change_of(event: Event, improvement_id: str) -> EventChange | None:
    for all_over in changes_of_all(event):
        if change_id(None, all_over) == improvement_id:
            return all_over
    for dish in event.dishes:
        for change in changes_for(event, dish):
            if change_id(dish, change) == improvement_id:
                return change
    return None


def changes_of_all(event: Event) -> Iterator[EventChange]:
    """Yield what could be changed for all dishes together."""
    for pct in LESS_OF_ALL_PCT:
        yield MakeLessOfAll(pct=pct)
    if len(event.cookers) < COOKERS_MOST and any(d.suits_gas for d in event.dishes):
        yield AddRing()


def change_id(dish: Dish | None, change: EventChange) -> str:
    """Return by what name a change is asked for; without a dish it is for all of them."""
    if isinstance(change, MakeLessOfAll):
        return f"all-less-{change.pct}"
    if dish is None:
        return f"all-{change.kind}"
    if isinstance(change, EatLater):
        return f"{dish.id}-{change.kind}-{change.by_min}"
    if isinstance(change, MakeLess):
        return f"{dish.id}-{change.kind}-{change.portions}"
    return f"{dish.id}-{change.kind}"


def _in_trouble(event: Event, plan: Plan) -> list[Dish]:
    refused = {u.dish_id for u in plan.unplaced}
    chance = _chances(plan)
    least = event.chance_pct - UNSURE_BELOW
    bad = [d for d in event.dishes if d.id in refused or chance.get(d.id, 100) < least]
    return sorted(bad, key=lambda d: (d.id not in refused, -d.priority, chance.get(d.id, 0)))


def _chances(plan: Plan) -> dict[str, int]:
    return {c.dish_id: c.of_100 for c in plan.risk.dishes} if plan.risk else {}


def changes_for(event: Event, dish: Dish) -> Iterator[EventChange]:
    """Yield what could be changed for a dish, the smallest changes first."""
    yield from _meal_moves(event, event.meal(dish.meal))
    for share in SMALLER:
        portions = max(1, round(dish.portions * share))
        if portions < dish.portions:
            yield MakeLess(dish_id=dish.id, portions=portions)
    opens = _shifted(event, event.site.opens, -EARLIER_MIN)
    if opens < event.site.opens:
        yield BeginEarlier(opens=opens)
    if 0 < len(event.helpers) < HELPERS_MOST:
        yield AddHelper(like_helper_id=max(event.helpers, key=lambda h: len(h.works)).id)
    fit = [c for c in event.cookers if c.on_sun and may_cook(c, dish) is None]
    room = len(event.cookers) < COOKERS_MOST
    if fit and room:
        yield AddCooker(like_cooker_id=max(fit, key=_strength_m2).id)
    if room and dish.suits_gas and not any(c.on_gas for c in event.cookers):
        yield AddRing()
    on_gas = any(c.on_gas for c in event.cookers) and any(d.suits_gas for d in event.dishes)
    if event.gas_price_dishes_h and on_gas:  # another dish on gas frees a place for this one
        yield UseGas()


def _meal_moves(event: Event, meal: Meal) -> Iterator[EventChange]:
    def moved(minutes: int) -> tuple[time, time]:
        return _shifted(event, meal.start, minutes), _shifted(event, meal.end, minutes)

    for minutes in LATER_MIN:
        start, end = moved(minutes)
        if start < event.site.closes and end > start:
            yield EatLater(meal_id=meal.id, by_min=minutes, start=start, end=end)
    if meal.start >= AFTERNOON:
        start, end = moved(-SOONER_MIN)
        yield EatSooner(meal_id=meal.id, by_min=SOONER_MIN, start=start, end=end)


def _strength_m2(cooker: Cooker) -> float:
    return (cooker.aperture_m2 or 0.0) * cooker.optical_efficiency


def _shifted(event: Event, clock: time, minutes: int) -> time:
    """Return a clock time moved by minutes, or as it is where that is another day."""
    at = datetime.combine(event.date, clock) + timedelta(minutes=minutes)
    return at.time() if at.date() == event.date else clock


def _with(event: Event, change: EventChange) -> Event:
    """Return the event with one change made."""
    if isinstance(change, EatLater | EatSooner):
        meals = tuple(
            changed(m, start=change.start, end=change.end) if m.id == change.meal_id else m
            for m in event.meals
        )
        return changed(event, meals=meals)
    if isinstance(change, MakeLess):
        dishes = tuple(
            changed(d, portions=min(d.portions, change.portions)) if d.id == change.dish_id else d
            for d in event.dishes
        )
        return changed(event, dishes=dishes)
    if isinstance(change, MakeLessOfAll):
        dishes = tuple(
            changed(d, portions=max(1, math.ceil(d.portions * change.pct / 100)))
            for d in event.dishes
        )
        return changed(event, dishes=dishes)
    if isinstance(change, UseGas):
        return changed(event, gas_price_dishes_h=0.0)
    if isinstance(change, BeginEarlier):
        helpers = tuple(
            changed(h, start=_shifted(event, h.start, -EARLIER_MIN)) for h in event.helpers
        )
        return changed(event, site=changed(event.site, opens=change.opens), helpers=helpers)
    if isinstance(change, AddHelper):
        new_id = _new_id("one-more", (h.id for h in event.helpers))
        twin = changed(event.helper(change.like_helper_id), id=new_id, name="One more helper")
        return changed(event, helpers=(*event.helpers, twin))
    return changed(event, cookers=(*event.cookers, _one_more(event, change)))


def _one_more(event: Event, change: AddCooker | AddRing) -> Cooker:
    taken = [c.id for c in event.cookers]
    if isinstance(change, AddRing):
        return changed(USUAL_RING, id=_new_id("gas-ring-more", taken), trained=False)
    like = event.cooker(change.like_cooker_id)
    return changed(like, id=_new_id("one-more-cooker", taken), name=f"One more {like.name}"[:60])


def _new_id(stem: str, taken: Iterable[str]) -> str:
    """Return an id that is free: the same change may be made twice."""
    used = set(taken)
    more = (f"{stem}-{n}" for n in itertools.count(2))
    return next(name for name in itertools.chain([stem], more) if name not in used)


def _evaluate(event: Event, plan: Plan, dish: Dish, change: EventChange) -> Improvement | None:
    """Return what a change brings a dish, or None where that is not worth its trouble."""
    try:
        new = make_plan(_with(event, change), hurried=True)
    except PlanBroken:
        return None
    before, after = {p.dish_id for p in plan.placements}, {p.dish_id for p in new.placements}
    if not before <= after or dish.id not in after:
        return None
    was, now = _chances(plan).get(dish.id), _chances(new).get(dish.id)
    newly_placed = dish.id not in before
    if not newly_placed and (was is None or now is None or now < was + GAIN_LEAST):
        return None
    return Improvement(
        id=change_id(dish, change),
        dish_id=dish.id,
        change=change,
        newly_placed=newly_placed,
        was_of_100=was,
        of_100=now,
        placed=len(after),
    )
