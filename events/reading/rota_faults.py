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
        yield Place("group").fault("", "", "no-group")
    if not event.stops:
        yield Place("stop").fault("", "", "no-stop")


def _stops_are_somewhere(event: Event) -> Iterator[Fault]:
    for place, stop in _stops(event):
        if stop.station is None and (stop.x_m is None or stop.y_m is None):
            yield place.fault("station", "", "stop-nowhere")
        if set(stop.sees) - {"served"} and not stop.cookers:
            yield place.fault("sees", ", ".join(stop.sees), "sees-no-cooker")


def _the_young_have_an_adult(event: Event) -> Iterator[Fault]:
    with_group: dict[str, str] = {}
    for place, group in _groups(event):
        if group.young and not group.adult:
            yield place.fault("adult", "", "young-alone")
        if group.adult in {h.id for h in event.helpers if not h.adult} and group.young:
            yield place.fault("adult", group.adult, "not-adult")
        if group.adult and group.adult in with_group:
            other = with_group[group.adult]
            yield place.fault("adult", group.adult, "with-another-group", group=other)
        with_group.setdefault(group.adult, group.name)


def _guides_are_adult_and_at_one_stop(event: Event) -> Iterator[Fault]:
    adults = {h.id for h in event.helpers if h.adult}
    named = {g.adult for g in event.groups}
    seen: set[str] = set()
    for place, stop in _stops(event):
        if stop.guide is None:
            continue
        if stop.guide not in adults:
            yield place.fault("guide", stop.guide, "guide-not-adult")
        if stop.guide in seen or stop.guide in named:
            yield place.fault("guide", stop.guide, "guide-elsewhere")
        seen.add(stop.guide)


def _groups_fit_their_stops(event: Event) -> Iterator[Fault]:
    for place, group in _groups(event):
        for stop in event.stops:
            if stop.id not in group.skips and group.people > stop.people_max:
                most = stop.people_max
                yield place.fault(
                    "people", group.people, "group-too-large", stop=stop.name, most=most
                )


def _hours_can_be(event: Event) -> Iterator[Fault]:
    rota, place = event.rota, Place("rota")
    hours = rota.hours(event.site)
    start, end = hours.start, hours.end
    if end <= start:
        yield place.fault("until", end, "not-after", first="from", start=start)
        return
    opens, closes = event.site.opens, event.site.closes
    if start < opens or end > closes:
        yield place.fault("from", start, "rota-outside-hours", end=end, opens=opens, closes=closes)
    if rota.pause_min and (rota.pause_from is None or rota.pause_until is None):
        yield place.fault("pause_min", rota.pause_min, "pause-without-times")
    elif rota.pause_from and rota.pause_until and rota.pause_until < rota.pause_from:
        yield place.fault(
            "pause_until", rota.pause_until, "pause-ends-first", start=rota.pause_from
        )


def _rounds_fit_their_hours(event: Event) -> Iterator[Fault]:
    rota = event.rota
    for place, group in _groups(event):
        hours = group.hours(rota.hours(event.site))
        visits = [rota.minutes_at(s) for s in event.stops if s.id not in group.skips]
        walks = max(0, len(visits) - 1) * rota.walk_min_least
        needed, there = sum(visits) + walks + rota.pause_min, hours.minutes
        if needed > there:
            yield place.fault(
                "until", there, "round-too-long", stops=len(visits), needed_min=needed
            )
    for place, stop in _stops(event):
        groups = [g for g in event.groups if stop.id not in g.skips]
        needed = len(groups) * (rota.minutes_at(stop) + stop.ready_min) - stop.ready_min
        there = rota.hours(event.site).minutes
        if needed > there:
            yield place.fault(
                "minutes", there, "visits-too-long", groups=len(groups), needed_min=needed
            )


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
