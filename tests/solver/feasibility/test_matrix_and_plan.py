"""The planner's table, the plan's reason and the year tell the same of a cake that is too late."""

from __future__ import annotations

from datetime import time
from functools import cache

from events.model import Event
from events.table import changed
from service.text.notices import refusal
from service.text.season import never
from solver.feasibility.dish_matrix import dish_matrix
from solver.feasibility.season import season
from solver.plan import Plan
from solver.planning.pipeline import make_plan
from tests.conftest import sample_event


def cakes(start: time) -> Event:
    """Return one cake of sixteen portions and two boxes, eaten at some hour under a clear sky."""
    event = sample_event("harvest-lunch")
    meal = changed(event.meal("cake"), start=start, end=time(16))
    return changed(
        event,
        talks=(),
        weather=type(event.weather)(),
        cookers=tuple(c for c in event.cookers if c.is_oven),
        dishes=(changed(event.dish("apple-cake"), rest_min=0),),
        meals=tuple(meal if m.id == meal.id else m for m in event.meals),
    )


@cache
def planned(start: time) -> tuple[Event, Plan]:
    event = cakes(start)
    return event, make_plan(event)


def test_a_cake_that_is_too_late_has_one_start_and_one_end_in_table_and_reason() -> None:
    event, plan = planned(time(10))
    reasons = {r.cooker_id: r for u in plan.unplaced for r in u.reasons}
    cells = {c.cooker_id: c for c in dish_matrix(event)}

    assert reasons
    assert reasons.keys() == cells.keys()
    for cooker_id, cell in cells.items():
        why = reasons[cooker_id]
        assert why.kind == "too-late"
        assert (cell.load_by, cell.done_at) == (why.instants["loaded_at"], why.instants["done_at"])
        assert "sooner" in refusal(event, why)


def test_the_table_has_in_time_what_the_plan_and_the_year_have_in_time() -> None:
    event, plan = planned(time(11))
    year, week, _ = event.date.isocalendar()

    cells = dish_matrix(event)

    assert plan.placements
    assert all(c.expected_min is not None and not c.late for c in cells)
    assert season(event, year, weeks=(week - 1,)).never == ()


def test_the_year_says_no_day_of_no_dish_that_the_plan_places() -> None:
    event = cakes(time(7))
    year, week, _ = event.date.isocalendar()
    found = season(event, year, weeks=(week - 1,))
    assert found.never == ("apple-cake",)

    assert "on no day of the year has the sun it in time: Apple cake" in never(event, found)
    assert "no day" not in never(event, found, {"apple-cake"})
