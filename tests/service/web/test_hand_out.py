"""Everybody's links at once: shown, shareable, never leading nowhere."""

from __future__ import annotations

import html
import re

import httpx
import pytest

from service.web import hand_out, links
from tests.app import EVENT, HTML, Door

PAGE = f"/e/{EVENT}/links"
OUTSIDE = {"host": "cook.example", **HTML}


def test_one_press_makes_everybodys_links_with_codes_and_a_message(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[str, str]:
        made = await client.post(PAGE, data={"role": "all"}, headers=OUTSIDE)
        return made.text, (await client.get(PAGE, headers=OUTSIDE)).text

    made, again = ready(work)

    text = re.search(r'<textarea id="message"[^>]*>(.*?)</textarea>', made, re.S)
    assert text is not None
    message = html.unescape(text[1])
    for name in ("Asta", "Bo", "Wim"):
        assert re.search(rf"{name}: https?://cook\.example/l/[\w-]{{32}}", message)
    assert "Visitors’ board" not in message
    assert len(set(re.findall(r'data-copy="([^"]+)"', made))) == 4  # three helpers and the board
    assert made.count('class="qr"') == 4
    assert set(re.findall(r"/l/[\w-]+", again)) == set(re.findall(r"/l/[\w-]+", made))


def test_a_code_fills_its_place_so_that_a_phone_reads_it_from_a_metre(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> str:
        return (await client.post(PAGE, data={"role": "all"}, headers=OUTSIDE)).text

    page = ready(work)
    code = re.search(r"<svg[^>]*>", page[page.index('class="slip"') :])

    assert code is not None
    assert "viewBox" in code[0]
    assert "width=" not in code[0]


def test_new_links_end_the_old_ones(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[int]:
        old = await client.post(PAGE, data={"role": "all"}, headers=OUTSIDE)
        token = re.findall(r"/l/([\w-]+)", old.text)[0]
        before = (await client.get(f"/l/{token}")).status_code
        await client.post(PAGE, data={"role": "renew"}, headers=OUTSIDE)
        return [before, (await client.get(f"/l/{token}", headers=HTML)).status_code]

    assert ready(work) == [303, 404]


def test_at_an_address_of_this_machine_alone_no_code_leads_nowhere(
    ready: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(links, "own_addresses", lambda: ["192.168.7.20"])
    monkeypatch.setattr(hand_out, "own_addresses", lambda: ["192.168.7.20"])

    async def work(client: httpx.AsyncClient) -> tuple[str, str]:
        local = {"host": "127.0.0.1:8008", **HTML}
        alone = await client.post(PAGE, data={"role": "all"}, headers=local)
        chosen = await client.get(f"{PAGE}?at=192.168.7.20", headers=local)
        return alone.text, chosen.text

    alone, chosen = ready(work)

    assert "open on this computer only" in alone
    assert "?at=192.168.7.20" in alone
    assert 'class="qr"' not in alone
    assert "--host 0.0.0.0" in chosen
