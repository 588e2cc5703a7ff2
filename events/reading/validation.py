"""What a file says that can't be so: names that lead nowhere, impossible hours, missing figures."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import time

from events.errors import SITE, WEATHER, Fault, Place
from events.model import Cooker, Dish, Event
from events.reading.contest_faults import contest_faults
from events.reading.rota_faults import rota_faults
from events.reading.schema import LISTS


def validate(event: Event) -> list[Fault]:
    """Return every fault between tables, or between keys of one table."""
    return [fault for rule in _RULES for fault in rule(event)]


def _places(event: Event, table: str) -> Iterator[tuple[Place, object]]:
    """Yield each row of a table with its place."""
    for n, row in enumerate(getattr(event, LISTS[table][0]), 1):
        yield Place(table, n, row.id), row


def _something_of_each(event: Event) -> Iterator[Fault]:
    for table in ("cooker", "pot", "dish"):
        if not any(_places(event, table)):
            yield Place(table).fault("", "", "none")
    if not event.meals:
        yield Place("meal").fault("", "", "no-meal")
    if not event.helpers:
        yield Place("helper").fault("", "", "no-helper")


def _ids_are_unique(event: Event) -> Iterator[Fault]:
    for table in LISTS:
        seen: set[str] = set()
        for place, _ in _places(event, table):
            if place.id in seen:
                yield place.fault("id", repr(place.id), "id-taken")
            seen.add(place.id)


# A row's key that names a row, or rows, of another table.
REFERENCES = (
    ("cooker", "station", "station"),
    ("dish", "meal", "meal"),
    ("dish", "only_in", "cooker"),
    ("dish", "not_in", "cooker"),
    ("talk", "speaker", "helper"),
    ("talk", "dish", "dish"),
    ("talk", "speakers", "helper"),
    ("talk", "cooker", "cooker"),
    ("group", "skips", "stop"),
    ("stop", "station", "station"),
    ("stop", "cookers", "cooker"),
    ("stop", "guide", "helper"),
    ("entry", "team", "team"),
    ("entry", "cooker", "contest_cooker"),
    ("entry", "station", "station"),
    ("contest_cooker", "team", "team"),
    ("judge", "kin", "team"),
    ("judge", "helper", "helper"),
)


def _names_lead_somewhere(event: Event) -> Iterator[Fault]:
    for table, key, target in REFERENCES:
        known = tuple(sorted(place.id for place, _ in _places(event, target)))
        for place, row in _places(event, table):
            for name in _names(getattr(row, key)):
                if name not in known:
                    yield place.fault(key, repr(name), "not-in-file", known=known)


def _names(value: str | tuple[str, ...] | None) -> Iterable[str]:
    return () if value is None else (value,) if isinstance(value, str) else value


def _months_are_twelve(event: Event) -> Iterator[Fault]:
    given = len(event.site.sunlit_pct)
    if given not in (0, 12):
        yield SITE.fault("sunlit_pct", given, "not-twelve")


def _hours_can_be(event: Event) -> Iterator[Fault]:
    site = event.site
    spans = [(SITE, "opens", "closes", site.opens, site.closes)]
    if site.visitors_from and site.visitors_until:
        spans.append(
            (SITE, "visitors_from", "visitors_until", site.visitors_from, site.visitors_until)
        )
    for n, meal in enumerate(event.meals, 1):
        spans.append((Place("meal", n, meal.id), "from", "until", meal.start, meal.end))
    for n, helper in enumerate(event.helpers, 1):
        spans.append((Place("helper", n, helper.id), "from", "until", helper.start, helper.end))
    for place, first, second, start, end in spans:
        if end <= start:
            yield place.fault(second, end, "not-after", first=first, start=start)
    if site.opens < site.closes:
        yield from _inside_the_sites_hours(event)


def _inside_the_sites_hours(event: Event) -> Iterator[Fault]:
    opens, closes = event.site.opens, event.site.closes
    starts: list[tuple[Place, str, time, bool]] = []
    for n, meal in enumerate(event.meals, 1):
        starts.append((Place("meal", n, meal.id), "from", meal.start, opens < meal.start < closes))
    for n, talk in enumerate(event.talks, 1):
        if talk.at is not None:
            starts.append((Place("talk", n, talk.id), "at", talk.at, opens <= talk.at < closes))
    for place, key, at, inside in starts:
        if not inside:
            yield place.fault(key, at, "outside-hours", opens=opens, closes=closes)


def _clouds_stand_in_order(event: Event) -> Iterator[Fault]:
    for n, hour in enumerate(event.weather.hours):
        low, cloud, high = hour.cloud_low_pct, hour.cloud_pct, hour.cloud_high_pct
        if low is not None and low > cloud:
            yield WEATHER.fault(f"hours.{n}.cloud_low_pct", low, "over-cloud", cloud=cloud)
        if high is not None and high < cloud:
            yield WEATHER.fault(f"hours.{n}.cloud_high_pct", high, "under-cloud", cloud=cloud)


def _cookers_are_whole(event: Event) -> Iterator[Fault]:
    for n, cooker in enumerate(event.cookers, 1):
        yield from _cooker_faults(cooker, Place("cooker", n, cooker.id))
    for n, own in enumerate(event.contest_cookers, 1):
        yield from _cooker_faults(own, Place("contest_cooker", n, own.id))


def _cooker_faults(c: Cooker, place: Place) -> Iterator[Fault]:
    for key in c.nature.requires:
        if getattr(c, key) is None:
            yield place.fault(key, "", "cooker-needs", cooker=c.kind)
    if c.on_sun and c.lost_deg <= c.acceptance_deg:
        yield place.fault("lost_deg", c.lost_deg, "lost-too-soon", acceptance=c.acceptance_deg)


def _hands_for_mirrors(event: Event) -> Iterator[Fault]:
    danger = [c for c in event.cookers if c.nature.concentrates or c.on_gas]
    for ability in ("mirrors", "burner"):
        names = tuple(c.id for c in danger if c.ability == ability)
        if names and event.helpers and not any(ability in h.works for h in event.helpers):
            fault = Place("helper").fault("may", "", "nobody-may", cookers=names, ability=ability)
            yield fault


def _dishes_are_whole(event: Event) -> Iterator[Fault]:
    for n, dish in enumerate(event.dishes, 1):
        yield from _dish_faults(dish, Place("dish", n, dish.id))
    for n, entry in enumerate(event.entries, 1):
        yield from _dish_faults(entry.dish, Place("entry", n, entry.id))


def _dish_faults(d: Dish, place: Place) -> Iterator[Fault]:
    total = sum(d.composition.model_dump().values())
    if abs(total - 1) > 0.02:
        yield place.fault("composition", f"{total:.3f}", "not-whole")
    for key in d.done_mode.requires:
        if getattr(d, key) == Dish.model_fields[key].default:
            yield place.fault(key, "", "done-needs", done=d.done)
    if d.shape in ("pieces", "slab", "baked") and d.thickness_mm == 0:
        yield place.fault("thickness_mm", 0, "shape-needs", shape=d.shape)


def _an_adult_is_there(event: Event) -> Iterator[Fault]:
    if event.helpers and not any(h.adult for h in event.helpers):
        yield Place("helper").fault("adult", False, "nobody-adult")


def _talks_can_be(event: Event) -> Iterator[Fault]:
    """A talk has a fixed time with a stage, or hours to float in with a moment, and room there."""
    for n, talk in enumerate(event.talks, 1):
        place = Place("talk", n, talk.id)
        floats = (talk.start, talk.end, talk.moment, talk.cooker, *talk.speakers)
        if talk.at is not None and (any(f is not None for f in floats) or talk.times > 1):
            yield place.fault("at", talk.at, "fixed-and-floating")
        if talk.at is None and talk.stage is not None:
            yield place.fault("stage", talk.stage, "stage-without-time")
        hours = talk.hours(event.site)
        needed = talk.times * (talk.minutes + talk.apart_min) - talk.apart_min
        if talk.at is None and needed > hours.minutes:
            yield place.fault(
                *("until", hours.end, "talks-too-long"),
                times=talk.times,
                each_min=talk.minutes,
                apart_min=talk.apart_min,
                needed_min=needed,
                there=max(0, hours.minutes),
            )


_RULES: list[Callable[[Event], Iterator[Fault]]] = [
    _something_of_each,
    _ids_are_unique,
    _names_lead_somewhere,
    _hours_can_be,
    _months_are_twelve,
    _clouds_stand_in_order,
    _cookers_are_whole,
    _hands_for_mirrors,
    _dishes_are_whole,
    _an_adult_is_there,
    _talks_can_be,
    rota_faults,
    contest_faults,
]
