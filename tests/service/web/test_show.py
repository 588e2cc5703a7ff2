"""What to show and say: a card for each cooker, found from the talk, the station and the day."""

from __future__ import annotations

import httpx
import pytest

from tests.app import EVENT, HTML, Door
from tests.conftest import sample_event


def test_the_list_leads_to_a_card_for_each_cooker(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[str, list[httpx.Response]]:
        listed = (await client.get(f"/e/{EVENT}/show", headers=HTML)).text
        cards = [
            await client.get(f"/e/{EVENT}/show/{c.id}", headers=HTML)
            for c in sample_event("harvest-lunch").cookers
        ]
        return listed, cards

    listed, cards = ready(work)

    for cooker, card in zip(sample_event("harvest-lunch").cookers, cards, strict=True):
        assert f"/e/{EVENT}/show/{cooker.id}" in listed
        assert card.status_code == 200
        for part in ("What happens", "Why?", "Ask the pupils", "Gathered", "Prices are local"):
            assert part in card.text
        assert "A mirror boils" in card.text, "its figures are for the talk"
        assert "Children only with a named adult" in card.text


def test_a_card_can_be_had_for_another_instant(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        path = f"/e/{EVENT}/show/mirror-1"
        times = ({"at": "2026-11-28T07:00:00+02:00"}, {"at": "noon"}, {})
        answers = [await client.get(path, params=at, headers=HTML) for at in times]
        return [*answers, await client.get(f"/e/{EVENT}/show/no-such", headers=HTML)]

    early, wrong, usual, missing = ready(work)

    assert "At 07:00" in early.text
    assert "At 11:40" in usual.text
    assert wrong.status_code == 422
    assert missing.status_code == 404


@pytest.mark.parametrize("page", ["", "/stations/mirror-1", "/jobs/wim"])
def test_the_day_a_station_and_the_speakers_job_lead_to_it(ready: Door, page: str) -> None:
    async def work(client: httpx.AsyncClient) -> str:
        return (await client.get(f"/e/{EVENT}{page}", headers=HTML)).text

    where = "/show/mirror-1" if page.startswith("/stations") else "/show"
    assert f'href="/e/{EVENT}{where}">What to show and say' in ready(work)
