"""How many pages the paper takes is counted, and what a day does not need is not ticked."""

from __future__ import annotations

import io
import re

import httpx
import pytest
from pypdf import PdfReader

from events.model import Event
from events.table import changed
from service.paper.content import PARTS, needed_parts
from service.paper.pdf import pages_of, pdf
from tests.app import EVENT, HTML, Door
from tests.conftest import sample_event, sample_plan

HARVEST = sample_event("harvest-lunch")


@pytest.mark.slow
@pytest.mark.parametrize("parts", [PARTS, ("cards",), ("gas",)])
def test_pages_are_counted_as_another_reader_counts_them(parts: tuple[str, ...]) -> None:
    made = pdf(HARVEST, sample_plan("harvest-lunch"), parts=parts)  # type: ignore[arg-type]

    assert pages_of(made) == len(PdfReader(io.BytesIO(made)).pages)


@pytest.mark.parametrize(
    ("event", "without"),
    [
        (sample_event("school-rounds"), set()),
        (changed(HARVEST, talks=()), {"rota", "show"}),
        (
            changed(
                HARVEST, talks=(), site=changed(HARVEST.site, visitors_from=HARVEST.site.opens)
            ),
            {"rota"},
        ),
        (
            changed(HARVEST, talks=(), cookers=tuple(c for c in HARVEST.cookers if not c.on_gas)),
            {"rota", "show", "gas"},
        ),
    ],
)
def test_a_day_needs_what_it_has_somebody_or_something_for(event: Event, without: set[str]) -> None:
    needed = set(needed_parts(event))

    assert set(PARTS) - needed - {"gas"} == without - {"gas"}
    assert ("gas" in needed) == any(c.on_gas for c in event.cookers)
    assert {"run-sheet", "helpers", "cards", "aiming", "before", "food", "safety"} <= needed


@pytest.mark.slow
def test_the_page_ticks_what_is_needed_and_its_count_is_of_what_is_printed(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        page = (await client.get(f"/e/{EVENT}/paper", headers=HTML)).text
        ticked = re.findall(r'name="part" value="([^"]+)" checked', page)
        assert ticked == [p for p in needed_parts(HARVEST) if p != "rota"]

        counts = (await client.get(f"/e/{EVENT}/paper-pages?part=cards&part=gas")).json()
        printed = await client.get(f"/e/{EVENT}/paper.pdf?part=cards&part=gas")

        assert set(counts) == {"cards", "gas"}
        assert sum(counts.values()) == len(PdfReader(io.BytesIO(printed.content)).pages)

    ready(work)
