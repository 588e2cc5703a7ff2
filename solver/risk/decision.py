"""Go, fewer dishes, or a gas day: by a rule set beforehand, and by when each must be decided.

The rule: go where every dish is in time under the event's chosen chance; else leave out, replace
or move to gas first what helps the others most; where fewer than the chosen share of dishes would
be left to the sun, it is a gas day.
"""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import Literal

from pydantic import BaseModel, ConfigDict

from events.model import Dish, Event
from solver.plan import Plan

EVENING = time(18, 0)
OVERNIGHT_MIN = 240  # what waits so long (soaking, thawing) bears a night: judgement
Outcome = Literal["go", "fewer-dishes", "gas-day"]
Remedy = Literal["gas", "replace", "leave-out"]


class GoStep(BaseModel):
    """One dish to leave out, replace or put on gas, and how safe all the others are then."""

    model_config = ConfigDict(frozen=True)

    dish_id: str
    remedy: Remedy
    instead: str | None  # what replaces it, in the organiser's words
    of_100: int


class Deadline(BaseModel):
    """Something that can't be decided later than this: a look at the forecast, or a task."""

    model_config = ConfigDict(frozen=True)

    at: datetime
    kind: Literal["first-look", "second-look", "last-look", "task"]
    dish_id: str | None = None  # of a task
    task: str | None = None  # in the organiser's words


class GoDecision(BaseModel):
    """Whether to go, and what to do first; `outcome` is None without a forecast."""

    model_config = ConfigDict(frozen=True)

    outcome: Outcome | None
    of_100: int | None
    wanted_of_100: int
    steps: tuple[GoStep, ...]
    rings: int
    gas_kg: float
    deadlines: tuple[Deadline, ...]


def decide(event: Event, plan: Plan) -> GoDecision:
    """Return go, fewer dishes or a gas day, from a plan and its chances."""
    steps = _steps(event, plan)
    return GoDecision(
        outcome=_outcome(event, plan, steps),
        of_100=plan.risk.all_of_100 if plan.risk else None,
        wanted_of_100=event.chance_pct,
        steps=steps,
        rings=plan.gas_day.rings,
        gas_kg=plan.gas_day.gas_kg,
        deadlines=_deadlines(event, plan),
    )


def _steps(event: Event, plan: Plan) -> tuple[GoStep, ...]:
    """Return the dishes to give up, one after another, until the others are safe enough."""
    if plan.risk is None:
        return ()
    has_ring = any(c.on_gas for c in event.cookers)
    with_sun = {p.dish_id for p in plan.placements if p.route != "burner"}
    steps: list[GoStep] = []
    reached = plan.risk.all_of_100
    for given_up in plan.risk.without:
        if reached >= event.chance_pct:
            break
        dish = event.dish(given_up.dish_id)
        may_burn = has_ring and dish.id in with_sun and dish.id not in plan.gas_day.not_on_gas
        remedy = _remedy(dish, on_gas=may_burn)
        reached = given_up.of_100
        steps.append(GoStep(dish_id=dish.id, remedy=remedy, instead=dish.instead, of_100=reached))
    return tuple(steps)


def _remedy(dish: Dish, *, on_gas: bool) -> Remedy:
    if on_gas:
        return "gas"
    return "replace" if dish.instead else "leave-out"


def _outcome(event: Event, plan: Plan, steps: tuple[GoStep, ...]) -> Outcome | None:
    if plan.risk is None:
        return None
    reached = steps[-1].of_100 if steps else plan.risk.all_of_100
    by_sun = {p.dish_id for p in plan.placements if p.route in ("sun", "sun+insulated")}
    left = len(by_sun - {s.dish_id for s in steps})
    enough = 100 * left >= event.gas_day_under_pct * len(event.dishes)
    if reached < event.chance_pct or not enough:
        return "gas-day"
    return "fewer-dishes" if steps or plan.unplaced else "go"


def _deadlines(event: Event, plan: Plan) -> tuple[Deadline, ...]:
    """Return the three looks at the forecast, and what can't be put off between them."""
    opens = event.instant(event.site.opens)
    evening = event.instant(EVENING, day=event.date - timedelta(days=1))
    three_days_before = event.instant(EVENING, day=event.date - timedelta(days=3))
    looks = [
        Deadline(at=three_days_before, kind="first-look"),
        Deadline(at=evening, kind="second-look"),
        Deadline(at=opens - timedelta(hours=1), kind="last-look"),
    ]
    tasks = [t for dish in event.dishes for t in tasks_before(event, dish, plan)]
    return tuple(sorted([*looks, *tasks], key=lambda d: (d.at, d.kind, d.task)))


def tasks_before(event: Event, dish: Dish, plan: Plan) -> list[Deadline]:
    """Return when each task before a dish's loading must begin, last first: it ends at loading.

    What bears a night and would begin before anybody is there begins the evening before.
    """
    starts = [p.preheat_at or p.loaded_at for p in plan.placements if p.dish_id == dish.id]
    if not starts:
        return []
    evening = event.instant(EVENING, day=event.date - timedelta(days=1))
    begins = min(starts) - timedelta(minutes=dish.load_min)
    tasks = []
    for task in reversed(dish.before):
        begins -= timedelta(minutes=task.minutes + task.hands_min)
        if task.minutes >= OVERNIGHT_MIN and begins < crew_from(event):
            begins = min(begins, evening)
        tasks.append(Deadline(at=begins, kind="task", dish_id=dish.id, task=task.what))
    return tasks


def crew_from(event: Event) -> datetime:
    """Return when the first of the crew is there."""
    adults = [h.start for h in event.helpers if h.adult]
    return event.instant(min(adults, default=event.site.opens))
