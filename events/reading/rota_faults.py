"""What can't be so in a rota: stops nowhere, a round longer than its hours, groups too large."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from events.errors import Fault, Place
from events.model import Event
from events.rounds import Group, Stop


def rota_faults(event: Event) -> Iterator[Fault]:
    """Yield every fault of the groups, their stops and the rota's hours."""
    if event.groups or event.stops:
        for rule in _RULES:
            yield from rule(event)


def _both_are_there(event: Event) -> Iterator[Fault]:
    if not event.groups:
        yield Place("group").fault("", "", "there is none", "Add a [[group]], or drop the stops.")
    if not event.stops:
        yield Place("stop").fault("", "", "there is none", "Add a [[stop]], or drop the groups.")


def _stops_are_somewhere(event: Event) -> Iterator[Fault]:
    for place, stop in _stops(event):
        if stop.station is None and (stop.x_m is None or stop.y_m is None):
            yield place.fault("station", "", "a stop needs a place", "Name it, or x_m and y_m.")
        if stop.sees and not stop.cookers:
            names = ", ".join(stop.sees)
            yield place.fault("sees", names, "no cooker is named", "Say at which cookers.")


def _the_young_have_an_adult(event: Event) -> Iterator[Fault]:
    with_group: dict[str, str] = {}
    for place, group in _groups(event):
        if group.young and not group.adult:
            yield place.fault("adult", "", "the young go round with a named adult", "Name one.")
        if group.young and group.adult in {h.id for h in event.helpers if not h.adult}:
            yield place.fault("adult", group.adult, "is not adult", "Name another.")
        if group.adult and group.adult in with_group:
            limit = f"is with {with_group[group.adult]} already"
            yield place.fault("adult", group.adult, limit, "One adult goes with one group.")
        with_group.setdefault(group.adult, group.name)


def _guides_are_adult_and_at_one_stop(event: Event) -> Iterator[Fault]:
    adults = {h.id for h in event.helpers if h.adult}
    named = {g.adult for g in event.groups}
    seen: set[str] = set()
    for place, stop in _stops(event):
        if stop.guide is None:
            continue
        if stop.guide not in adults:
            yield place.fault("guide", stop.guide, "is no adult helper", "Name another.")
        if stop.guide in seen or stop.guide in named:
            yield place.fault("guide", stop.guide, "is elsewhere on the round", "Name another.")
        seen.add(stop.guide)


def _groups_fit_their_stops(event: Event) -> Iterator[Fault]:
    for place, group in _groups(event):
        for stop in event.stops:
            if stop.id not in group.skips and group.people > stop.people_max:
                limit = f"{stop.name} takes {stop.people_max}"
                yield place.fault("people", str(group.people), limit, "Part the group.")


def _hours_can_be(event: Event) -> Iterator[Fault]:
    rota, place = event.rota, Place("rota")
    hours = rota.hours(event.site)
    start, end = hours.start, hours.end
    if end <= start:
        yield place.fault("until", f"{end:%H:%M}", f"must be after from {start:%H:%M}")
        return
    opens, closes = event.site.opens, event.site.closes
    if start < opens or end > closes:
        limit = f"must be inside the site's opening hours, {opens:%H:%M} to {closes:%H:%M}"
        yield place.fault("from", f"{start:%H:%M} to {end:%H:%M}", limit, "Move one of them.")
    if rota.pause_min and (rota.pause_from is None or rota.pause_until is None):
        remedy = "Give pause_from and pause_until."
        yield place.fault("pause_min", str(rota.pause_min), "begins between two times", remedy)
    elif rota.pause_from and rota.pause_until and rota.pause_until < rota.pause_from:
        limit = f"must not be before pause_from {rota.pause_from:%H:%M}"
        yield place.fault("pause_until", f"{rota.pause_until:%H:%M}", limit)


def _rounds_fit_their_hours(event: Event) -> Iterator[Fault]:
    rota = event.rota
    for place, group in _groups(event):
        hours = group.hours(rota.hours(event.site))
        visits = [rota.minutes_at(s) for s in event.stops if s.id not in group.skips]
        walks = max(0, len(visits) - 1) * rota.walk_min_least
        needed, there = sum(visits) + walks + rota.pause_min, hours.minutes
        if needed > there:
            limit = f"{len(visits)} stops, the walks and the pause need {needed} min at least"
            remedy = "Longer hours, fewer stops (skips), or shorter visits."
            yield place.fault("until", f"{there} min", limit, remedy)
    for place, stop in _stops(event):
        groups = [g for g in event.groups if stop.id not in g.skips]
        needed = len(groups) * (rota.minutes_at(stop) + stop.ready_min) - stop.ready_min
        there = rota.hours(event.site).minutes
        if needed > there:
            limit = f"{len(groups)} groups one after another need {needed} min"
            yield place.fault("minutes", f"{there} min", limit, "Shorter visits, or longer hours.")


def _groups(event: Event) -> Iterator[tuple[Place, Group]]:
    for n, group in enumerate(event.groups, 1):
        yield Place("group", n, group.id), group


def _stops(event: Event) -> Iterator[tuple[Place, Stop]]:
    for n, stop in enumerate(event.stops, 1):
        yield Place("stop", n, stop.id), stop


_RULES: list[Callable[[Event], Iterator[Fault]]] = [
    _both_are_there,
    _stops_are_somewhere,
    _the_young_have_an_adult,
    _guides_are_adult_and_at_one_stop,
    _groups_fit_their_stops,
    _hours_can_be,
    _rounds_fit_their_hours,
]
