"""What the solver says in °C, kilograms and 24 hours, as a US event says it."""

from __future__ import annotations

import re

import pytest

from events.model import changed
from service.text import us_units
from solver.planning.pipeline import make_plan
from tests.conftest import sample_event

US = {"units": "us", "clock_h": 12}


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        # 0, 100 and 74 °C are 32, 212 and 165 °F; a pound is 0.45359237 kg, a mile 1609.344 m,
        # a US liquid quart 0.946352946 l (NIST Handbook 44, appendix C).
        ("its oven gets to 100 °C; this needs 74 °C", "its oven gets to 212 °F; this needs 165 °F"),
        ("300 min between 5 and 60 °C", "300 min between 41 and 140 °F"),
        ("no pot for 9.5 litres fits it", "no pot for 10.0 qt fits it"),
        ("4.54 kg boils away", "10.0 lb boils away"),
        ("the wind is over 8.9 m/s then", "the wind is over 20 mph then"),
        ("done at 13:05; the meal is at 12:30", "done at 1:05 pm; the meal is at 12:30 pm"),
        ("loaded at 08:00, 25 of 100", "loaded at 8:00 am, 25 of 100"),
    ],
)
def test_a_sentence_says_figures_as_the_event_does(ours: str, theirs: str) -> None:
    event = sample_event("harvest-lunch")
    us = changed(event, **US)

    assert us_units.said(event, ours) == ours
    assert us_units.said(us, ours) == theirs
    assert us_units.said(us, theirs) == theirs


@pytest.mark.parametrize("name", ["winter-refusal", "cook-off"])
def test_no_sentence_of_a_us_plan_says_celsius_or_kilograms(name: str) -> None:
    event = changed(sample_event(name), **US)

    plan = us_units.plan_said(event, make_plan(event))

    texts = [*plan.warnings, *plan.reasons, *(r.text for u in plan.unplaced for r in u.reasons)]
    assert texts
    assert not [
        t for t in texts if re.search(r"°C|\bkg\b|\blitres\b|m/s|\b\d\d:\d\d\b(?! [ap]m)", t)
    ]
