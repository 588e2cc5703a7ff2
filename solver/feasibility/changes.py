"""What could be changed about an event, and the event with it changed."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from datetime import datetime, time, timedelta
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from events.model import COOKERS_MOST, HELPERS_MOST, Cooker, Dish, Event, Meal
from events.table import changed
from solver.risk.gas import USUAL_RING
from solver.scheduling.batches import may_cook, pots_for
from solver.solar.windows import site_window

LATER_MIN = (15, 30, 60)
SOONER_MIN, AFTERNOON = 30, time(14)
NEARER_MIN = (120, 105, 90, 75, 60, 45, 30)
SMALLER = (0.875, 0.75, 0.625, 0.5, 0.375, 0.25)
USUAL_SMALLER = (0.75, 0.5)
LESS_OF_ALL_PCT = (90, 80, 70, 60, 50)
EARLIER_MIN = 60
QUARTER_MIN, LATER_MOST_MIN = 15, 180  # a meal is moved no further (judgement)


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


class MorePots(Step):
    """A dish is cooked in more pots, each with less in it."""

    kind: Literal["pots"] = "pots"
    dish_id: str
    pots: int


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


class KeepOut(Step):
    """A dish is kept out of the cookers that are too strong for it."""

    kind: Literal["keep-out"] = "keep-out"
    dish_id: str
    cooker_ids: tuple[str, ...]


class DoneNearer(Step):
    """A dish that is served cold is done no longer than so before it is eaten: it stands less."""

    kind: Literal["nearer"] = "nearer"
    dish_id: str
    most_min: int


class LeaveOut(Step):
    """A dish is left out, so that the others are surer."""

    kind: Literal["leave-out"] = "leave-out"
    dish_id: str


class MakeLessOfAll(Step):
    """All dishes are made for fewer: portions are cut to what fits before a dish is dropped."""

    kind: Literal["less-of-all"] = "less-of-all"
    pct: int


EventChange = Annotated[
    EatLater
    | EatSooner
    | MakeLess
    | MorePots
    | KeepOut
    | DoneNearer
    | LeaveOut
    | BeginEarlier
    | AddHelper
    | AddCooker
    | AddRing
    | UseGas
    | MakeLessOfAll,
    Field(discriminator="kind"),
]


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
            better = changed_event(better, change)
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
    if len(event.cookers) < COOKERS_MOST and any(map(suits_ring, event.dishes)):
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
    if isinstance(change, MorePots):
        return f"{dish.id}-{change.kind}-{change.pots}"
    if isinstance(change, KeepOut):
        return f"{dish.id}-{change.kind}-{len(change.cooker_ids)}"
    if isinstance(change, DoneNearer):
        return f"{dish.id}-{change.kind}-{change.most_min}"
    return f"{dish.id}-{change.kind}"


def changes_for(event: Event, dish: Dish) -> Iterator[EventChange]:
    """Yield what could be changed for a dish, the smallest changes first."""
    yield from _meal_moves(event, event.meal(dish.meal))
    for portions in _fewer(dish, SMALLER):
        yield MakeLess(dish_id=dish.id, portions=portions)
    for pots in _more_pots(event, dish):
        yield MorePots(dish_id=dish.id, pots=pots)
    opens = _shifted(event, event.site.opens, -EARLIER_MIN)
    if opens < event.site.opens:
        yield BeginEarlier(opens=opens)
    if 0 < len(event.helpers) < HELPERS_MOST:
        yield AddHelper(like_helper_id=max(event.helpers, key=lambda h: len(h.works)).id)
    fit = [c for c in event.cookers if c.on_sun and may_cook(c, dish) is None]
    room = len(event.cookers) < COOKERS_MOST
    if fit and room:
        yield AddCooker(like_cooker_id=max(fit, key=_strength_m2).id)
    has_ring = any(c.on_gas for c in event.cookers)
    if room and suits_ring(dish) and not has_ring:
        yield AddRing()
    if event.gas_price_dishes_h and has_ring and suits_ring(dish):
        yield UseGas()
    for strength_m2 in sorted({_strength_m2(c) for c in fit} - {0.0}, reverse=True):
        strong = [c.id for c in fit if _strength_m2(c) >= strength_m2 and c.id not in dish.not_in]
        yield KeepOut(dish_id=dish.id, cooker_ids=tuple(strong))
    if dish.hazardous and not dish.serve_hot:
        for most_min in NEARER_MIN:
            if most_min < dish.holding_max_min:
                yield DoneNearer(dish_id=dish.id, most_min=most_min)
    if sum(d.meal == dish.meal for d in event.dishes) > 1:
        yield LeaveOut(dish_id=dish.id)


def _fewer(dish: Dish, shares: Iterable[float]) -> list[int]:
    portions = dict.fromkeys(max(1, round(dish.portions * share)) for share in shares)
    return [n for n in portions if n < dish.portions]


def _more_pots(event: Event, dish: Dish) -> Iterator[int]:
    """Yield in how many pots a dish could be cooked, of those that there are at the same time."""
    cooks = [c for c in event.cookers if may_cook(c, dish) is None]
    for number in range(dish.batches_least + 1, min(dish.batches_max, dish.portions) + 1):
        litres = dish.mass_kg * dish.litres_per_kg / number
        fit = {p.id: p.count for c in cooks for p in pots_for(event, c, dish, litres)}
        if sum(fit.values()) >= number:
            yield number


def suits_ring(dish: Dish) -> bool:
    """Return whether a gas ring can cook a dish: an oven's it can't."""
    return dish.suits_gas and dish.needs_body_c is None


def is_tried(event: Event, change: EventChange) -> bool:
    """Return whether a change is worth a trial: of later meals only some, and the latest in sun.

    Out of a cooker a dish is kept only where it would boil dry there; it is done nearer to its
    meal, or cooked in more pots, only where it is lukewarm too long. Of fewer portions some.
    """
    if isinstance(change, KeepOut | DoneNearer | MorePots):
        return False
    if isinstance(change, MakeLess):
        return change.portions in _fewer(event.dish(change.dish_id), USUAL_SMALLER)
    if not isinstance(change, EatLater) or change.by_min in LATER_MIN:
        return True
    return change.by_min == _in_sun_min(event, event.meal(change.meal_id))


def _meal_moves(event: Event, meal: Meal) -> Iterator[EventChange]:
    def moved(minutes: int) -> tuple[time, time]:
        return _shifted(event, meal.start, minutes), _shifted(event, meal.end, minutes)

    for minutes in range(QUARTER_MIN, max(*LATER_MIN, _in_sun_min(event, meal)) + 1, QUARTER_MIN):
        start, end = moved(minutes)
        if start < event.site.closes and end > start:
            yield EatLater(meal_id=meal.id, by_min=minutes, start=start, end=end)
    if meal.start >= AFTERNOON:
        start, end = moved(-SOONER_MIN)
        yield EatSooner(meal_id=meal.id, by_min=SOONER_MIN, start=start, end=end)


def _in_sun_min(event: Event, meal: Meal) -> int:
    """Return by how many minutes a meal can be later to begin when the usable sun ends, or 0."""
    start = event.instant(meal.start)
    ends = (s.ends_at for s in site_window(event).stretches)
    later_min = (max(ends, default=start) - start).total_seconds() / 60
    whole = math.ceil(later_min / QUARTER_MIN) * QUARTER_MIN
    return whole if 0 < whole <= LATER_MOST_MIN else 0


def _strength_m2(cooker: Cooker) -> float:
    return (cooker.aperture_m2 or 0.0) * cooker.optical_efficiency


def _shifted(event: Event, clock: time, minutes: int) -> time:
    """Return a clock time moved by minutes, or as it is where that is another day."""
    at = datetime.combine(event.date, clock) + timedelta(minutes=minutes)
    return at.time() if at.date() == event.date else clock


def changed_event(event: Event, change: EventChange) -> Event:
    """Return the event with one change made."""
    if isinstance(change, EatLater | EatSooner):
        meals = tuple(
            changed(m, start=change.start, end=change.end) if m.id == change.meal_id else m
            for m in event.meals
        )
        return changed(event, meals=meals)
    if isinstance(change, MakeLess | MorePots | KeepOut | DoneNearer):
        dishes = tuple(
            _changed_dish(d, change) if d.id == change.dish_id else d for d in event.dishes
        )
        return changed(event, dishes=dishes)
    if isinstance(change, LeaveOut):
        return _without(event, change.dish_id)
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


def _changed_dish(dish: Dish, change: MakeLess | MorePots | KeepOut | DoneNearer) -> Dish:
    if isinstance(change, MakeLess):
        return changed(dish, portions=min(dish.portions, change.portions))
    if isinstance(change, MorePots):
        return changed(dish, batches_min=change.pots)
    if isinstance(change, KeepOut):
        return changed(dish, not_in=(*dish.not_in, *change.cooker_ids))
    most_min = change.most_min
    return changed(
        dish,
        holding_max_min=min(dish.holding_max_min, most_min),
        fresh_min=min(dish.fresh_min, most_min),
    )


def _without(event: Event, dish_id: str) -> Event:
    """Return the event without a dish; a talk that named it shows another, or none."""
    talks = tuple(
        changed(t, dish=None, stage=None) if t.dish == dish_id else t for t in event.talks
    )
    dishes = tuple(d for d in event.dishes if d.id != dish_id)
    return changed(event, dishes=dishes, talks=talks)


def _one_more(event: Event, change: AddCooker | AddRing) -> Cooker:
    taken = [c.id for c in event.cookers]
    if isinstance(change, AddCooker):
        like = event.cooker(change.like_cooker_id)
        new_id, name = _new_id("one-more-cooker", taken), _next_name(event, like.name)
        return changed(like, id=new_id, name=name)
    beside = next((c for c in event.cookers if c.on_gas), None)
    station = beside or next(iter(event.cookers), None)
    return changed(
        USUAL_RING,
        id=_new_id("gas-ring-more", taken),
        name=_next_name(event, USUAL_RING.name),
        station=station.station if station else None,
        trained=beside.trained if beside else False,
    )


def _next_name(event: Event, name: str) -> str:
    """Return a cooker's name with the next number: Gas ring 2 beside Gas ring."""
    stem = name.rstrip("0123456789 ")[:50] or name
    tails = [c.name.removeprefix(stem).strip() for c in event.cookers if c.name.startswith(stem)]
    numbers = [int(tail or 1) for tail in tails if not tail or tail.isdecimal()]
    return f"{stem} {max(numbers) + 1}" if numbers else stem


def _new_id(stem: str, taken: Iterable[str]) -> str:
    """Return an id that is free: the same change may be made twice."""
    used = set(taken)
    more = (f"{stem}-{n}" for n in itertools.count(2))
    return next(name for name in itertools.chain([stem], more) if name not in used)
