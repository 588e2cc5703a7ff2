"""Pages and paper of an event in US units: no figure is metric alone."""

from __future__ import annotations

import html
import re
from fractions import Fraction

import httpx
import pytest

from events.reading.samples import sample_text
from events.table import changed
from service.paper.station_card import PINS_MM
from service.text.formatting import pin
from tests.app import HTML, Door, put_in
from tests.conftest import sample_event

# Litres stand in the names of the pots, which are as the file has them.
METRIC = re.compile(r"\b\d[\d.]* ?(kg|g|cm|mm|m|m²|°C)\b")
US = changed(sample_event("harvest-lunch"), units="us")


def test_a_us_event_has_no_metric_figure_on_its_pages_of_work(door: Door) -> None:
    us = sample_text("harvest-lunch").replace("format = 1", 'format = 1\nunits = "us"')

    async def work(client: httpx.AsyncClient) -> dict[str, str]:
        made = (await put_in(client, us)).json()
        pages = ("sheet", "stations/mirror-1", "stations/box-1", "jobs", "go", "paper")
        return {p: (await client.get(f"/e/{made['id']}/{p}", headers=HTML)).text for p in pages}

    pages = door(work)
    assert "“Ring 10 at 8”: move it until" in pages["stations/mirror-1"]  # orders are read there
    for page, text in pages.items():
        assert "<h1" in text, page
        main = re.sub(r"<(script|style|svg).*?</\1>", "", text, flags=re.S)
        words = html.unescape(re.sub(r"<[^>]+>", " ", main))
        assert not [m[0] for m in METRIC.finditer(words)], page


@pytest.mark.parametrize("mm", PINS_MM)
def test_a_pin_in_inches_is_as_long_as_the_line_that_it_is_cut_by(mm: int) -> None:
    # 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
    inches = sum(Fraction(part) for part in pin(US, mm).removesuffix(" in").split())

    assert float(inches) * 25.4 == pytest.approx(mm, abs=0.05)
