"""Go, fewer dishes, or a gas day: by a rule set beforehand, and by when each must be decided.

The rule: go where every dish is in time under the event's chosen chance; else leave out, replace
or move to gas first what helps the others most; where fewer than the chosen share of dishes would
be left to the sun, it is a gas day.
"""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ConfigDict

from events.model import Dish, Event
from solver.plan import Plan

EVENING = time(18, 0)


class Step(BaseModel):
    """One dish to leave out, replace or put on gas, and how safe all the others are then."""

    model_config = ConfigDict(frozen=True)

    dish_id: str
    do: Literal["gas", "replace", "leave out"]
    instead: str | None
    of_100: int


class Decision(BaseModel):
    """Something that can't be decided later than this."""

    model_config = ConfigDict(frozen=True)

    at: datetime
    dish_id: str | None
    what: str


class Verdict(BaseModel):
    """Whether to go, and what to do first; `say` is None without a forecast."""

    model_config = ConfigDict(frozen=True)

    say: Literal["go", "fewer dishes", "gas day"] | None
    of_100: int | None
    wanted_of_100: int
    steps: tuple[Step, ...]
    rings: int
    gas_kg: float
    decisions: tuple[Decision, ...]


def verdict(event: Event, plan: Plan) -> Verdict:
    """Return go, fewer dishes or a gas day, from a plan and its chances."""
    dishes = {d.id: d for d in event.dishes}
    rings = sum(c.pots_max for c in event.cookers if c.kind == "burner")
    say: Literal["go", "fewer dishes", "gas day"] | None = None
    steps: list[Step] = []
    of_100 = plan.risk.all_of_100 if plan.risk else None
    if plan.risk is not None:
        reached = plan.risk.all_of_100
        for one in plan.risk.without:
            if reached >= event.chance_pct:
                break
            steps.append(_step(dishes[one.dish_id], one.of_100, plan, rings))
            reached = one.of_100
        given_up = {s.dish_id for s in steps}
        by_sun = {p.dish_id for p in plan.placements if "burner" not in p.route}
        kept = len(by_sun - given_up)
        enough = 100 * kept >= event.gas_day_under_pct * len(event.dishes)
        if reached >= event.chance_pct and enough:
            say = "fewer dishes" if steps or plan.unplaced else "go"
        else:
            say = "gas day"
    return Verdict(
        say=say,
        of_100=of_100,
        wanted_of_100=event.chance_pct,
        steps=tuple(steps),
        rings=plan.gas_day.rings,
        gas_kg=plan.gas_day.gas_kg,
        decisions=tuple(_decisions(event, plan)),
    )


def _step(dish: Dish, of_100: int, plan: Plan, rings: int) -> Step:
    on_gas = rings > 0 and dish.id not in plan.gas_day.not_on_gas
    do: Literal["gas", "replace", "leave out"] = "gas" if on_gas else "leave out"
    if not on_gas and dish.instead:
        do = "replace"
    return Step(dish_id=dish.id, do=do, instead=dish.instead, of_100=of_100)


def _decisions(event: Event, plan: Plan) -> list[Decision]:
    """Return the three looks at the forecast, and what can't be put off between them."""
    zone = ZoneInfo(event.site.timezone)
    opens = datetime.combine(event.date, event.site.opens, tzinfo=zone)
    eve = datetime.combine(event.date - timedelta(days=1), EVENING, tzinfo=zone)
    out = [
        Decision(
            at=datetime.combine(event.date - timedelta(days=3), EVENING, tzinfo=zone),
            dish_id=None,
            what="First look at the forecast: shopping, and gas if it may be needed",
        ),
        Decision(at=eve, dish_id=None, what="Second look: go, fewer dishes, or a gas day"),
        Decision(
            at=opens - timedelta(hours=1),
            dish_id=None,
            what="Last look: what goes on gas first",
        ),
    ]
    for dish in event.dishes:
        mine = [p.preheat_at or p.loaded_at for p in plan.placements if p.dish_id == dish.id]
        if not mine:
            continue
        begins = min(mine) - timedelta(minutes=dish.load_min)
        for task in reversed(dish.before):
            begins -= timedelta(minutes=task.minutes + task.hands_min)
            out.append(Decision(at=begins, dish_id=dish.id, what=task.what))
    return sorted(out, key=lambda d: (d.at, d.what))
