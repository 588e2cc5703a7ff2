"""The site's usable sun is one sentence, the same on every page and on paper."""

from __future__ import annotations

import httpx
import pytest

from service.paper.content import facts
from service.text.sun import site_sun, spot_sun
from solver.solar.windows import site_window, station_stretches
from tests.app import EVENT, HTML, Door
from tests.conftest import sample_event, sample_plan

SAID = "Usable sun 07:21 to 18:42"


@pytest.mark.parametrize("page", ["", "/plan/site", "/plan/dishes", "/sheet"])
def test_pages_say_the_sites_usable_sun_alike(ready: Door, page: str) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        text = (await client.get(f"/e/{EVENT}{page}", headers=HTML)).text
        assert SAID in text or (page == "" and "Usable sun" in text)

    ready(work)


def test_it_is_the_same_on_paper() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")

    assert site_sun(event, site_window(event).stretches) == SAID
    assert facts(event, plan, parts=())["site_sun"] == SAID


def test_a_spot_without_trees_of_its_own_has_the_sites_sun_to_the_minute() -> None:
    event = sample_event("harvest-lunch")
    wall = event.station("wall")

    assert station_stretches(event, wall) == site_window(event).stretches
    assert spot_sun(event, wall, station_stretches(event, wall)) == (
        "South wall: usable sun 07:21 to 18:42"
    )
