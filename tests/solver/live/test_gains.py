"""What a plan made anew must win to be offered: beyond noise, at each limit from both sides."""

from __future__ import annotations

from datetime import timedelta

import pytest

from events.table import changed
from solver.live.gains import NOISE_DISHES, gains
from solver.live.status import DayStatus, day_status
from solver.plan import Plan, PotChange, Risk
from solver.policy import SMALL_MIN
from tests.conftest import sample_event, sample_plan
from tests.diaries import local, pressed

NAME = "harvest-lunch"
EVENT, PLAN = sample_event(NAME), sample_plan(NAME)
assert PLAN.risk is not None
KEPT: Risk = PLAN.risk


def status(*, plan: Plan = PLAN) -> DayStatus:
    return day_status(EVENT, plan, pressed(EVENT), local(EVENT, "08:00"))


def with_chance(plan: Plan, more_dishes: float) -> Plan:
    risk = changed(KEPT, dishes_on_time=KEPT.dishes_on_time + more_dishes)
    return changed(plan, risk=risk)


def later(plan: Plan, minutes: int) -> Plan:
    first, *rest = plan.placements
    late = changed(first, served_at=first.promised_at + timedelta(minutes=minutes))
    return changed(plan, placements=(late, *rest))


def on_ring(plan: Plan, minutes: int) -> Plan:
    ring = next(c.id for c in EVENT.cookers if c.on_gas)
    first, *rest = plan.placements
    off_at = first.lifted_at + timedelta(minutes=minutes)
    return changed(plan, placements=(changed(first, then_cooker_id=ring, off_at=off_at), *rest))


def won(old: Plan, new: Plan) -> list[str]:
    return list(gains(status(plan=old), new, KEPT))


def test_the_same_plan_wins_nothing() -> None:
    assert won(PLAN, PLAN) == []


@pytest.mark.parametrize(("more", "kinds"), [(NOISE_DISHES, ["chance"]), (NOISE_DISHES / 2, [])])
def test_a_chance_wins_by_three_steps_and_not_by_noise(more: float, kinds: list[str]) -> None:
    assert won(PLAN, with_chance(PLAN, more + 1e-9)) == kinds


def test_food_that_is_served_sooner_or_needs_less_gas_is_a_gain() -> None:
    assert won(later(PLAN, SMALL_MIN), PLAN) == ["sooner"]
    assert won(later(PLAN, SMALL_MIN - 1), PLAN) == []
    assert won(on_ring(PLAN, SMALL_MIN), PLAN) == ["gas"]
    assert won(on_ring(PLAN, SMALL_MIN - 1), PLAN) == []


def test_gas_is_not_saved_at_the_price_of_chances() -> None:
    assert won(on_ring(PLAN, 60), with_chance(PLAN, -NOISE_DISHES - 1e-9)) == []


def test_a_dish_more_is_a_gain() -> None:
    dish_id = PLAN.placements[0].dish_id
    fewer = changed(PLAN, placements=tuple(p for p in PLAN.placements if p.dish_id != dish_id))

    assert won(fewer, PLAN) == ["dishes"]


def test_without_a_forecast_a_moved_pot_says_that_the_goal_won() -> None:
    clear = changed(PLAN, risk=None)
    p = PLAN.placements[0]
    food = {"dish_id": p.dish_id, "batch": p.batch, "batches": p.batches}
    move = PotChange.model_validate({"kind": "moved", "food": food})

    assert list(gains(status(plan=clear), clear, None)) == []
    assert list(gains(status(plan=clear), changed(clear, pot_changes=(move,)), None)) == [
        "timetable"
    ]
