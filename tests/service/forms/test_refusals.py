"""A fault by the field that it was typed in: its label, its row's name, its units, its clock."""

from __future__ import annotations

from datetime import time

import pytest

from events.errors import SITE, Place
from service.forms.refusals import refusal_line

METRIC = {"units": "metric", "clock_h": 24, "meal": [{"id": "noon", "name": "Lunch"}]}
US = {**METRIC, "units": "us", "clock_h": 12}
TOO_HIGH = SITE.fault("altitude_m", "6096.0", "at-most", most=5500)
TOO_SOON = Place("meal", 1, "noon").fault(
    "until", time(13), "not-after", first="from", start=time(14)
)


@pytest.mark.parametrize(
    ("table", "high", "soon"),
    [
        (
            METRIC,
            "m: 6096.0: must be less than or equal to 5500.",
            "13:00: must be after from 14:00.",
        ),
        (
            US,
            "ft: 20000: must be less than or equal to 18044.6.",
            "1:00 pm: must be after from 2:00 pm.",
        ),
    ],
)
def test_a_refusal_says_figures_as_its_form_has_them(
    table: dict[str, object], high: str, soon: str
) -> None:
    assert refusal_line(TOO_HIGH, table) == f"Altitude, {high}"
    assert refusal_line(TOO_SOON, table).startswith("Lunch, ")
    assert refusal_line(TOO_SOON, table).endswith(soon)


def test_what_is_no_number_stays_as_it_was_typed() -> None:
    fault = SITE.fault("altitude_m", "'high'", "number")

    assert refusal_line(fault, US) == "Altitude, ft: 'high': must be a number."
