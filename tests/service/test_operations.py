"""What the operator sees, and what a log never says."""

from __future__ import annotations

import json
import logging
from dataclasses import replace

import httpx
import pytest

from service.asgi.request_log import JsonLines
from tests.app import EVENT, HTML, Door, put_in

KEY = {"authorization": "Bearer the operator's"}
SECRET = "the helper's back hurts"


@pytest.fixture
def kept(door: Door) -> Door:
    door.settings = replace(door.settings, open=False, operator_key="the operator's")
    return door


def test_anybody_sees_whether_it_is_well(kept: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        answer = await client.get("/health")

        assert answer.status_code == 200
        assert answer.json() == {
            "database": "answers",
            "running": 0,
            "waiting": 0,
            "oldest_wait_s": 0.0,
        }

    kept(work)


@pytest.mark.parametrize("path", ["/metrics", "/operator"])
def test_the_rest_is_the_operators(kept: Door, path: str) -> None:
    async def work(client: httpx.AsyncClient) -> list[int]:
        organiser = await put_in(client)
        assert organiser.status_code == 201
        mine = await client.get(path)
        wrong = await client.get(path, headers={"authorization": "Bearer the operator"})
        return [mine.status_code, wrong.status_code]

    assert kept(work) == [404, 404]
    kept.settings = replace(kept.settings, open=True, operator_key="")

    async def without_a_key(client: httpx.AsyncClient) -> int:
        return (await client.get(path, headers={"authorization": "Bearer "})).status_code

    assert kept(without_a_key) == 404


def test_the_operator_sees_what_waits_and_stops_it(kept: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        kept.solvers.hold()
        await put_in(client)
        client.headers.pop("authorization")
        wrong = await client.post("/operator/sign-in", data={"key": "a guess"}, headers=HTML)
        signed = await client.post("/operator/sign-in", data={"key": "the operator's"})
        page = await client.get("/operator", headers=HTML)
        figures = (await client.get("/metrics")).text

        assert wrong.status_code == 403
        assert "httponly" in signed.headers["set-cookie"].lower()
        assert f"<b>{EVENT}</b>" in page.text
        assert "noonfare_waiting 1" in figures
        assert 'route="/operator/sign-in",status="403"' in figures

        await client.post("/operator/stop", data={"event_id": EVENT, "lane": "1"})

        page = await client.get("/operator", headers=HTML)
        assert "plan; stopped" in " ".join(page.text.split())
        assert (
            'noonfare_solves_total{lane="plan",ended="stopped"} 1'
            in (await client.get("/metrics")).text
        )

    kept(work)


def test_a_log_has_routes_and_ids_and_no_words_or_keys(
    kept: Door, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, "noonfare")

    async def work(client: httpx.AsyncClient) -> str:
        await put_in(client)
        token = kept.services.links.make(EVENT, "helper", helper_id="asta")
        await client.get(f"/l/{token}")
        press = {"id": "press-0001", "kind": "note", "at": "2026-11-28T08:30:00Z", "note": SECRET}
        await client.post(f"/api/events/{EVENT}/diary", json=press)
        seen = await client.get(f"/places?where=-34.61234,19.04321&key={token}")
        assert len(seen.headers["x-request-id"]) == 12
        return token

    token = kept(work)

    lines = [JsonLines().format(record) for record in caplog.records]
    routes = [json.loads(line).get("route") for line in lines]
    assert "/l/{token}" in routes
    assert "/api/events/{name}/diary" in routes
    for secret in (SECRET, token, "34.61"):
        assert not any(secret in line for line in lines)
