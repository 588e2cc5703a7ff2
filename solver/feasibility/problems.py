"""What weighs most in a plan, and for each problem the changes that may mend it.

Nothing is planned again here: what a change brought once it was tried, is an `Outcome`.
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict

from events.model import Dish, Event
from solver.feasibility.changes import (
    LESS_OF_ALL_PCT,
    AddRing,
    EatLater,
    EatSooner,
    KeepOut,
    LeaveOut,
    MakeLessOfAll,
    changes_for,
    is_tried,
)
from solver.feasibility.outcomes import (
    DISH_GAIN_LEAST,
    WHOLE_GAIN_LEAST,
    Outcome,
    bearable,
    fall_of,
    is_gas_day,
    weakest,
)
from solver.feasibility.remedies import (
    FIXES_MOST,
    Fix,
    binding,
    fix,
    fixes_of,
    for_a_place,
    in_more_pots,
    nearer,
)
from solver.notices import RefusalKind
from solver.plan import Plan

SHOWN = 3
MANY = 3  # dishes of one meal: their problem is the meal's hour
LATER_MIN = 30
WEAKEST_NAMED = 2
WARM_MOST = 6  # changes that are tried for what is lukewarm too long: half of it is among them
WARM_GAIN_MIN = 15  # lukewarm minutes that a change must save

_FIRST = ("warm-long", "boils-dry", "too-much", "too-many-bakes")  # what nothing weighs more than
_FOR_UNSURE = ("sooner", "gas", "smaller", "later", "earlier")
_CROWDED: tuple[RefusalKind, ...] = ("taken", "batches-collide", "too-few-pots")


class Problem(BaseModel):
    """Something that keeps a plan from being whole and in time."""

    model_config = ConfigDict(frozen=True)

    kind: Literal[
        "warm-long",
        "boils-dry",
        "too-much",
        "too-many-bakes",
        "not-placed",
        "pulls-down",
        "all-late",
        "whole-unsure",
        "unsure",
        "few-rings",
        "gas-day",
    ]
    dish_ids: tuple[str, ...]
    of_100: int | None = None  # the least chance of its dishes; of a whole meal, its own
    without_of_100: int | None = None  # of all others, if its dish is left out
    meal_id: str | None = None
    minutes: int = 0  # in the danger zone, of the worst of its dishes
    water_kg: float = 0.0  # that would boil away
    in_pot_kg: float = 0.0
    fixes: tuple[Fix, ...] = ()  # the likeliest first


def problems(event: Event, plan: Plan) -> list[Problem]:
    """Return the problems that weigh most, the heaviest first."""
    found = [
        *_warm_long(event, plan),
        *_boils_dry(event, plan),
        *_too_much(event, plan),
        *_all_late(event, plan),
        *_whole_unsure(event, plan),
        *_few_rings(event, plan),
        *_gas_day(event, plan),
    ]
    whole = {dish_id for p in found for dish_id in p.dish_ids if p.kind == "all-late"}
    single = [*_not_placed(event, plan), *_unsure(event, plan, but=whole)]
    first = [p for p in found if p.kind in _FIRST]
    rest = [p for p in found if p not in first]
    last = _pulls_down(event, plan)  # always tried: leaving a dish out is what helps when all fails
    shown = [*first, *single[: SHOWN - 1], *rest, *single[SHOWN - 1 :]]
    return [*shown[: SHOWN - len(last)], *last]


def _warm_long(event: Event, plan: Plan) -> list[Problem]:
    """Return the dishes that are warm enough for germs too long: nothing weighs more."""
    warm = [w for w in plan.warnings if w.kind in ("do-not-serve", "warm-long")]
    warm.sort(key=lambda w: -w.figures.get("warm_min", 0))
    dish_ids = tuple(dict.fromkeys(d for w in warm for d in w.dish_ids))
    if not dish_ids:
        return []
    dish, minutes = event.dish(dish_ids[0]), round(warm[0].figures.get("warm_min", 0))
    pots = [f for d in dish_ids[:SHOWN] for f in in_more_pots(event, plan, event.dish(d))]
    fixes = (
        *pots,
        *fixes_of(event, dish, ("smaller", "sooner", "later", "cooker"), most=WARM_MOST),
    )
    if not dish.serve_hot:
        others = fixes_of(event, dish, ("cooker", "sooner"))
        fixes = (*nearer(event, plan, warm[0]), *pots, *others)
    return [Problem(kind="warm-long", dish_ids=dish_ids, minutes=minutes, fixes=fixes)]


def _boils_dry(event: Event, plan: Plan) -> list[Problem]:
    """Return the dishes whose pots would boil dry where they stand: they burn and smoke."""
    dry = [w for w in plan.warnings if w.kind == "boils-dry"]
    dry.sort(key=lambda w: -w.figures["water_kg"])
    if not dry:
        return []
    dish_ids = tuple(dict.fromkeys(d for w in dry for d in w.dish_ids))
    dish = event.dish(dish_ids[0])
    where = {p.cooker_id for p in plan.placements if p.id == dry[0].placement_id}
    out = [c for c in changes_for(event, dish) if isinstance(c, KeepOut)]
    out = [c for c in out if where <= set(c.cooker_ids)]
    return [
        Problem(
            kind="boils-dry",
            dish_ids=dish_ids,
            water_kg=dry[0].figures["water_kg"],
            in_pot_kg=dry[0].figures["in_pot_kg"],
            fixes=(*(fix(dish, c) for c in out[:2]), *fixes_of(event, dish, ("sooner", "gas"))),
        )
    ]


def _pulls_down(event: Event, plan: Plan) -> list[Problem]:
    """Return the dish without which all others are clearly surer, where they are unsure."""
    dish_id, risk = weakest(plan), plan.risk
    if dish_id is None or risk is None or risk.all_of_100 >= event.chance_pct:
        return []
    dish = event.dish(dish_id)
    leave_out = [c for c in changes_for(event, dish) if isinstance(c, LeaveOut)]
    return [
        Problem(
            kind="pulls-down",
            dish_ids=(dish_id,),
            of_100=risk.all_of_100,
            without_of_100=risk.without[0].of_100,
            fixes=tuple(fix(dish, c) for c in leave_out),
        )
    ]


def _gas_day(event: Event, plan: Plan) -> list[Problem]:
    """Return that sun cookers stand idle, with the hours at which the sun might do some of it."""
    if not is_gas_day(event, plan) or plan.unplaced:
        return []
    on_gas = tuple(dict.fromkeys(p.dish_id for p in plan.placements))
    moves = (c for c in changes_for(event, event.dish(on_gas[0])) if is_tried(event, c))
    hours = sorted(
        (c for c in moves if isinstance(c, EatLater | EatSooner)),
        key=lambda c: -c.by_min,  # the sun is low: the latest hour is likeliest
    )
    fixes = tuple(fix(event.dish(on_gas[0]), c) for c in hours[:FIXES_MOST])
    return [Problem(kind="gas-day", dish_ids=on_gas, fixes=fixes)] if fixes else []


def _too_much(event: Event, plan: Plan) -> list[Problem]:
    """Return that the cookers are too few for the food, where several dishes are crowded out."""
    crowded = [u.dish_id for u in plan.unplaced if binding(u) in _CROWDED]
    if len(crowded) < 2:
        return []
    if all(event.dish(d).needs_body_c is not None for d in crowded):
        fixes = fixes_of(event, event.dish(crowded[0]), ("cooker", "later"))
        return [Problem(kind="too-many-bakes", dish_ids=tuple(crowded), fixes=fixes)]
    placed = sum(p.mass_kg for p in plan.placements) / sum(d.mass_kg for d in event.dishes)
    most = max((p for p in LESS_OF_ALL_PCT if p <= 100 * placed), default=LESS_OF_ALL_PCT[-1])
    less = tuple(fix(None, MakeLessOfAll(pct=pct)) for pct in LESS_OF_ALL_PCT if pct <= most)
    return [Problem(kind="too-much", dish_ids=tuple(crowded), fixes=less[:FIXES_MOST])]


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
            fixes=for_a_place(event, u),
        )
        for u in refused
    ]


def _all_late(event: Event, plan: Plan) -> list[Problem]:
    """Return the meals of which several dishes are less sure than is wanted: eat later."""
    late: list[Problem] = []
    chance = _chances(plan)
    for meal in event.meals:
        unsure = [d for d in event.dishes if d.meal == meal.id and _is_unsure(event, chance, d)]
        if len(unsure) < MANY:
            continue
        later = [c for c in changes_for(event, unsure[0]) if isinstance(c, EatLater)]
        later = [c for c in later if c.by_min >= LATER_MIN and is_tried(event, c)]
        fixes = [fix(unsure[0], c) for c in later[:2]]
        fixes += [fix(None, MakeLessOfAll(pct=pct)) for pct in LESS_OF_ALL_PCT[1:3]]
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
        fixes = fixes_of(event, weakest[0], _FOR_UNSURE) if weakest else ()
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
            fixes=fixes_of(event, d, _FOR_UNSURE),
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
    add_ring = (fix(None, AddRing()),)
    return [Problem(kind="few-rings", dish_ids=w.dish_ids, fixes=add_ring) for w in few]


def helps(problem: Problem, before: Outcome, after: Outcome) -> bool:
    """Return whether a change is worth its trouble: something is better, nothing is much worse."""
    left_out = set(problem.dish_ids) if problem.kind == "pulls-down" else set[str]()
    fall = fall_of(before, after)
    if not before.placed_ids - left_out <= after.placed_ids:
        return False
    if more := after.placed_ids - before.placed_ids:
        return bearable(fall, len(more))
    if fall or after.warm_min.keys() - before.warm_min.keys():
        return False
    if problem.kind == "warm-long":
        return _warm_min(problem, before) - _warm_min(problem, after) >= WARM_GAIN_MIN
    if problem.kind == "boils-dry":
        return problem.dish_ids[0] not in after.dry_ids
    if problem.kind == "few-rings":
        return len(after.unsaved_ids) < len(before.unsaved_ids)
    if problem.kind == "gas-day":
        return after.on_gas_ids < before.on_gas_ids
    gain = _whole(problem, after) - _whole(problem, before)
    if problem.kind in ("all-late", "pulls-down"):
        return gain >= WHOLE_GAIN_LEAST
    own_gain = _least(problem, after) - _least(problem, before)
    return gain >= WHOLE_GAIN_LEAST or own_gain >= DISH_GAIN_LEAST


def _whole(problem: Problem, outcome: Outcome) -> int:
    """Return the chance of the problem's own meal, or of the least sure one."""
    return outcome.meal_of_100.get(problem.meal_id or "", outcome.of_100 or 0)


def _warm_min(problem: Problem, outcome: Outcome) -> float:
    return sum(outcome.warm_min.get(d, 0) for d in problem.dish_ids)


def _least(problem: Problem, outcome: Outcome) -> int:
    return min((outcome.dish_of_100.get(d, 0) for d in problem.dish_ids), default=0)
