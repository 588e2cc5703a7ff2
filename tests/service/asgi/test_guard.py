"""What is refused before a route is asked: forms of other sites, bodies that never end."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path

import httpx
import pytest

from service.asgi import middleware
from tests.app import Door, put_in

NOTE = {"kind": "note", "note": "seen", "id": "press-0001"}


@pytest.fixture
def door(tmp_path: Path) -> Door:
    return Door(tmp_path)


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 303),  # not a browser
        ({"sec-fetch-site": "same-origin"}, 303),
        ({"sec-fetch-site": "none"}, 303),  # typed by whoever sits there
        ({"origin": "http://here"}, 303),
        # A browser says where a form is from, also where it leaves out its origin.
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"sec-fetch-site": "cross-site", "origin": "http://here"}, 403),
        ({"origin": "http://elsewhere"}, 403),
        ({"origin": "http://here.elsewhere"}, 403),
        ({"origin": "null"}, 403),
    ],
)
def test_forms_of_other_sites_are_refused(door: Door, headers: dict[str, str], status: int) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[int, int]:
        name = (await put_in(client)).json()["id"]
        answer = await client.post(f"/e/{name}/diary", data=NOTE, headers=headers)
        return answer.status_code, len((await client.get(f"/api/events/{name}/diary")).json())

    assert door(work) == (status, int(status == 303))


@pytest.mark.parametrize("path", ["/api/events", "/events", "/e/harvest-lunch-2026-11-28/diary"])
def test_a_body_that_never_ends_is_given_up(
    door: Door, path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Bodies that came byte by byte held their lines for ever."""
    monkeypatch.setattr(middleware, "BODY_S", 0.05)

    async def slow() -> AsyncIterator[bytes]:
        yield b"kind=note"
        await asyncio.Event().wait()

    async def work(client: httpx.AsyncClient) -> httpx.Response:
        kind = {"content-type": "application/x-www-form-urlencoded"}
        if path == "/api/events":
            kind = {"content-type": "application/toml"}
        return await client.post(path, content=slow(), headers=kind)

    answer = door(work)

    assert answer.status_code == 408
    assert "0.05 seconds" in answer.text
