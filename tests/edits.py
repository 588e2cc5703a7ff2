"""Random edits of an event, one after another, as an organiser makes them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime, time, timedelta
from random import Random

from events.errors import FaultyEvent
from events.model import Cooker, Dish, Event, Helper, Meal
from events.reading.event_file import read_event, read_table
from events.reading.samples import sample_text
from events.reading.write import write_event
from events.site import Weather, WeatherHour
from events.table import Table, changed
from tests.scale import grown

Edit = Callable[[Event, Random], Event]
LIKES = ("bean-stew", "rice", "potatoes", "apple-cake", "kettle", "lentil-soup", "hard-eggs")


def starting_events() -> dict[str, Event]:
    """Return the four events that are edited, by name."""
    return {
        "harvest-lunch": read_event(sample_text("harvest-lunch")),
        "school-day": read_event(sample_text("school-day")),
        "cook-off": read_event(sample_text("cook-off")),
        "waves": _in_waves(grown(8, 6, 4, full=20)),
    }


def edits(event: Event, *, seed: int) -> Iterator[Event]:
    """Yield version after version of an event, each one edit from the last; none has a fault."""
    dice = Random(seed)
    while True:
        try:
            event = read_event(write_event(dice.choice(_EDITS)(event, dice)))
        except (FaultyEvent, ValueError):
            continue  # the page refuses it, and the version before stays
        yield event


def _in_waves(event: Event) -> Event:
    """Return an event whose people come in three waves, with an insulated box beside the ring."""
    hay = _tiny(cooker="hay-box").cookers[0]
    meals = tuple(changed(m, waves=3) for m in event.meals)
    return changed(event, cookers=(*event.cookers, hay), meals=meals)


def _tiny(*, cooker: str = "box-large", dish: str = "rice") -> Event:
    """Return an event of one cooker and one dish out of the catalogue."""
    return read_table(
        {
            "format": 1,
            "title": "Tiny",
            "date": "2027-06-20",
            "site": {"name": "Meadow", "latitude_deg": 40.0, "longitude_deg": 0.5},
            "cooker": [{"id": "extra", "like": cooker, "name": "Extra"}],
            "pot": [{"id": "pot", "like": "pot-3l"}],
            "meal": [
                {"id": "m", "name": "Meal", "from": "12:00", "until": "13:00", "portions": 20}
            ],
            "dish": [{"id": "d", "like": dish, "meal": "m", "portions": 20}],
            "helper": [{"id": "h", "name": "Helper", "from": "08:00", "until": "17:00"}],
        },
        source="a tiny event",
    )


def _portions(event: Event, dice: Random) -> Event:
    return _one(event, "dishes", dice, portions=dice.choice((1, 5, 12, 25, 40, 80, 120)))


def _priority(event: Event, dice: Random) -> Event:
    return _one(event, "dishes", dice, priority=dice.randint(1, 9))


def _batches(event: Event, dice: Random) -> Event:
    return _one(event, "dishes", dice, batches_max=dice.randint(1, 6))


def _freshness(event: Event, dice: Random) -> Event:
    fresh = dice.choice((0, 10, 30, 60, 120))
    return _one(event, "dishes", dice, fresh_min=fresh, holding_max_min=fresh + dice.randint(0, 90))


def _rest(event: Event, dice: Random) -> Event:
    return _one(event, "dishes", dice, rest_min=dice.choice((0, 3, 5, 10, 17, 30)))


def _stir(event: Event, dice: Random) -> Event:
    return _one(event, "dishes", dice, stir_every_min=dice.choice((0, 0, 10, 25)))


def _lifters(event: Event, dice: Random) -> Event:
    return _one(
        event, "dishes", dice, lift_helpers=dice.randint(1, 2), load_min=dice.randint(1, 25)
    )


def _hot(event: Event, dice: Random) -> Event:
    return _one(event, "dishes", dice, serve_hot=dice.random() < 0.5)


def _start_temperature(event: Event, dice: Random) -> Event:
    return _one(event, "dishes", dice, start_c=dice.choice((-18.0, 4.0, 15.0, 25.0)))


def _held(event: Event, dice: Random) -> Event:
    cooker = dice.choice(event.cookers).id
    at = dice.choice((None, time(8, 30), time(9, 0), time(10, 15)))
    return _one(event, "dishes", dice, only_in=(cooker,), not_in=(), load_at=at)


def _kept_out(event: Event, dice: Random) -> Event:
    cooker = dice.choice(event.cookers).id
    return _one(event, "dishes", dice, only_in=(), not_in=(cooker,), load_at=None)


def _freed(event: Event, dice: Random) -> Event:
    return _one(event, "dishes", dice, only_in=(), not_in=(), load_at=None)


def _other_meal(event: Event, dice: Random) -> Event:
    return _one(event, "dishes", dice, meal=dice.choice(event.meals).id)


def _dish_added(event: Event, dice: Random) -> Event:
    if len(event.dishes) > 15:
        return _dish_removed(event, dice)
    like = _tiny(dish=dice.choice(LIKES)).dishes[0]
    taken = {d.id for d in event.dishes}
    name = next(f"new-{n}" for n in range(99) if f"new-{n}" not in taken)
    new = changed(like, id=name, name=name, meal=dice.choice(event.meals).id)
    return changed(event, dishes=(*event.dishes, new))


def _dish_removed(event: Event, dice: Random) -> Event:
    if len(event.dishes) < 3:
        return event
    gone = dice.choice(event.dishes).id
    talks = tuple(t for t in event.talks if t.dish != gone)
    return changed(event, dishes=tuple(d for d in event.dishes if d.id != gone), talks=talks)


def _cooker_doubled(event: Event, dice: Random) -> Event:
    if len(event.cookers) > 14:
        return _cooker_removed(event, dice)
    taken = {c.id for c in event.cookers}
    name = next(f"more-{n}" for n in range(99) if f"more-{n}" not in taken)
    more = changed(dice.choice(event.cookers), id=name, name=name)
    return changed(event, cookers=(*event.cookers, more))


def _cooker_removed(event: Event, dice: Random) -> Event:
    if len(event.cookers) < 4:
        return event
    gone = dice.choice(event.cookers).id

    def without(dish: Dish) -> Dish:
        only = tuple(c for c in dish.only_in if c != gone)
        return changed(dish, only_in=only, not_in=tuple(c for c in dish.not_in if c != gone))

    cookers = tuple(c for c in event.cookers if c.id != gone)
    return changed(event, cookers=cookers, dishes=tuple(map(without, event.dishes)))


def _cooker_limits(event: Event, dice: Random) -> Event:
    wind = dice.choice((None, 3.0, 6.0, 12.0))
    return _one(event, "cookers", dice, wind_limit_m_s=wind, attended=dice.random() < 0.15)


def _cooker_hours(event: Event, dice: Random) -> Event:
    opens = dice.choice((None, time(9, 30), time(11, 0)))
    return _one(event, "cookers", dice, opens=opens, closes=dice.choice((None, time(13, 0))))


def _pots(event: Event, dice: Random) -> Event:
    return _one(event, "pots", dice, count=dice.randint(1, 8), wash_min=dice.choice((0, 15, 40)))


def _waves(event: Event, dice: Random) -> Event:
    return _one(event, "meals", dice, waves=dice.randint(1, 5))


def _meal_moved(event: Event, dice: Random) -> Event:
    meal = dice.choice(event.meals)
    later = dice.choice((-60, -30, -7, 15, 30, 60))
    length = dice.choice((10, 30, 60, 90, 150))
    start = _later(event, meal.start, later)
    return _with(event, "meals", meal, start=start, end=_later(event, start, length))


def _hours(event: Event, dice: Random) -> Event:
    opens, closes = time(dice.randint(6, 10), dice.choice((0, 30))), time(dice.randint(14, 19), 0)
    return changed(event, site=changed(event.site, opens=opens, closes=closes))


def _sky(event: Event, dice: Random) -> Event:
    hours = tuple(
        WeatherHour(
            start=time(h, 0),
            cloud_pct=float(dice.randint(0, 90)),
            air_c=float(dice.randint(2, 36)),
            wind_m_s=float(dice.randint(0, 9)),
        )
        for h in sorted(dice.sample(range(7, 18), dice.randint(0, 4)))
    )
    return changed(event, weather=Weather(hours=hours, source="typed in"))


def _shade(event: Event, dice: Random) -> Event:
    trees = [(float(b), float(dice.randint(5, 35))) for b in range(0, 360, 45)]
    skyline = tuple(trees) if dice.random() < 0.5 else ()
    return changed(event, site=changed(event.site, skyline=skyline))


def _date(event: Event, dice: Random) -> Event:
    return changed(event, date=event.date + timedelta(days=dice.randint(-60, 60)))


def _helper_hours(event: Event, dice: Random) -> Event:
    start, end = time(dice.randint(6, 11), 0), time(dice.randint(12, 18), 0)
    return _one(event, "helpers", dice, start=start, end=end, breaks=())


def _helper_work(event: Event, dice: Random) -> Event:
    may = tuple(a for a in ("mirrors", "burner", "lift") if dice.random() < 0.7)
    return _one(event, "helpers", dice, may=may, adult=dice.random() < 0.85)


def _helper_added(event: Event, dice: Random) -> Event:
    if len(event.helpers) > 6:
        return _helper_removed(event, dice)
    taken = {h.id for h in event.helpers}
    name = next(f"help-{n}" for n in range(99) if f"help-{n}" not in taken)
    new = Helper(id=name, name=name, start=time(8, 0), end=time(17, 0), may=("lift", "mirrors"))
    return changed(event, helpers=(*event.helpers, new))


def _helper_removed(event: Event, dice: Random) -> Event:
    if len(event.helpers) < 2:
        return event
    gone = dice.choice(event.helpers).id
    talks = tuple(changed(t, speaker=None) if t.speaker == gone else t for t in event.talks)
    helpers = tuple(h for h in event.helpers if h.id != gone)
    return changed(event, helpers=helpers, talks=talks)


def _wanted(event: Event, dice: Random) -> Event:
    return changed(
        event,
        wanted_margin_min=dice.choice((0, 10, 20, 45)),
        chance_pct=dice.randint(50, 95),
        gas_price_dishes_h=dice.choice((0.0, 0.1, 1.0, 10.0)),
    )


def _guests(event: Event, dice: Random) -> Event:
    rules = dice.choice(("EU", "UK", "US", "strictest"))
    site = changed(event.site, food_rules=rules)
    return changed(event, site=site, vulnerable_guests=dice.random() < 0.3)


_EDITS: tuple[Edit, ...] = (
    *(_portions, _portions, _priority, _batches, _freshness, _rest, _stir, _lifters, _hot),
    *(_start_temperature, _held, _kept_out, _freed, _freed, _other_meal, _dish_added),
    *(_dish_removed, _cooker_doubled, _cooker_removed, _cooker_limits, _cooker_hours, _pots),
    *(_waves, _waves, _meal_moved, _hours, _sky, _shade, _date, _helper_hours, _helper_work),
    *(_helper_added, _helper_removed, _wanted, _guests),
)


def _later(event: Event, clock: time, minutes: int) -> time:
    at = datetime.combine(event.date, clock) + timedelta(minutes=minutes)
    return at.time() if at.date() == event.date else clock


def _one(event: Event, rows: str, dice: Random, **values: object) -> Event:
    """Return an event with one row of a table changed."""
    return _with(event, rows, dice.choice(getattr(event, rows)), **values)


def _with(event: Event, rows: str, row: Cooker | Dish | Meal | Table, **values: object) -> Event:
    table = tuple(changed(r, **values) if r is row else r for r in getattr(event, rows))
    return changed(event, **{rows: table})
