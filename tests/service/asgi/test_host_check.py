"""An open service answers to addresses and names of its own: DNS rebound to it opens nothing."""

from __future__ import annotations

import socket
from dataclasses import replace

import httpx
import pytest

from service.asgi.host_check import hosts_answered, is_answered
from tests.app import EVENT, HTML, TOML, Door, put_in

NAMES = hosts_answered(["Kitchen.example", ""])
OWN = socket.gethostname()


@pytest.mark.parametrize(
    "host",
    [
        "localhost",
        "localhost:8008",
        "LOCALHOST:8008",
        "192.168.1.20:8008",
        "[fe80::1]:8008",
        "[::1]",
        "kitchen.example:8008",
        "kitchen.example.",
        OWN,
        f"{OWN.partition('.')[0]}.local:8008",
        f"{OWN.partition('.')[0]}.lan",
    ],
)
def test_addresses_and_own_names_are_answered(host: str) -> None:
    assert is_answered(host, NAMES)


@pytest.mark.parametrize(
    "host",
    [
        "",
        "elsewhere.example",
        f"{OWN.partition('.')[0]}.elsewhere.example",
        "elsewhere.example:8008",
        "kitchen.example.elsewhere.example",
        "192.168.1.20.elsewhere.example",
        "localhost.elsewhere.example",
        "[elsewhere.example]",
        "[",
        ":8008",
    ],
)
def test_other_names_are_not(host: str) -> None:
    assert not is_answered(host, NAMES)


def test_a_name_led_to_an_open_service_neither_sees_nor_changes_anything(door: Door) -> None:
    """On 0.2 each of these was answered as if it came from the service's own page."""

    async def work(client: httpx.AsyncClient) -> None:
        text = (await put_in(client)).request.content
        stranger = {"host": "elsewhere.example:8008", "origin": "http://elsewhere.example:8008"}

        seen = await client.get("/api/events", headers=stranger)
        page = await client.get(f"/e/{EVENT}", headers=stranger | HTML)
        sent = await client.post("/api/events", content=text, headers=stranger | TOML)

        assert [seen.status_code, page.status_code, sent.status_code] == [421] * 3
        assert EVENT not in seen.text + page.text
        assert "--name" in page.json()["detail"]
        assert [e["id"] for e in (await client.get("/api/events")).json()] == [EVENT]
        assert (await client.get("/health", headers={"host": "10.0.0.7:8008"})).status_code == 200

    door(work)


def test_with_keys_a_service_answers_to_the_names_of_its_proxy(door: Door) -> None:
    door.settings = replace(door.settings, open=False)

    async def work(client: httpx.AsyncClient) -> int:
        return (await client.get("/about", headers={"host": "day.example"})).status_code

    assert door(work) == 200
