"""A look at a running day, its stages laid by hand: when another plan is sought, and what it says.

The hand-laid day is looked at at ten; its lunch is from noon to one, a late meal from two to three.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from events.diary import Cloud, StoredEntry
from events.identity import fingerprint_of
from events.model import Event
from events.table import changed
from solver.live import replan as again
from solver.live import watch
from solver.live.replan import replan_from
from solver.live.status import DayStatus
from solver.live.watch import DayLook, back_to_sun, has_fallen
from solver.plan import MealChance, Plan, Risk
from solver.simulation.day import make_day
from tests.diaries import pressed
from tests.solver.checking.hand_laid import EVENT, PLACEMENTS, PLAN, at

DAY = make_day(EVENT)
Press = tuple[str, str, dict[str, object]]


def risk(lunch: int, late: int = 90) -> Risk:
    meals = (MealChance(meal_id="lunch", of_100=lunch), MealChance(meal_id="late", of_100=late))
    return Risk(
        runs=200,
        all_of_100=lunch,
        without=(),
        dishes=(),
        meals=meals,
        weakest_cooker_id=None,
        dishes_on_time=5.0,
    )


# The late meal has a pot as well: the last that is served.
SOUP = changed(PLACEMENTS[2], id="soup-1", dish_id="soup")
TOLD = changed(PLAN, event_id=fingerprint_of(EVENT), risk=risk(90), placements=(*PLACEMENTS, SOUP))
LUNCH_IDS = frozenset(p.id for p in PLACEMENTS)


def status(plan: Plan = TOLD, **values: object) -> DayStatus:
    row: dict[str, object] = {"day": DAY, "plan": plan, "minute": 600, "haze": 1.0}
    row |= {"strengths": (), "loads": (), "in_hand": (), "finished_ids": frozenset()}
    row |= {"unavailable": frozenset(), "parked": frozenset(), "cloudy": False}
    return DayStatus(**{**row, **values})  # type: ignore[arg-type]


def looked(
    monkeypatch: pytest.MonkeyPatch,
    plan: Plan = TOLD,
    *,
    now_risk: Risk | None = None,
    needed: tuple[str, ...] = (),
    entries: tuple[StoredEntry, ...] = (),
    clock: str = "10:00",
    plan_again: bool = True,
    event: Event = EVENT,
    **values: object,
) -> DayLook:
    monkeypatch.setattr(watch, "day_status", lambda *given: status(plan, **values))
    monkeypatch.setattr(watch, "simulate", lambda day, plan: now_risk or risk(90))
    monkeypatch.setattr(watch, "needs", lambda status: iter(needed))
    monkeypatch.setattr(watch, "replan_from", lambda status: TOLD)
    return watch.look(event, plan, entries, at(clock), plan_again=plan_again)


def test_a_day_that_goes_as_planned_has_no_cause_and_no_other_plan(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen = looked(monkeypatch)

    assert (seen.at, seen.causes, seen.plan) == (at("10:00"), (), None)
    assert {m.meal_id: m.of_100 for m in seen.meals} == {"lunch": 90, "late": 90}


@pytest.mark.parametrize("cause", ["cooker", "people"])
def test_what_a_plan_needs_and_has_no_more_is_a_cause(
    monkeypatch: pytest.MonkeyPatch, cause: str
) -> None:
    asked = looked(monkeypatch, needed=(cause,))
    unasked = looked(monkeypatch, needed=(cause,), plan_again=False)

    assert (asked.causes, asked.plan) == ((cause,), TOLD)
    assert (unasked.causes, unasked.plan) == ((cause,), None)


def test_cookers_out_of_action_are_told_in_the_event_s_order(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ids = [c.id for c in EVENT.cookers][:2]
    seen = looked(monkeypatch, needed=("cooker",), unavailable=frozenset(reversed(ids)))

    assert seen.broken_ids == tuple(ids)
    assert looked(monkeypatch).broken_ids == ()


def test_ten_points_under_what_was_planned_are_a_cause_and_nine_or_more_over_it_are_none(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for lunch, causes in ((80, ("chance",)), (85, ()), (100, ())):
        assert looked(monkeypatch, now_risk=risk(lunch)).causes == causes
    assert has_fallen(TOLD, MealChance(meal_id="lunch", of_100=80))
    assert not has_fallen(TOLD, MealChance(meal_id="lunch", of_100=81))
    assert not has_fallen(changed(TOLD, risk=risk(50)), MealChance(meal_id="lunch", of_100=90))


def test_a_meal_that_is_over_or_all_served_is_no_cause(monkeypatch: pytest.MonkeyPatch) -> None:
    """It ends at one; the late meal's soup is what still waits."""
    fallen = risk(40)
    assert looked(monkeypatch, now_risk=fallen, clock="12:30").causes == ("chance",)
    assert looked(monkeypatch, now_risk=fallen, clock="12:59").causes == ("chance",)
    assert looked(monkeypatch, now_risk=fallen, clock="13:00").causes == ()
    assert looked(monkeypatch, now_risk=fallen, finished_ids=LUNCH_IDS).causes == ()
    some = LUNCH_IDS - {"rice-1"}
    assert looked(monkeypatch, now_risk=fallen, finished_ids=some).causes == ("chance",)


def test_without_a_forecast_no_chance_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = looked(monkeypatch, changed(TOLD, risk=None), now_risk=risk(10))

    assert (seen.causes, seen.meals) == ((), ())


def test_another_forecast_is_a_cause(monkeypatch: pytest.MonkeyPatch) -> None:
    assert looked(monkeypatch, changed(TOLD, event_id="another")).causes == ("forecast",)


def test_what_was_made_under_a_cloud_is_looked_at_when_the_sun_is_back(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made = changed(TOLD, replanned_at=at("09:35"))
    cloud: Press = ("cloud", "09:30", {"minutes": 60})
    back: Press = ("sun", "09:50", {})

    def causes(plan: Plan, *presses: Press) -> tuple[str, ...]:
        entries = tuple(pressed(EVENT, *presses))
        return looked(monkeypatch, plan, entries=entries).causes

    assert causes(made, cloud, back) == ("sun",)
    assert causes(made, cloud) == ()
    assert causes(made, cloud, ("sun", "10:05", {})) == ()  # that is still to come
    assert causes(TOLD, cloud, back) == ()  # made in the morning
    over = (Cloud(at("09:30"), at("09:50")),)
    assert back_to_sun(made, over, at("09:50"))
    assert not back_to_sun(made, over, at("09:49"))
    assert not back_to_sun(changed(made, replanned_at=at("09:50")), over, at("10:00"))


# --- another plan


def test_another_plan_says_what_it_changes_and_how_it_would_be_without(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The chances of keeping the old one are its own, under today's sky."""
    old, new = TOLD, changed(TOLD, title="New", risk=risk(85))
    told: list[object] = []

    def kept(day: object, plan: Plan) -> Risk:
        assert plan is old
        return risk(55)

    def gains(status: object, new: Plan, kept: Risk | None) -> list[str]:
        told.extend([new.if_kept, kept])
        return ["chance"]

    pot = SimpleNamespace(came_off="off")
    monkeypatch.setattr(again, "plan_day", lambda day: new)
    monkeypatch.setattr(again, "simulate", kept)
    monkeypatch.setattr(again, "gains", gains)
    monkeypatch.setattr(again, "pot_changes", lambda *given: [given])
    monkeypatch.setattr(again, "work_changes", lambda *given: [given[1:]])
    monkeypatch.setattr(again, "changed", changed_by_hand)

    found: Any = replan_from(status(old, in_hand=(pot,)))

    assert found.if_kept == risk(55).meals
    assert found.gains == ("chance",)
    assert found.in_hand == ("off",)
    assert found.pot_changes == ((old, new),)
    assert found.work_changes == ((old, new),)
    assert told == [risk(55).meals, risk(55)]


def changed_by_hand(plan: object, **values: object) -> SimpleNamespace:
    return SimpleNamespace(**{**vars(plan), **values})


def test_what_can_no_longer_be_kept_has_no_chance_of_its_own(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A pot of the old plan has gone out of the event; or there is no forecast."""
    gone = changed(TOLD, placements=(*TOLD.placements, changed(SOUP, id="x", pot_id="none")))
    monkeypatch.setattr(again, "simulate", lambda *given: risk(55))
    monkeypatch.setattr(again, "gains", lambda *given: [])
    monkeypatch.setattr(again, "work_changes", lambda *given: [])

    for old, new in ((gone, TOLD), (TOLD, changed(TOLD, risk=None))):
        monkeypatch.setattr(again, "plan_day", lambda day, new=new: new)
        assert replan_from(status(old)).if_kept == ()


def test_a_plan_is_brought_to_what_the_event_is_by_now(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[object] = []

    def day_status(event: Event, plan: Plan, entries: object, now: object) -> DayStatus:
        asked.append(plan)
        return replace(status(), plan=plan)

    monkeypatch.setattr(again, "reconcile", lambda event, plan, now: "reconciled")
    monkeypatch.setattr(again, "day_status", day_status)
    monkeypatch.setattr(again, "replan_from", lambda status: status.plan)

    assert again.replan(EVENT, TOLD, (), at("10:00")) == "reconciled"  # type: ignore[comparison-overlap]
    assert asked == ["reconciled"]
