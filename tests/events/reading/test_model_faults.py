"""What pydantic finds wrong is said as a kind of our own, whatever stands in whichever field."""

from __future__ import annotations

import pytest
from pydantic import BaseModel, ValidationError

from events.diary import Entry
from events.errors import WHOLE_FILE, FaultyEvent
from events.model import EventHead
from events.reading.event_file import read_event
from events.reading.model_faults import OTHER, faults_of
from events.reading.samples import sample_text
from events.reading.schema import LISTS, SINGLE
from events.site import Site, Weather, WeatherHour
from service.text.faults import said
from tests.conftest import replaced

TABLES = [EventHead, Site, Weather, WeatherHour, Entry, *SINGLE.values()]
TABLES += [kind for _, kind in LISTS.values()]
WRONG = ("x" * 999, "", "Ä!", -1e9, 1e9, 0.123456, float("nan"), True, None, [], ["x"] * 999)
WRONG += (["x"], [[1, 2, 3]], {}, {"x": 1}, [{"x": 1}], object())  # type: ignore[assignment]


@pytest.mark.parametrize("table", TABLES, ids=lambda t: t.__name__)
def test_every_mistake_has_a_kind_of_its_own(table: type[BaseModel]) -> None:
    for key in table.model_fields:
        for value in WRONG:
            try:
                table.model_validate({key: value})
            except ValidationError as error:
                for fault in faults_of(error, WHOLE_FILE, known=table.model_fields):
                    assert fault.kind != OTHER, (key, value, error)
                    assert said(fault).limit


@pytest.mark.parametrize(
    ("old", "new", "text"),
    [
        ("portions = 24", "portions = 0", "0: must be at least 1."),
        ("portions = 24", 'portions = "many"', "'many': must be a whole number."),
        ("portions = 24", "portions = 24\nraw_meat = 3", "3: must be true or false."),
        (
            "portions = 24",
            'portions = 24\ncolour = "red"',
            "is not a key here. Remove it, or see noonfare schema.",
        ),
        ('may = ["mirrors", "lift"]', 'may = "lift"', "'lift': must be a list."),
        (
            "minutes = 20",
            'minutes = 20\nstage = "burnt"',
            "'burnt': must be 'loaded', 'simmering' or 'lifted'.",
        ),
    ],
)
def test_a_value_that_can_not_be_is_told_what_can(old: str, new: str, text: str) -> None:
    with pytest.raises(FaultyEvent) as refused:
        read_event(replaced(sample_text("harvest-lunch"), (old, new)))

    assert text in [said(f).advice for f in refused.value.faults]
