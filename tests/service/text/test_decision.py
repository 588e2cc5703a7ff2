"""Go or not is said whole, and in the event's units."""

from __future__ import annotations

from typing import get_args

import pytest

from events.table import changed
from service.text import decision as text
from solver.plan import GasDay
from solver.risk.decision import Deadline, GoStep, Outcome
from tests.conftest import sample_event
from tests.diaries import local

HARVEST = sample_event("harvest-lunch")
US = changed(HARVEST, units="us", clock_h=12)


@pytest.mark.parametrize(
    ("remedy", "says"),
    [
        ("gas", "to the gas ring first"),
        ("replace", "replace it by cold salad"),
        ("leave-out", "leave it out"),
    ],
)
def test_a_step_says_what_to_do_and_what_that_brings(remedy: str, says: str) -> None:
    step = GoStep.model_validate(
        {"dish_id": "rice", "remedy": remedy, "instead": "cold salad", "of_100": 85}
    )

    said = text.step(HARVEST, step)

    assert said == (f'<span class="food">Rice</span>: {says}. All others then: <b>85 of 100</b>.')


def test_names_with_markup_are_shown_as_typed() -> None:
    dishes = tuple(changed(d, name="<b>Rice</b>") for d in HARVEST.dishes)
    step = GoStep(dish_id="rice", remedy="leave-out", instead=None, of_100=85)

    assert "&lt;b&gt;Rice&lt;/b&gt;" in text.step(changed(HARVEST, dishes=dishes), step)


def test_a_gas_day_is_weighed_as_the_event_weighs() -> None:
    day = GasDay(rings=1, gas_kg=2.0, steps=(), not_on_gas=("rice",))

    assert text.gas_day(HARVEST, day) == (
        "<b>1 ring</b> at once, <b>2.0 kg</b> of gas. Not on a ring: Rice."
    )
    assert "<b>4.4 lb</b>" in text.gas_day(US, day)
    three = changed(day, rings=3)
    assert "<b>3 rings</b> at once, <b>2.0 kg</b> of gas. You have 1." in text.gas_day(
        HARVEST, three
    )
    suns = changed(HARVEST, cookers=tuple(c for c in HARVEST.cookers if c.on_sun))
    assert "You have none." in text.gas_day(suns, day)


def test_deadlines_say_when_and_what() -> None:
    look = Deadline(at=local(HARVEST, "18:00"), kind="first-look")
    task = Deadline(at=local(HARVEST, "18:00"), kind="task", dish_id="rice", task="Soak it")

    assert "28 Nov, 18:00" in text.deadline(HARVEST, look)
    assert "6:00 pm" in text.deadline(US, look)
    assert "First look at the forecast" in text.deadline(HARVEST, look)
    assert '<span class="food">Rice</span>: Soak it' in text.deadline(HARVEST, task)


def test_every_outcome_has_its_heading() -> None:
    assert set(text.HEADING) == {*get_args(Outcome), None}
