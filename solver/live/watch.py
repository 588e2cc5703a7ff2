"""A look at a day that runs: how likely its meals are by now, and whether another plan helps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from events.diary import Cloud, StoredEntry, cloud_over, clouds, effective_entries
from events.identity import fingerprint_of
from events.model import Event
from solver.live.gains import needs
from solver.live.replan import replan_from
from solver.live.status import DayStatus, day_status
from solver.part import Part
from solver.plan import LookCause, MealChance, Plan, Risk
from solver.risk.monte_carlo import simulate

FALL_POINTS = 10  # of 100: a meal's chance under the plan's by so much is worth another plan


class DayLook(Part):
    """What a look saw: chances under the plan in force, why to plan again, and the plan for it."""

    at: datetime
    meals: tuple[MealChance, ...]  # none without a forecast
    causes: tuple[LookCause, ...]
    plan: Plan | None  # made anew, where there was a cause and it was asked for
    broken_ids: tuple[str, ...] = ()  # cookers out of action


def look(
    event: Event, plan: Plan, entries: Sequence[StoredEntry], now: datetime, *, plan_again: bool
) -> DayLook:
    """Return how a day stands; where there is cause, and it may, with a plan made anew."""
    status = day_status(event, plan, entries, now)
    risk = simulate(status.day, plan) if plan.risk else None
    seen = clouds(effective_entries(list(entries)))
    causes = tuple(_causes(status, risk, seen, now))
    if plan.event_id != fingerprint_of(event):  # kept in force when another forecast came
        causes += ("forecast",)
    anew = replan_from(status) if causes and plan_again else None
    return DayLook(
        at=now,
        meals=risk.meals if risk else (),
        causes=causes,
        plan=anew,
        broken_ids=tuple(c.id for c in event.cookers if c.id in status.unavailable),
    )


def _causes(
    status: DayStatus, risk: Risk | None, seen: Sequence[Cloud], now: datetime
) -> Iterator[LookCause]:
    if "cooker" in (needed := list(needs(status))):
        yield "cooker"
    if "people" in needed:
        yield "people"
    if risk is not None and any(has_fallen(status.plan, m) for m in _to_come(status, risk, now)):
        yield "chance"
    if back_to_sun(status.plan, seen, now):
        yield "sun"


def _to_come(status: DayStatus, risk: Risk, now: datetime) -> Iterator[MealChance]:
    """Yield the chances of the meals that are not all served."""
    event, left = status.day.event, status.finished_ids
    waiting = {p.dish_id for p in status.plan.placements if p.id not in left}
    meals = {event.dish(d).meal for d in waiting}
    for chance in risk.meals:
        if chance.meal_id in meals and event.instant(event.meal(chance.meal_id).end) > now:
            yield chance


def has_fallen(plan: Plan, chance: MealChance) -> bool:
    """Return whether a meal's chance is under what the plan in force said by more than noise."""
    planned = {m.meal_id: m.of_100 for m in plan.risk.meals} if plan.risk else {}
    return planned.get(chance.meal_id, 0) - chance.of_100 >= FALL_POINTS


def back_to_sun(plan: Plan, seen: Sequence[Cloud], now: datetime) -> bool:
    """Return whether a plan was made for a cloud that is over by now."""
    made_at = plan.replanned_at
    return made_at is not None and bool(cloud_over(seen, made_at)) and not cloud_over(seen, now)
