"""What visitors see: what cooks where, when it is eaten, what is next, and the sun now."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from events.diary import StoredEntry, cloud_over, clouds
from events.kinds import Kind
from events.model import Dish, Event
from service.text import formatting
from service.text.allergens import diet, sentence
from service.text.clouds import cloud_words
from service.text.cookers import COOKER_WORDS
from service.text.sittings import sittings
from solver.plan import Placement, Plan

FRESH = timedelta(minutes=20)  # a reading this young is shown instead of the estimate
SKY_KNOWN = timedelta(minutes=60)  # further from the plan's hours of sun it is down
SAFETY = "Stay behind the rope. Never look into a mirror. Everything is hot."
# How strong the beam is, W/m², in words; the picture has as many long rays. No published source.
SUN_WORDS = ((700, "Strong sun", 3), (400, "Good sun", 2), (120, "Weak sun", 1))


@dataclass(frozen=True)
class BoardRow:
    """One dish as visitors see it."""

    food: str
    kind: Kind | None  # of the cooker whose symbol stands beside it; of an entry nobody is told
    state: str  # "warming in Box 1, about 75 °C"
    diet: str
    allergens: str
    when: str  # "eat at"
    clock: str


@dataclass(frozen=True)
class Coming:
    """Something to see soon."""

    clock: str
    words: str


@dataclass(frozen=True)
class SunNow:
    """The sun at this moment, in words and for a picture."""

    words: str
    rays: int  # 0 to 3: how strong
    cloud: bool = False
    down: bool = False


@dataclass(frozen=True)
class Board:
    """The whole board at one moment."""

    heading: str
    rows: tuple[BoardRow, ...]
    eaten: str  # what was cooked, once all of it is eaten
    coming: tuple[Coming, ...]
    sun: SunNow | None  # on the day itself
    how: tuple[str, ...]  # how the cookers in use work, a sentence for each kind


def board(
    event: Event,
    plan: Plan,
    at: datetime,
    entries: Sequence[StoredEntry],
    *,
    numbers: Mapping[str, int] | None = None,
) -> Board:
    """Return the board at a moment; `entries` are those of the diary that still count.

    `numbers` are those under which a contest's entries are tasted: their names stay hidden.
    """
    thrown = {e.entry.placement_id for e in entries if e.entry.kind == "discarded"}
    batches = [p for p in plan.placements if p.id not in thrown]
    dishes = [d for d in event.dishes if any(p.dish_id == d.id for p in batches)]
    rows = []
    for dish in sorted(dishes, key=lambda d: _served_at(batches, d)):
        left = [p for p in batches if p.dish_id == dish.id and p.last_plate_at > at]
        if left:
            rows.append(_row(event, dish, left, at, entries))
    rows += _tasted(event, plan, at, numbers) if numbers else []
    kinds = dict.fromkeys(event.cooker(p.cooker_id).kind for p in batches)
    return Board(
        heading=_heading(event, at),
        rows=tuple(rows),
        eaten="" if rows else formatting.listed([d.name for d in dishes]),
        coming=_coming(event, plan, batches, at),
        sun=sun_now(event, plan, at, entries) if formatting.same_day(event, at) else None,
        how=tuple(COOKER_WORDS[kind].works for kind in kinds),
    )


def _tasted(event: Event, plan: Plan, at: datetime, numbers: Mapping[str, int]) -> list[BoardRow]:
    """Return the contest's entries by number with what they contain, while they may be tasted.

    Neither cooker nor time stands beside a number: teams know theirs, and would know the number.
    """
    if plan.contest is None or event.contest is None:
        return []
    ends = max(event.contest.end, event.votes.end or event.contest.end)
    if at >= event.instant(ends):
        return []
    tasted = {numbers[t.entry_id]: t.entry_id for t in plan.contest.tastings}
    return [
        BoardRow(
            food=f"Number {number}",
            kind=None,
            state="in the contest",
            diet=diet(event, event.entry(tasted[number]).dish),
            allergens=sentence(event, event.entry(tasted[number]).dish),
            when="",
            clock="",
        )
        for number in sorted(tasted)
    ]


def _served_at(batches: Sequence[Placement], dish: Dish) -> tuple[datetime, str]:
    return min(p.served_at for p in batches if p.dish_id == dish.id), dish.name


def _heading(event: Event, at: datetime) -> str:
    """Return the next meal and its hour; before and after the day the event's name."""
    if not formatting.same_day(event, at):
        return f"{event.title}, {formatting.long_date(event.date)}"
    for meal in sorted(event.meals, key=lambda m: m.start):
        if at < event.instant(meal.start):
            times = [formatting.hour(event, sitting) for sitting in sittings(meal)]
            return f"{meal.name} at {formatting.listed(times)}"
        if at < event.instant(meal.end):
            return f"{meal.name} now, until {formatting.hour(event, meal.end)}"
    return event.title


def _row(
    event: Event,
    dish: Dish,
    batches: Sequence[Placement],
    at: datetime,
    entries: Sequence[StoredEntry],
) -> BoardRow:
    """Return a dish's row: of its batches, the one least far of those that are in a cooker."""
    loaded = [p for p in batches if p.loaded_at <= at]
    shown = max(loaded, key=lambda p: p.done_at) if loaded else min(batches, key=_loaded_at)
    served_at = min(p.served_at for p in batches)
    serving = at >= served_at
    return BoardRow(
        food=dish.name,
        kind=event.cooker(shown.cooker_id).kind,
        state=_state(event, dish, shown, at, entries),
        diet=diet(event, dish),
        allergens=sentence(event, dish),
        when="eat it" if serving else "eat at",
        clock="now" if serving else formatting.clock(event, served_at),
    )


def _loaded_at(batch: Placement) -> datetime:
    return batch.loaded_at


def _state(
    event: Event, dish: Dish, p: Placement, at: datetime, entries: Sequence[StoredEntry]
) -> str:
    cooker = event.cooker(p.cooker_id).name
    if _broke_under(p, at, entries):
        return "out of its cooker, waiting for another"
    if at < p.loaded_at:
        return f"goes into {cooker} at {formatting.clock(event, p.loaded_at)}"
    if at < p.lifted_at:
        work = "warming" if at < p.hot_at else "baking" if dish.shape == "baked" else "cooking"
        doing = f"{work if at < p.done_at else 'done, still'} in {cooker}"
        return f"{doing}{_warmth(event, p, at, entries)}"
    if p.then_cooker_id and p.off_at and at < p.off_at:
        return f"moved on to {event.cooker(p.then_cooker_id).name}"
    return "out of its cooker, waiting for you"


def _broke_under(p: Placement, at: datetime, entries: Sequence[StoredEntry]) -> bool:
    """Return whether a pot's cooker broke while the pot was in it."""
    return any(
        e.entry.kind == "out-of-action"
        and e.entry.cooker_id == p.cooker_id
        and p.loaded_at <= e.happened_at < p.lifted_at
        and e.happened_at <= at
        for e in entries
    )


def _warmth(event: Event, p: Placement, at: datetime, entries: Sequence[StoredEntry]) -> str:
    """Return how hot the middle is: what a probe read lately, else about what is expected."""
    readings = [
        e.entry.core_c
        for e in entries
        if e.entry.placement_id == p.id
        and e.entry.core_c is not None
        and timedelta() <= at - e.happened_at < FRESH
    ]
    if readings:
        return f", {formatting.temp(event, readings[-1])} in the middle"
    seconds = [(point.at - p.loaded_at).total_seconds() for point in p.curve]
    cores_c = [point.core_c for point in p.curve]
    now_c = float(np.interp((at - p.loaded_at).total_seconds(), seconds, cores_c))
    return f", about {formatting.rough_temp(event, now_c)}"


def _coming(
    event: Event, plan: Plan, batches: Sequence[Placement], at: datetime
) -> tuple[Coming, ...]:
    """Return what there is to see next: a talk, and a pot that goes in or comes out."""
    talks = [
        (j.at, f"Talk: {event.talk(j.talk_id or '').name}")
        for j in plan.jobs
        if j.kind == "talk" and j.at >= at
    ]
    pots = []
    for p in batches:
        food, cooker = event.dish(p.dish_id).name, event.cooker(p.cooker_id).name
        pots += [(p.loaded_at, f"{food} into {cooker}"), (p.lifted_at, f"{food} out of {cooker}")]
    nearest = [*sorted(talks)[:1], *sorted(pot for pot in pots if pot[0] >= at)[:1]]
    return tuple(Coming(formatting.clock(event, when), words) for when, words in sorted(nearest))


def sun_now(event: Event, plan: Plan, at: datetime, entries: Sequence[StoredEntry]) -> SunNow:
    """Return the sun now: by the plan's sky, and clouded while a report of a cloud holds."""
    step = min(plan.sun, key=lambda s: abs(s.at - at))
    if step.elevation_deg <= 0 or abs(step.at - at) > SKY_KNOWN:
        return SunNow("The sun is down", 0, down=True)
    if cloud := cloud_over(clouds(entries), at):
        return SunNow(cloud_words(event, cloud), 0, cloud=True)
    if step.blocked:
        return SunNow("The sun is behind something", 0)
    for least_w_m2, words, rays in SUN_WORDS:
        if step.beam_w_m2 >= least_w_m2:
            return SunNow(words, rays)
    return SunNow("Hardly any sun", 0, cloud=True)
