"""What weighs most in a plan, and for each problem the changes that may mend it.

Nothing is planned again here: `outcomes` says what a change brought once it was tried.
"""

from __future__ import annotations

import itertools
from typing import Literal

from pydantic import BaseModel, ConfigDict

from events.model import Dish, Event
from solver.feasibility.improvements import (
    LESS_OF_ALL_PCT,
    AddRing,
    EatLater,
    EventChange,
    MakeLessOfAll,
    change_id,
    changes_for,
)
from solver.notices import RefusalKind
from solver.plan import Plan, Unplaced

SHOWN = 3
FIXES_MOST = 4  # changes that are tried for one problem
MANY = 3  # dishes of one meal: their problem is the meal's hour
LATER_MIN = 30
WEAKEST_NAMED = 2

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
    "too-long-warm": ("smaller",),
    "goes-cold": ("smaller",),
    "held-too-long": ("later",),
    "never-done": ("burner", "gas", "smaller", "cooker"),
    "oven-too-cool": ("cooker",),
    "no-sun": ("burner", "later"),
    "too-windy": ("burner",),
}
_FOR_UNSURE = ("sooner", "gas", "smaller", "later", "earlier")
_CROWDED: tuple[RefusalKind, ...] = ("taken", "batches-collide", "too-few-pots")


class Fix(BaseModel):
    """A change that a press makes."""

    model_config = ConfigDict(frozen=True)

    id: str
    change: EventChange


class Problem(BaseModel):
    """Something that keeps a plan from being whole and in time."""

    model_config = ConfigDict(frozen=True)

    kind: Literal[
        "warm-long", "too-much", "not-placed", "all-late", "whole-unsure", "unsure", "few-rings"
    ]
    dish_ids: tuple[str, ...]
    of_100: int | None = None  # the least chance of its dishes; of a whole meal, its own
    meal_id: str | None = None
    minutes: int = 0  # in the danger zone, of the worst of its dishes
    fixes: tuple[Fix, ...] = ()  # the likeliest first


def problems(event: Event, plan: Plan) -> list[Problem]:
    """Return the problems that weigh most, the heaviest first."""
    found = [
        *_warm_long(event, plan),
        *_too_much(event, plan),
        *_all_late(event, plan),
        *_whole_unsure(event, plan),
        *_few_rings(event, plan),
    ]
    whole = {dish_id for p in found for dish_id in p.dish_ids if p.kind == "all-late"}
    single = [*_not_placed(event, plan), *_unsure(event, plan, but=whole)]
    first = [p for p in found if p.kind in ("warm-long", "too-much")]
    rest = [p for p in found if p not in first]
    return [*first, *single[: SHOWN - 1], *rest, *single[SHOWN - 1 :]][:SHOWN]


def _warm_long(event: Event, plan: Plan) -> list[Problem]:
    """Return the dishes that are warm enough for germs too long: nothing weighs more."""
    warm = [w for w in plan.warnings if w.kind in ("do-not-serve", "warm-long")]
    warm.sort(key=lambda w: -w.figures.get("warm_min", 0))
    dish_ids = tuple(dict.fromkeys(d for w in warm for d in w.dish_ids))
    if not dish_ids:
        return []
    fixes = _fixes(event, event.dish(dish_ids[0]), ("sooner", "later", "smaller", "cooker"))
    minutes = round(warm[0].figures.get("warm_min", 0))
    return [Problem(kind="warm-long", dish_ids=dish_ids, minutes=minutes, fixes=fixes)]


def _too_much(event: Event, plan: Plan) -> list[Problem]:
    """Return that the cookers are too few for the food, where several dishes are crowded out."""
    crowded = [u.dish_id for u in plan.unplaced if _binding(u) in _CROWDED]
    if len(crowded) < 2:
        return []
    whole_kg = sum(d.mass_kg for d in event.dishes)
    placed_kg = sum(p.mass_kg for p in plan.placements)
    fits = [pct for pct in LESS_OF_ALL_PCT if whole_kg * pct / 100 <= placed_kg]
    most = max(fits, default=LESS_OF_ALL_PCT[-1])
    fixes = [_fix(None, MakeLessOfAll(pct=pct)) for pct in LESS_OF_ALL_PCT if pct <= most]
    return [Problem(kind="too-much", dish_ids=tuple(crowded), fixes=tuple(fixes[:FIXES_MOST]))]


def _not_placed(event: Event, plan: Plan) -> list[Problem]:
    """Return the dishes that found no place, those that are given up last first."""
    refused = sorted(
        plan.unplaced,
        key=lambda u: (-event.dish(u.dish_id).priority, -event.dish(u.dish_id).mass_kg),
    )
    return [
        Problem(
            kind="not-placed",
            dish_ids=(u.dish_id,),
            fixes=_fixes(event, event.dish(u.dish_id), _KINDS.get(_binding(u), ())),
        )
        for u in refused
    ]


def _binding(unplaced: Unplaced) -> RefusalKind:
    """Return what binds a dish: of its reasons the one that came nearest to a place."""
    kinds = [r.kind for r in unplaced.reasons]
    return next((kind for kind in _KINDS if kind in kinds), kinds[0] if kinds else "no-sun")


def _fixes(event: Event, dish: Dish, kinds: tuple[str, ...]) -> tuple[Fix, ...]:
    """Return changes for a dish: the smallest of each kind, then the next of each."""
    of_kind = {kind: [c for c in changes_for(event, dish) if c.kind == kind] for kind in kinds}
    rounds = itertools.zip_longest(*of_kind.values())
    changes = [change for each in rounds for change in each if change is not None]
    return tuple(_fix(dish, change) for change in changes[:FIXES_MOST])


def _all_late(event: Event, plan: Plan) -> list[Problem]:
    """Return the meals of which several dishes are less sure than is wanted: eat later."""
    late: list[Problem] = []
    chance = _chances(plan)
    for meal in event.meals:
        unsure = [d for d in event.dishes if d.meal == meal.id and _is_unsure(event, chance, d)]
        if len(unsure) < MANY:
            continue
        later = [c for c in changes_for(event, unsure[0]) if isinstance(c, EatLater)]
        fixes = [_fix(unsure[0], c) for c in later if c.by_min >= LATER_MIN]
        fixes += [_fix(None, MakeLessOfAll(pct=pct)) for pct in LESS_OF_ALL_PCT[1:3]]
        late.append(
            Problem(
                kind="all-late",
                dish_ids=tuple(d.id for d in unsure),
                of_100=min(chance[d.id] for d in unsure),
                meal_id=meal.id,
                fixes=tuple(fixes[:FIXES_MOST]),
            )
        )
    return late


def _whole_unsure(event: Event, plan: Plan) -> list[Problem]:
    """Return the meals that are less sure than is wanted though each of their dishes is sure."""
    chance, unsure = _chances(plan), list[Problem]()
    for whole in plan.risk.meals if plan.risk else ():
        dishes = [d for d in event.dishes if d.meal == whole.meal_id and d.id in chance]
        if whole.of_100 >= event.chance_pct or any(_is_unsure(event, chance, d) for d in dishes):
            continue
        weakest = sorted(dishes, key=lambda d: chance[d.id])[:WEAKEST_NAMED]
        fixes = _fixes(event, weakest[0], _FOR_UNSURE) if weakest else ()
        unsure.append(
            Problem(
                kind="whole-unsure",
                dish_ids=tuple(d.id for d in weakest),
                of_100=whole.of_100,
                meal_id=whole.meal_id,
                fixes=fixes,
            )
        )
    return unsure


def _unsure(event: Event, plan: Plan, *, but: set[str]) -> list[Problem]:
    """Return the placed dishes that are less sure than is wanted, the least sure first."""
    chance = _chances(plan)
    unsure = [d for d in event.dishes if _is_unsure(event, chance, d) and d.id not in but]
    return [
        Problem(
            kind="unsure",
            dish_ids=(d.id,),
            of_100=chance[d.id],
            fixes=_fixes(event, d, _FOR_UNSURE),
        )
        for d in sorted(unsure, key=lambda d: (chance[d.id], -d.priority))
    ]


def _is_unsure(event: Event, chance: dict[str, int], dish: Dish) -> bool:
    return chance.get(dish.id, 100) < event.chance_pct


def _chances(plan: Plan) -> dict[str, int]:
    return {c.dish_id: c.of_100 for c in plan.risk.dishes} if plan.risk else {}


def _few_rings(event: Event, plan: Plan) -> list[Problem]:
    """Return that a poor day would find no ring for some dishes."""
    few = [w for w in plan.warnings if w.kind == "too-few-rings"]
    add_ring = (_fix(None, AddRing()),)
    return [Problem(kind="few-rings", dish_ids=w.dish_ids, fixes=add_ring) for w in few]


def _fix(dish: Dish | None, change: EventChange) -> Fix:
    return Fix(id=change_id(dish, change), change=change)
