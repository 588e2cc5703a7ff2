"""A meal in sittings tells the time of each, wherever it tells its time."""

from __future__ import annotations

from datetime import time, timedelta

from events.model import Event
from events.table import changed
from service.text import board, sittings
from service.text.job_words import job_words
from service.text.row_lines import row_lines
from service.web import hand_out
from service.web.day import _meal
from tests.conftest import sample_event, sample_plan


def in_two() -> Event:
    event = sample_event("harvest-lunch")
    meals = tuple(changed(m, waves=2) if m.id == "lunch" else m for m in event.meals)
    return changed(event, meals=meals)


def test_a_sitting_begins_when_its_pots_are_served() -> None:
    """Sittings share the meal's hour alike, on the timetable's five minutes."""
    meal = in_two().meal("lunch")

    assert sittings.sittings(meal) == [time(12, 30), time(13)]
    assert sittings.sittings(changed(meal, waves=3)) == [time(12, 30), time(12, 50), time(13, 10)]
    assert sittings.sittings(changed(meal, waves=1)) == [time(12, 30)]


def test_header_job_message_planner_and_board_tell_each_sitting() -> None:
    event, plan = in_two(), sample_plan("harvest-lunch")
    serve = next(j for j in plan.jobs if j.kind == "serve" and j.meal_id == "lunch")
    said = "in 2 sittings, 12:30 and 13:00"

    assert _meal(event, event.meal("lunch")) == f"Lunch {said}, until 13:30 for 30"
    assert job_words(event, plan, serve, ()).how.startswith(f"30 people {said}")
    assert f"Lunch {said}, until 13:30; Cake and tea 14:30 to 15:00." in hand_out.message(event, [])
    assert row_lines(event, "meal")["lunch"] == f"{said}, until 13:30, 30 portions"
    noon = event.instant(time(12, 30)) - timedelta(minutes=30)
    assert board._heading(event, noon) == "Lunch at 12:30 and 13:00"
