"""A builder's page is open to all: figures with their bands, what would help, what is cooked."""

from __future__ import annotations

from dataclasses import replace

import httpx
import pytest

from events.errors import Busy
from service.application import building
from service.text.teaching import TEACHING
from solver.feasibility.builder import Filled
from solver.thermal.design import Design
from tests.app import HTML, Door


async def page(client: httpx.AsyncClient, **asked: object) -> httpx.Response:
    params = {k: str(v) for k, v in asked.items()}
    return await client.get("/build", params=params, headers=HTML)


@pytest.mark.parametrize("kind", ["parabolic", "box", "panel"])
def test_whoever_comes_gets_figures_bands_changes_dishes_and_cautions(
    door: Door, kind: str
) -> None:
    door.settings = replace(door.settings, open=False)

    async def work(client: httpx.AsyncClient) -> httpx.Response:
        return await page(client, kind=kind)

    answer = door(work)

    assert answer.status_code == 200
    for part in ("ASAE S580", "eight of ten", "Ten centimetres more", "Rice", "Children only"):
        assert part in answer.text
    assert TEACHING[kind].built_safely in answer.text  # type: ignore[index]
    assert ("Panes of glass" in answer.text) == (kind == "box")
    assert ("melts or burns" in answer.text) == (kind == "parabolic")


def test_a_place_and_a_day_give_their_own_sun(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[str]:
        asked = (
            {"where": "Bizerte", "day": "2027-05-22"},
            {"where": "65, 20", "day": "2027-12-21"},
            {"where": "no such place at all"},
        )
        return [(await page(client, **a)).text for a in asked]

    here, dark, nowhere = door(work)

    assert "22 May 2027" in here
    assert "73° up" in here
    assert "too low" in dark
    assert "is no place that we know" in nowhere
    for fallback in (dark, nowhere):
        assert "Standard sun" in fallback


def test_a_pot_that_does_not_fit_is_said_and_what_can_not_be_is_refused(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        return [
            await page(client, kind="box", size_cm=30, pot_litres=12),
            await page(client, size_cm=9000),
            await page(client, size_cm="nan"),
            await page(client, kind="kettle"),
            await page(client, day=""),
        ]

    too_wide, *wrong, no_day = door(work)

    assert "doesn’t go into a box of 30 cm" in too_wide.text
    assert "A litre from" not in too_wide.text
    assert [a.status_code for a in wrong] == [422, 422, 422]
    assert no_day.status_code == 200


def test_the_first_page_and_the_cards_lead_to_it(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[str]:
        paths = ("/", "/e/harvest-lunch-2026-11-28/show/box-1")
        return [(await client.get(path, headers=HTML)).text for path in paths]

    first, card = ready(work)

    assert 'href="/build"' in first
    assert 'href="/build?kind=box"' in card


def test_programs_get_the_same_or_why_not(door: Door) -> None:
    door.settings = replace(door.settings, open=False)

    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        asked = (
            {"kind": "parabolic", "where": "Bizerte", "day": "2027-05-22"},
            {"kind": "box", "size_cm": "30", "pot_litres": "12"},
            {"where": "65, 20", "day": "2027-12-21"},
        )
        return [await client.get("/api/build", params=a) for a in asked]

    mirror, too_wide, dark = door(work)

    assert mirror.json()["empty_c"] is None
    assert mirror.json()["at_50_w"]["low"] < mirror.json()["at_50_w"]["expected"]
    assert (too_wide.status_code, dark.status_code) == (422, 422)
    assert too_wide.json()["faults"][0]["key"] == "pot_litres"
    assert "too low" in dark.json()["faults"][0]["limit"]


def test_while_another_design_is_worked_out_one_waits_and_is_told_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(building, "WAIT_S", 0.01)
    design, filled = Design(kind="box", size_cm=50), Filled()
    sun = building.standard_sun(25.0)

    with building.WORKING, pytest.raises(Busy):
        building.tried(design, filled, sun)

    assert building.tried(design, filled, sun) is not None
