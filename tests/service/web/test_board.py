"""The board's two doors: a screen that signed in, and phones with a code for that one page."""

from __future__ import annotations

import re
from dataclasses import replace

import httpx

from events.reading.samples import sample_text
from tests.app import EVENT, HTML, Door, put_in


def test_the_code_on_the_screen_opens_the_board_and_nothing_else(door: Door) -> None:
    door.settings = replace(door.settings, open=False)

    async def work(client: httpx.AsyncClient) -> tuple[str, httpx.Response, list[int], list[int]]:
        await put_in(client)
        code = door.services.links.visitor_code(EVENT)
        again = door.services.links.visitor_code(EVENT)
        assert code == again
        screen = await client.get(f"/e/{EVENT}/board", headers=HTML)
        client.headers.pop("authorization")
        phone = await client.get(f"/v/{EVENT}/{code}", headers=HTML)
        inside = ("", "/board", "/jobs/asta", "/sheet", "/live", "/paper.pdf")
        others = [
            (await client.get(f"/e/{EVENT}{path}", headers=HTML)).status_code for path in inside
        ]
        wrong = [
            (await client.get(f"/v/{path}", headers=HTML)).status_code
            for path in (f"{EVENT}/{'0' * 32}", f"{EVENT}/x", f"nothing/{code}")
        ]
        return screen.text, phone, others, wrong

    screen, phone, others, wrong = door(work)

    assert "This board on your phone" in screen
    assert phone.status_code == 200
    assert "set-cookie" not in phone.headers
    assert not re.findall(r'href="/e/', phone.text)
    assert "Asta" not in phone.text
    assert set(others) == set(wrong) == {404}


def test_one_events_code_opens_no_others_board(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> int:
        await put_in(client)
        other = (await put_in(client, sample_text("school-day"))).json()["id"]
        code = door.services.links.visitor_code(EVENT)
        return (await client.get(f"/v/{other}/{code}", headers=HTML)).status_code

    assert door(work) == 404
