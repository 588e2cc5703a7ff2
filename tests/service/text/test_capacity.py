"""What the cookers take is said beside what there is to cook."""

from __future__ import annotations

from events.table import changed
from service.text.capacity import takes_line
from tests.conftest import sample_event


def test_what_to_do_is_said_only_where_the_food_is_more() -> None:
    event = sample_event("harvest-lunch")
    food_kg = sum(d.mass_kg for d in event.dishes)
    us = changed(event, units="us", clock_h=12)

    assert takes_line(event, food_kg) == (
        f"Your cookers take about {food_kg:.1f} kg at most by 12:30 on a clear day."
    )
    less = takes_line(us, food_kg - 5)
    assert f"this is {food_kg / 0.45359237:.1f} lb. Make fewer portions" in less
    assert "by 12:30 pm" in less
    assert takes_line(event, 0.0).startswith("None of your cookers has any of this ready by 12:30")
