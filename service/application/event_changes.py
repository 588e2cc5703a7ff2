"""Events changed as a press asks: a batch's wish, a meal moved, other circumstances."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from events.errors import NotFound
from events.model import HELPERS_MOST, Cooker, Dish, Event, Helper
from events.quantities import clip
from events.table import changed
from solver.plan import Placement

MEAL_STEP_MIN = 15


@dataclass(frozen=True)
class Circumstances:
    """How a day could be other than it is; as it stands, nothing is."""

    cloud: int = 0  # points more of 100
    later_min: int = 0  # every meal
    portions_pct: int = 100
    helpers: int = 0  # one more or one fewer
    mirror_m: float | None = None  # across, of the first mirror


def with_wish(event: Event, placement: Placement, wish: str) -> Event:
    """Return an event with a wish for one batch: where it is held, or when its meal is eaten."""
    dish = event.dish(placement.dish_id)
    cooker_id = placement.cooker_id
    if wish == "hold":
        at = placement.loaded_at.astimezone(event.zone).time()
        wished = changed(dish, only_in=(cooker_id,), load_at=at, not_in=())
    elif wish == "stay":
        wished = changed(dish, only_in=(cooker_id,), load_at=None, not_in=())
    elif wish == "out":
        avoided = tuple(dict.fromkeys((*dish.not_in, cooker_id)))
        wished = changed(dish, not_in=avoided, only_in=())
    elif wish == "free":
        wished = changed(dish, only_in=(), not_in=(), load_at=None)
    elif wish == "later":
        return with_meal_moved(event, dish.meal, MEAL_STEP_MIN)
    elif wish == "sooner":
        return with_meal_moved(event, dish.meal, -MEAL_STEP_MIN)
    else:
        raise NotFound(f"No wish “{wish}”.")
    return changed(event, dishes=tuple(wished if d.id == dish.id else d for d in event.dishes))


def with_meal_moved(event: Event, meal_id: str, minutes: int) -> Event:
    """Return an event with one meal moved; a time that would leave the day stays."""

    def moved(clock: time) -> time:
        at = datetime.combine(event.date, clock) + timedelta(minutes=minutes)
        return at.time() if at.date() == event.date else clock

    meals = tuple(
        changed(m, start=moved(m.start), end=moved(m.end)) if m.id == meal_id else m
        for m in event.meals
    )
    return changed(event, meals=meals)


def under(event: Event, other: Circumstances) -> Event:
    """Return an event as it would be under other circumstances."""
    hours = tuple(
        changed(h, cloud_pct=min(max(h.cloud_pct + other.cloud, 0.0), 100.0))
        for h in event.weather.hours
    )
    tried = changed(event, weather=changed(event.weather, hours=hours))
    for meal in event.meals if other.later_min else ():
        tried = with_meal_moved(tried, meal.id, other.later_min)
    helpers = _crew(event, other.helpers)
    ids = {h.id for h in helpers}
    return changed(
        tried,
        dishes=tuple(_portioned(d, other.portions_pct) for d in event.dishes),
        helpers=helpers,
        cookers=_with_mirror(event, other.mirror_m),
        talks=tuple(t if t.speaker in ids else changed(t, speaker=None) for t in event.talks),
    )


def _portioned(dish: Dish, pct: int) -> Dish:
    return changed(dish, portions=int(clip("portions", max(1, round(dish.portions * pct / 100)))))


def _crew(event: Event, more: int) -> tuple[Helper, ...]:
    helpers = event.helpers
    if more > 0 and len(helpers) < HELPERS_MOST:
        return (*helpers, changed(helpers[0], id="one-more", name="One more"))
    return helpers[:-1] if more < 0 and len(helpers) > 1 else helpers


def _with_mirror(event: Event, across_m: float | None) -> tuple[Cooker, ...]:
    """Return the cookers, the first mirror of another size."""
    first = next((c for c in event.cookers if c.nature.concentrates), None)
    if across_m is None or first is None:
        return event.cookers
    other = changed(first, aperture_m2=round(math.pi * across_m**2 / 4, 3))
    return tuple(other if c is first else c for c in event.cookers)
