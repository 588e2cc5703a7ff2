"""Work that the roster leaves to everybody, given to somebody by name: prepare, set up, probe.

Where the plan names nobody, paper names one: who loads or lifts the pot, else whoever is there, is
free and has the least of it. A proposal: people may change it with a pencil.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta

from events.model import Dish, Event, Helper, Meal
from service.text import messages
from service.text.rota import rounds_led
from solver.plan import Job, JobKind, Plan, Walk

LOOK_BEFORE_MIN = 10  # before a meal every pot is probed: common practice, no published source
NOBODY = "nobody is there and free"
LIFTS: tuple[JobKind, ...] = ("lift", "insulate", "move", "probe")
_Span = tuple[datetime, datetime, tuple[str, ...]]  # from when to when who


@dataclass(frozen=True)
class MealLook:
    """The last look before a meal: when, who, and which dishes are probed."""

    meal: Meal
    at: datetime
    helpers: tuple[Helper, ...]
    dishes: tuple[Dish, ...]


def on_site(event: Event, at: datetime) -> list[Helper]:
    """Return the adults whose hours a moment lies in; where there are none, every adult."""
    clock = at.astimezone(event.zone).time()
    adults = [h for h in event.helpers if h.adult] or list(event.helpers)
    there = [h for h in adults if h.start <= clock < h.end and at.date() == event.date]
    return there or adults


def meal_looks(event: Event, plan: Plan, helper_id: str | None = None) -> list[MealLook]:
    """Return the look before each meal that has anything to probe, or one helper's part of it."""
    looks = []
    for meal in event.meals:
        at = event.instant(meal.start) - timedelta(minutes=LOOK_BEFORE_MIN)
        placed = {p.dish_id for p in plan.placements}
        dishes = [d for d in event.dishes if d.meal == meal.id and d.id in placed]
        who = {d.id: _prober(event, plan, d, at) for d in dishes if messages.probe_least(event, d)}
        probed = [d for d in dishes if d.id in who and helper_id in (None, who[d.id].id)]
        helpers = dict.fromkeys(who[d.id].id for d in probed)
        if probed:
            looks.append(MealLook(meal, at, tuple(map(event.helper, helpers)), tuple(probed)))
    return looks


def _prober(event: Event, plan: Plan, dish: Dish, at: datetime) -> Helper:
    """Return who probes a dish before its meal: who lifts it, else somebody who is there."""
    ids = {p.id for p in plan.placements if p.dish_id == dish.id}
    lifting = [j for j in plan.jobs if j.kind in LIFTS and ids & set(j.placement_ids)]
    hands = [h for j in lifting for h in j.helper_ids]
    return event.helper(hands[0]) if hands else on_site(event, at)[0]


class Shares:
    """Hands out small work so that all who are there have about as much of it."""

    def __init__(self, event: Event, plan: Plan) -> None:
        self._event = event
        self._given: list[_Span] = []
        self._busy: list[_Span] = [
            *((w.at, _end(w), (w.helper_id,)) for w in plan.walks),
            *((j.at, _end(j), j.helper_ids) for j in plan.jobs),
        ]
        for h in event.helpers:
            rests = [(event.instant(b.at), b.minutes) for b in h.breaks]
            self._busy += [(at, at + timedelta(minutes=long), (h.id,)) for at, long in rests]
            # Who leads goes from visit to visit: from the first to the last nothing else.
            if led := rounds_led(event, plan, h.id):
                last = max(visit.ends_at for visit in led)
                self._busy.append((led[0].at, last, (h.id,)))

    def give(self, at: datetime, *, minutes: int, wanted: str = "") -> str:
        """Return the name of who does some work: the one who is wanted, if there and free.

        Where nobody is there and free for all of it, that is said.
        """
        end = at + timedelta(minutes=max(1, minutes))
        free = [
            h
            for h in self._event.helpers
            if h.adult
            and self._event.instant(h.start) <= at
            and end <= self._event.instant(h.end)
            and not _meets(self._busy, h.id, at, end)
        ]
        if not free:
            return NOBODY
        given = Counter(who for _, _, whose in self._given for who in whose)
        chosen = min(
            free,
            key=lambda h: (_meets(self._given, h.id, at, end), h.id != wanted, given[h.id]),
        )
        self._given.append((at, end, (chosen.id,)))
        return chosen.name


def _meets(spans: list[_Span], helper_id: str, at: datetime, end: datetime) -> bool:
    return any(helper_id in who and start < end and at < ends for start, ends, who in spans)


def _end(work: Job | Walk) -> datetime:
    return work.at + timedelta(minutes=work.minutes)
