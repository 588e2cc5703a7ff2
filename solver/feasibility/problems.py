"""What weighs most in a plan, and for each problem the change that is likeliest to mend it.

Nothing is planned again here: what a change brings is known once it is made, or by `improvements`.
"""

from __future__ import annotations

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
from solver.plan import Plan, RefusalKind, Unplaced

SHOWN = 3
MANY = 3  # dishes of one meal: their problem is the meal's hour
LATER_MIN = 30

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
    "never-done": ("burner", "smaller", "cooker"),
    "oven-too-cool": ("cooker",),
    "no-sun": ("burner", "later"),
    "too-windy": ("burner",),
}
_CROWDED: tuple[RefusalKind, ...] = ("taken", "batches-collide", "too-few-pots")


class Fix(BaseModel):
    """A change that a press makes."""

    model_config = ConfigDict(frozen=True)

    id: str
    change: EventChange


class Problem(BaseModel):
    """Something that keeps a plan from being whole and in time."""

    model_config = ConfigDict(frozen=True)

    kind: Literal["warm-long", "too-much", "not-placed", "all-late", "unsure", "few-rings"]
    dish_ids: tuple[str, ...]
    of_100: int | None = None  # the least chance of its dishes
    meal_id: str | None = None
    minutes: int = 0  # in the danger zone, of the worst of its dishes
    fix: Fix | None = None


def problems(event: Event, plan: Plan) -> list[Problem]:
    """Return the problems that weigh most, the heaviest first."""
    found = [
        *_warm_long(event, plan),
        *_too_much(event, plan),
        *_all_late(event, plan),
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
    fix = _first_fix(event, event.dish(dish_ids[0]), ("smaller",))
    minutes = round(warm[0].figures.get("warm_min", 0))
    return [Problem(kind="warm-long", dish_ids=dish_ids, minutes=minutes, fix=fix)]


def _too_much(event: Event, plan: Plan) -> list[Problem]:
    """Return that the cookers are too few for the food, where several dishes are crowded out."""
    crowded = [u.dish_id for u in plan.unplaced if _binding(u) in _CROWDED]
    if len(crowded) < 2:
        return []
    whole_kg = sum(d.mass_kg for d in event.dishes)
    placed_kg = sum(p.mass_kg for p in plan.placements)
    fits = [pct for pct in LESS_OF_ALL_PCT if whole_kg * pct / 100 <= placed_kg]
    pct = max(fits, default=LESS_OF_ALL_PCT[-1])
    fix = _fix(None, MakeLessOfAll(pct=pct))
    return [Problem(kind="too-much", dish_ids=tuple(crowded), fix=fix)]


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
            fix=_first_fix(event, event.dish(u.dish_id), _KINDS.get(_binding(u), ())),
        )
        for u in refused
    ]


def _binding(unplaced: Unplaced) -> RefusalKind:
    """Return what binds a dish: of its reasons the one that came nearest to a place."""
    kinds = [r.kind for r in unplaced.reasons]
    return next((kind for kind in _KINDS if kind in kinds), kinds[0] if kinds else "no-sun")


def _first_fix(event: Event, dish: Dish, kinds: tuple[str, ...]) -> Fix | None:
    for kind in kinds:
        for change in changes_for(event, dish):
            if change.kind == kind:
                return _fix(dish, change)
    return None


def _all_late(event: Event, plan: Plan) -> list[Problem]:
    """Return the meals of which several dishes are less sure than is wanted: eat later."""
    late: list[Problem] = []
    chance = _chances(plan)
    for meal in event.meals:
        unsure = [d for d in event.dishes if d.meal == meal.id and _is_unsure(event, chance, d)]
        if len(unsure) < MANY:
            continue
        later = (c for c in changes_for(event, unsure[0]) if isinstance(c, EatLater))
        change = next((c for c in later if c.by_min >= LATER_MIN), None)
        late.append(
            Problem(
                kind="all-late",
                dish_ids=tuple(d.id for d in unsure),
                of_100=min(chance[d.id] for d in unsure),
                meal_id=meal.id,
                fix=_fix(unsure[0], change) if change else None,
            )
        )
    return late


def _unsure(event: Event, plan: Plan, *, but: set[str]) -> list[Problem]:
    """Return the placed dishes that are less sure than is wanted, the least sure first."""
    chance = _chances(plan)
    unsure = [d for d in event.dishes if _is_unsure(event, chance, d) and d.id not in but]
    return [
        Problem(
            kind="unsure",
            dish_ids=(d.id,),
            of_100=chance[d.id],
            fix=_first_fix(event, d, ("smaller", "later")),
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
    return [Problem(kind="few-rings", dish_ids=w.dish_ids, fix=_fix(None, AddRing())) for w in few]


def _fix(dish: Dish | None, change: EventChange) -> Fix:
    return Fix(id=change_id(dish, change), change=change)
