"""What a file says that can't be so: names that lead nowhere, impossible hours, missing figures."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import time

from events.errors import Fault
from events.model import Dish, Event


def sense(event: Event) -> list[Fault]:
    """Return every fault between tables, or between keys of one table."""
    return [fault for rule in _RULES for fault in rule(event)]


def _named(event: Event) -> Iterator[tuple[str, int, str]]:
    for kind in ("station", "cooker", "pot", "meal", "dish", "helper", "talk"):
        field = {"dish": "dishes"}.get(kind, kind + "s")
        for n, one in enumerate(getattr(event, field), 1):
            yield kind, n, one.id


def _something_of_each(event: Event) -> Iterator[Fault]:
    for kind, many, do in (
        ("cooker", event.cookers, "Add a [[cooker]]."),
        ("pot", event.pots, "Add a [[pot]]."),
        ("meal", event.meals, "Add a [[meal]] with from and until."),
        ("dish", event.dishes, "Add a [[dish]]."),
        ("helper", event.helpers, "Add a [[helper]]: somebody must load and lift."),
    ):
        if not many:
            yield Fault(f"[[{kind}]]", "", "", "there is none", do)


def _ids_are_unique(event: Event) -> Iterator[Fault]:
    seen: set[tuple[str, str]] = set()
    for kind, n, name in _named(event):
        if (kind, name) in seen:
            yield Fault(f"[[{kind}]] {n}", "id", repr(name), "is taken", "Give each its own id.")
        seen.add((kind, name))


def _names_lead_somewhere(event: Event) -> Iterator[Fault]:
    stations, meals = {s.id for s in event.stations}, {m.id for m in event.meals}
    dishes, helpers = {d.id for d in event.dishes}, {h.id for h in event.helpers}
    asks: list[tuple[str, str, str | None, set[str]]] = []
    asks += [(f"[[cooker]] ({c.id})", "station", c.station, stations) for c in event.cookers]
    asks += [(f"[[dish]] ({d.id})", "meal", d.meal, meals) for d in event.dishes]
    asks += [(f"[[talk]] ({t.id})", "speaker", t.speaker, helpers) for t in event.talks]
    asks += [(f"[[talk]] ({t.id})", "dish", t.dish, dishes) for t in event.talks]
    cookers = {c.id for c in event.cookers}
    for d in event.dishes:
        asks += [(f"[[dish]] ({d.id})", "only_in", c, cookers) for c in d.only_in]
        asks += [(f"[[dish]] ({d.id})", "not_in", c, cookers) for c in d.not_in]
    for where, key, value, known in asks:
        if value is not None and value not in known:
            there = ", ".join(sorted(known)) or "none"
            yield Fault(where, key, repr(value), "is not in this file", f"There are: {there}.")


def _months_are_twelve(event: Event) -> Iterator[Fault]:
    given = len(event.site.sunlit_pct)
    if given not in (0, 12):
        do = "Give one for each month, January first."
        yield Fault("[site]", "sunlit_pct", f"{given} values", "must be 12", do)


def _hours_can_be(event: Event) -> Iterator[Fault]:
    site = event.site
    spans: list[tuple[str, str, str, time, time]] = [
        ("[site]", "opens", "closes", site.opens, site.closes)
    ]
    spans += [(f"[[meal]] ({m.id})", "from", "until", m.start, m.end) for m in event.meals]
    spans += [(f"[[helper]] ({h.id})", "from", "until", h.start, h.end) for h in event.helpers]
    for where, first, second, start, end in spans:
        if end <= start:
            yield Fault(where, second, f"{end:%H:%M}", f"must be after {first} {start:%H:%M}", "")
    if site.closes <= site.opens:
        return
    opening = f"{site.opens:%H:%M} to {site.closes:%H:%M}"
    for meal in event.meals:
        if not site.opens < meal.start < site.closes:
            yield Fault(
                f"[[meal]] ({meal.id})",
                "from",
                f"{meal.start:%H:%M}",
                f"must be inside the site's opening hours, {opening}",
                "Move the meal, or the hours in [site].",
            )
    for talk in event.talks:
        if not site.opens <= talk.at < site.closes:
            yield Fault(
                f"[[talk]] ({talk.id})",
                "at",
                f"{talk.at:%H:%M}",
                f"must be inside the site's opening hours, {opening}",
                "Move the talk, or the hours in [site].",
            )


_HOW_TO_KNOW = {
    "aperture_m2": "Give its opening in m².",
    "power_w": "A camping ring has about 2500.",
    "loss_w_k": 'Or take like = "box-plain".',
    "core_c": "Give the middle's °C.",
    "ordinary_min": "A recipe's minutes.",
}


def _cookers_are_whole(event: Event) -> Iterator[Fault]:
    for c in event.cookers:
        where = f"[[cooker]] ({c.id})"
        for key in c.nature.requires:
            if getattr(c, key) is None:
                yield Fault(where, key, "", f"a {c.kind} needs it", _HOW_TO_KNOW[key])
        if c.on_sun and c.lost_deg <= c.acceptance_deg:
            yield Fault(
                where,
                "lost_deg",
                f"{c.lost_deg:g}",
                f"must be over acceptance_deg, {c.acceptance_deg:g}",
                "",
            )


def _hands_for_mirrors(event: Event) -> Iterator[Fault]:
    danger = [c for c in event.cookers if c.nature.concentrates or c.on_gas]
    for ability in ("mirrors", "burner"):
        names = [c.id for c in danger if c.ability == ability]
        if names and event.helpers and not any(ability in h.works for h in event.helpers):
            yield Fault(
                "[[helper]]",
                "may",
                "",
                f"nobody may work {', '.join(names)}",
                f'Add "{ability}" to a trained adult\'s may.',
            )


def _dish_faults(d: Dish) -> Iterator[Fault]:
    where = f"[[dish]] ({d.id})"
    total = sum(d.composition.model_dump().values())
    if abs(total - 1) > 0.02:
        yield Fault(where, "composition", f"{total:.3f}", "must add up to 1", "Mend the shares.")
    for key in d.done_mode.requires:
        if getattr(d, key) == Dish.model_fields[key].default:
            yield Fault(where, key, "", f'done = "{d.done}" needs it', _HOW_TO_KNOW[key])
    if d.shape in ("pieces", "slab", "baked") and d.thickness_mm == 0:
        yield Fault(where, "thickness_mm", "0", f'shape = "{d.shape}" needs it', "Measure a piece.")
    # US FDA: dry kidney beans are boiled for at least 30 minutes.
    if d.kidney_beans == "raw" and (d.done_mode.measured != "boil" or d.hold_min < 30):
        yield Fault(
            where,
            "kidney_beans",
            "'raw'",
            'needs done = "boil" and hold_min of at least 30 (US FDA)',
            'Boil them first and write "boiled", or use tins.',
        )


def _dishes_are_whole(event: Event) -> Iterator[Fault]:
    for dish in event.dishes:
        yield from _dish_faults(dish)


_RULES: list[Callable[[Event], Iterator[Fault]]] = [
    _something_of_each,
    _ids_are_unique,
    _names_lead_somewhere,
    _hours_can_be,
    _months_are_twelve,
    _cookers_are_whole,
    _hands_for_mirrors,
    _dishes_are_whole,
]
