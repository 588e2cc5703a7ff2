"""When a running day is planned again unasked, and when the other plan is worth an offer."""

from __future__ import annotations

import pytest

from solver.live.watch import FALL_POINTS, DayLook, back_to_sun, has_fallen, look
from solver.plan import MealChance
from tests.conftest import sample_event, sample_plan
from tests.diaries import local, pressed

pytestmark = pytest.mark.slow

NAME = "harvest-lunch"
EVENT = sample_event(NAME)
Press = tuple[str, str, dict[str, object]]


def looked(clock: str, *presses: Press, plan_again: bool = False) -> DayLook:
    entries = pressed(EVENT, *presses)
    return look(EVENT, sample_plan(NAME), entries, local(EVENT, clock), plan_again=plan_again)


def test_a_day_that_goes_as_planned_gives_no_cause() -> None:
    seen = looked("10:30", plan_again=True)

    assert seen.causes == ()
    assert seen.plan is None
    assert {m.meal_id for m in seen.meals} == {m.id for m in EVENT.meals}


@pytest.mark.parametrize(("below", "fallen"), [(FALL_POINTS - 5, False), (FALL_POINTS, True)])
def test_a_chance_has_fallen_by_ten_points_and_no_fewer(below: int, fallen: bool) -> None:
    assert sample_plan(NAME).risk is not None
    planned = sample_plan(NAME).risk.meals[0]

    now = MealChance(meal_id=planned.meal_id, of_100=planned.of_100 - below)

    assert has_fallen(sample_plan(NAME), now) is fallen


def test_a_long_cloud_is_a_cause_and_a_plan_is_offered_only_where_it_wins() -> None:
    seen = looked("10:30", ("cloud", "10:30", {"minutes": 60}), plan_again=True)

    assert seen.causes == ("chance",)
    assert seen.plan is not None
    assert seen.plan.risk is not None
    assert seen.plan.replanned_at == seen.at
    assert len(seen.plan.if_kept) == len(EVENT.meals)


def test_where_no_cooker_and_no_hand_is_missing_an_equal_plan_wins_nothing() -> None:
    # Half past eight: much could be moved under a cloud, and nothing of it is surer.
    seen = looked("08:30", ("cloud", "08:30", {"minutes": 60}), plan_again=True)

    assert "chance" in seen.causes
    assert seen.plan is not None
    assert seen.plan.risk is not None
    assert not {"cooker", "people"} & set(seen.plan.gains)


def test_a_broken_cooker_that_the_plan_needs_is_a_cause_and_one_that_it_does_not_need_is_none() -> (
    None
):
    used = {c for p in sample_plan(NAME).placements for c in (p.cooker_id, p.then_cooker_id)}
    idle = next(c.id for c in EVENT.cookers if c.id not in used)

    needed = looked("09:40", ("out-of-action", "09:40", {"cooker_id": "mirror-1"}))
    spared = looked("09:40", ("out-of-action", "09:40", {"cooker_id": idle}))

    assert "cooker" in needed.causes
    assert "cooker" not in spared.causes


def test_a_helper_who_has_gone_and_still_has_work_is_a_cause() -> None:
    at = local(EVENT, "09:40")
    busy = next(w.helper_id for w in sample_plan(NAME).walks if w.at > at)

    assert "people" in looked("09:40", ("gone", "09:40", {"helper_id": busy})).causes


def test_what_was_planned_for_a_cloud_is_looked_at_again_when_the_sun_is_back() -> None:
    clouds = [
        ("cloud", "10:30", {"minutes": 60}),
    ]
    made = looked("10:30", *clouds, plan_again=True).plan
    assert made is not None
    back = pressed(EVENT, *clouds, ("sun", "10:42", {}))

    under = look(EVENT, made, pressed(EVENT, *clouds), local(EVENT, "10:40"), plan_again=False)
    after = look(EVENT, made, back, local(EVENT, "10:42"), plan_again=True)

    assert "sun" not in under.causes
    assert after.causes == ("sun",)
    assert after.plan is not None
    assert after.plan.replanned_at == local(EVENT, "10:42")
    assert not back_to_sun(
        sample_plan(NAME), (), local(EVENT, "10:42")
    )  # it was made on the morning
