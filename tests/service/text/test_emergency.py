"""Whom to call where: 112 by Directive (EU) 2018/1972 (article 109), 3GPP TS 22.101 (clause 10).

Of the countries outside the EU: their regulators (FCC, CRTC, Ofcom, ACMA, NZ Police), from memory.
"""

from __future__ import annotations

import pytest

from events.table import changed
from service.text.emergency import emergency_line, emergency_numbers
from tests.conftest import sample_event

EVENT = sample_event("harvest-lunch")


@pytest.mark.parametrize(
    ("zone", "says"),
    [
        ("America/Phoenix", "911"),
        ("America/Toronto", "911"),
        ("Europe/London", "999 or 112"),
        ("Europe/Berlin", "112"),
        ("Atlantic/Canary", "112"),
        ("Australia/Sydney", "000"),
        ("Pacific/Auckland", "111"),
        ("Africa/Nairobi", "the local emergency number"),
        ("America/Mexico_City", "the local emergency number"),
        ("Etc/UTC", "the local emergency number"),
    ],
)
def test_the_number_is_that_of_the_zones_country_where_it_is_known(zone: str, says: str) -> None:
    event = changed(EVENT, site=changed(EVENT.site, timezone=zone))

    assert emergency_line(event) == f"Ambulance and fire service: {says}"
    assert emergency_numbers(event) == tuple(n for n in says.split(" or ") if n.isdigit())
