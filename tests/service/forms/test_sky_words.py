"""A forecast in words becomes hours; what is not understood is asked back."""

from __future__ import annotations

import pytest

from events.errors import FaultyEvent
from service.forms.sky_words import cloud_of


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("cloudy after two", [("00:00", 5), ("14:00", 90)]),
        ("Clear until noon, then cloudy", [("00:00", 5), ("12:00", 90)]),
        ("sunny morning, overcast afternoon", [("00:00", 5), ("12:00", 100)]),
        ("partly cloudy", [("00:00", 50)]),
        ("clear until two, then some cloud", [("00:00", 5), ("14:00", 40)]),
        ("sunny spells", [("00:00", 50)]),
        ("fine, cloud after 3 pm", [("00:00", 10), ("15:00", 90)]),
        ("rain 9 to 11, then sunny", [("00:00", 5), ("09:00", 100), ("11:00", 5)]),
        ("40 % from 10 am until 3 pm", [("00:00", 5), ("10:00", 40), ("15:00", 5)]),
        ("mostly cloudy before 10:30", [("00:00", 75), ("10:30", 5)]),
        ("", []),
    ],
)
def test_words_become_hours(text: str, hours: list[tuple[str, int]]) -> None:
    assert [(c.start, c.cloud_pct) for c in cloud_of(text)] == hours


@pytest.mark.parametrize("text", ["marmalade", "sunny, then marmalade"])
def test_what_is_not_understood_is_asked_back(text: str) -> None:
    with pytest.raises(FaultyEvent) as refusal:
        cloud_of(text)

    assert refusal.value.faults[0].value == "“marmalade”"
