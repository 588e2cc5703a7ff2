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
EVENT = sample_event(NAME)


@pytest.fixture
def plan() -> Plan:
    return sample_plan(NAME)


def risk_kept() -> Risk:
    risk = sample_plan(NAME).risk
    assert risk is not None
    return risk


def status(plan: Plan) -> DayStatus:
    return day_status(EVENT, plan, pressed(EVENT), local(EVENT, "08:00"))


def with_chance(plan: Plan, more_dishes: float) -> Plan:
    kept = risk_kept()
    risk = changed(kept, dishes_on_time=kept.dishes_on_time + more_dishes)
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
    return list(gains(status(old), new, risk_kept()))


def test_the_same_plan_wins_nothing(plan: Plan) -> None:
    assert won(plan, plan) == []


@pytest.mark.parametrize(("more", "kinds"), [(NOISE_DISHES, ["chance"]), (NOISE_DISHES / 2, [])])
def test_a_chance_wins_by_three_steps_and_not_by_noise(
    plan: Plan, more: float, kinds: list[str]
) -> None:
    assert won(plan, with_chance(plan, more + 1e-9)) == kinds


def test_food_that_is_served_sooner_or_needs_less_gas_is_a_gain(plan: Plan) -> None:
    assert won(later(plan, SMALL_MIN), plan) == ["sooner"]
    assert won(later(plan, SMALL_MIN - 1), plan) == []
    assert won(on_ring(plan, SMALL_MIN), plan) == ["gas"]
    assert won(on_ring(plan, SMALL_MIN - 1), plan) == []


def test_gas_is_not_saved_at_the_price_of_chances(plan: Plan) -> None:
    assert won(on_ring(plan, 60), with_chance(plan, -NOISE_DISHES - 1e-9)) == []


def test_a_dish_more_is_a_gain(plan: Plan) -> None:
    dish_id = plan.placements[0].dish_id
    fewer = changed(plan, placements=tuple(p for p in plan.placements if p.dish_id != dish_id))

    assert won(fewer, plan) == ["dishes"]


def test_without_a_forecast_a_moved_pot_says_that_the_goal_won(plan: Plan) -> None:
    clear = changed(plan, risk=None)
    p = plan.placements[0]
    food = {"dish_id": p.dish_id, "batch": p.batch, "batches": p.batches}
    move = PotChange.model_validate({"kind": "moved", "food": food})

    assert list(gains(status(clear), clear, None)) == []
    assert list(gains(status(clear), changed(clear, pot_changes=(move,)), None)) == ["timetable"]
