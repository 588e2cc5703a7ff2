"""Looks at pots that may have to go to a ring: whose they are, and what one more ring would win."""

from __future__ import annotations

import pytest

from service.text.notices import warning
from service.text.run_sheet import items_of_cooker, items_of_helper, run_sheet_items
from solver.notices import PlanWarning
from tests.conftest import PLANNED_SAMPLES, sample_event, sample_plan


@pytest.mark.parametrize("name", PLANNED_SAMPLES)
def test_each_look_is_on_the_phone_of_one_adult_who_is_there_and_at_its_cooker(name: str) -> None:
    event, plan = sample_event(name), sample_plan(name)
    looks = {i.id: i for i in run_sheet_items(event, plan) if i.kind == "rescue"}

    assert set(looks) == {f"rescue-{r.placement_id}" for r in plan.rescues}
    for rescue in plan.rescues:
        item = looks[f"rescue-{rescue.placement_id}"]
        pot = next(p for p in plan.placements if p.id == rescue.placement_id)
        assert len(item.helper_ids) == 1
        helper = event.helper(item.helper_ids[0])
        assert helper.adult
        assert event.instant(helper.start) <= rescue.at < event.instant(helper.end)
        assert item in items_of_helper(event, plan, helper.id)
        assert item in items_of_cooker(event, plan, event.cooker(pot.cooker_id))


def test_what_one_more_ring_would_win_is_said_where_it_wins() -> None:
    event = sample_event("harvest-lunch")
    dish = event.dishes[0]

    def said(of_100: float) -> str:
        figures = {"won_of_100": of_100}
        return warning(
            event, PlanWarning(kind="too-few-rings", dish_ids=(dish.id,), figures=figures)
        )

    assert "One more ring would win 6 points of 100." in said(6.0)
    assert "One more ring would win 99 points of 100." in said(99.0)
    assert "One more ring would have some 1 more in time." in said(100.0)
    assert "One more ring would have some 3 more in time." in said(347.0)
    assert "One more ring" not in said(0.0)
    assert dish.name in said(0.0)
