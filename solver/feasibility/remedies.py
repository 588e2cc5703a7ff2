"""Which changes may mend a dish, the likeliest first; none is tried here."""

from __future__ import annotations

import itertools
from typing import Self

from pydantic import BaseModel, ConfigDict

from events.food_rules import clock_limit_min
from events.model import Dish, Event
from solver.feasibility.changes import (
    QUARTER_MIN,
    DoneNearer,
    EatLater,
    EventChange,
    MakeLess,
    MorePots,
    change_id,
    changes_for,
    is_tried,
)
from solver.notices import PlanWarning, RefusalKind
from solver.plan import Plan, Unplaced

FIXES_MOST = 4  # changes that are tried for one problem
FOR_PLACE_MOST = 10  # and for a dish without a place: of its portions the most that fit are sought
POTS_MOST = 2
PAIR_LATER_MIN = 30

# What is tried first for a dish that found no place, by what bound it; the next where it can't be.
_KINDS: dict[RefusalKind, tuple[str, ...]] = {
    "taken": ("smaller", "cooker"),
    "nobody-free": ("helper", "later"),
    "batches-collide": ("smaller", "cooker"),
    "too-few-pots": ("smaller",),
    "no-pot": ("smaller", "cooker"),
    "pots-too-small": ("smaller",),
    "too-late": ("later", "smaller"),
    "closes-first": ("smaller", "cooker"),
    "too-long-warm": ("pots", "smaller"),
    "goes-cold": ("smaller",),
    "held-too-long": ("later",),
    "never-done": ("burner", "gas", "smaller", "cooker"),
    "oven-too-cool": ("cooker",),
    "no-sun": ("later", "burner"),
    "too-windy": ("burner",),
}
# Where some cooker can do it at all, fewer portions may fit.
_NOT_FOR_LESS = {"no-sun", "oven-too-cool", "too-windy"}


class Fix(BaseModel):
    """A change that a press makes, and what else it makes with it."""

    model_config = ConfigDict(frozen=True)

    id: str
    change: EventChange
    also: tuple[Self, ...] = ()

    @property
    def all(self) -> tuple[Self, ...]:
        """Return its changes one by one."""
        return (self, *self.also)


def fix(dish: Dish | None, change: EventChange) -> Fix:
    """Return a change as a press asks for it; without a dish it is for all of them."""
    return Fix(id=change_id(dish, change), change=change)


def fixes_of(
    event: Event, dish: Dish, kinds: tuple[str, ...], *, most: int = FIXES_MOST
) -> tuple[Fix, ...]:
    """Return changes for a dish: the smallest of each kind, then the next of each."""
    possible = [c for c in changes_for(event, dish) if is_tried(event, c)]
    return _in_rounds(dish, possible, kinds)[:most]


def in_more_pots(event: Event, plan: Plan, dish: Dish) -> tuple[Fix, ...]:
    """Return a dish cooked in more pots than the plan cooks it in, the fewest first."""
    pots = max((p.batches for p in plan.placements if p.dish_id == dish.id), default=1)
    changes = [c for c in changes_for(event, dish) if isinstance(c, MorePots) and c.pots > pots]
    return tuple(fix(dish, c) for c in changes[:POTS_MOST])


def nearer(event: Event, plan: Plan, warm: PlanWarning) -> tuple[Fix, ...]:
    """Return a dish, served cold, done nearer to its meal: by the minutes too many, or by more."""
    batch = next(p for p in plan.placements if p.id == warm.placement_id)
    dish = event.dish(batch.dish_id)
    most_min = batch.held_min - batch.between_5_and_60_min + clock_limit_min(event, dish) // 2
    changes = [c for c in changes_for(event, dish) if isinstance(c, DoneNearer)]
    enough = [c for c in changes if c.most_min <= most_min]
    return tuple(fix(dish, c) for c in enough[:3:2])


def for_a_place(event: Event, unplaced: Unplaced) -> tuple[Fix, ...]:
    """Return what may give a dish a place: single changes, then fewer portions and a later meal.

    A later meal is later by what the dish lacks, the least hour that can be enough.
    """
    dish, lacking_min = event.dish(unplaced.dish_id), _lacking_min(unplaced)
    every = list(changes_for(event, dish))
    possible = [
        c
        for c in every
        if (is_tried(event, c) and (not isinstance(c, EatLater) or c.by_min >= lacking_min))
        or (isinstance(c, EatLater) and 0 <= c.by_min - lacking_min < QUARTER_MIN)
        or isinstance(c, MakeLess | MorePots)
    ]
    kinds = _kinds(unplaced)
    single = _in_rounds(dish, possible, kinds)[:FOR_PLACE_MOST]
    if "smaller" not in kinds:
        return single
    later = [c for c in every if isinstance(c, EatLater) and c.by_min >= PAIR_LATER_MIN]
    less = [c for c in every if isinstance(c, MakeLess)]
    pairs = itertools.product(
        [c for c in less if is_tried(event, c)], [c for c in later if is_tried(event, c)][:2]
    )
    return single + tuple(
        Fix(id=change_id(dish, a), change=a, also=(fix(dish, b),)) for a, b in pairs
    )


def binding(unplaced: Unplaced) -> RefusalKind:
    """Return what binds a dish: of its reasons the one that came nearest to a place."""
    kinds = [r.kind for r in unplaced.reasons]
    return next((kind for kind in _KINDS if kind in kinds), kinds[0] if kinds else "no-sun")


def _kinds(unplaced: Unplaced) -> tuple[str, ...]:
    """Return what is tried first for a dish; a later meal where some cooker is only too slow."""
    kinds = _KINDS.get(binding(unplaced), ())
    is_late = any(r.kind == "too-late" for r in unplaced.reasons)
    less = {r.kind for r in unplaced.reasons} & (_KINDS.keys() - _NOT_FOR_LESS)
    named = ("later", *kinds) if is_late else kinds
    return tuple(dict.fromkeys((*named, "smaller") if less else named))


def _lacking_min(unplaced: Unplaced) -> int:
    """Return by how many minutes a dish would be late for its meal at best; 0: not known."""
    late = [
        (r.instants["done_at"] - r.instants["meal_at"]).total_seconds() / 60 + r.figures["rest_min"]
        for r in unplaced.reasons
        if r.kind == "too-late"
    ]
    return round(min(late, default=0))


def _in_rounds(dish: Dish, possible: list[EventChange], kinds: tuple[str, ...]) -> tuple[Fix, ...]:
    of_kind = {kind: [c for c in possible if c.kind == kind] for kind in kinds}
    rounds = itertools.zip_longest(*of_kind.values())
    changes = [change for each in rounds for change in each if change is not None]
    return tuple(fix(dish, change) for change in changes)
