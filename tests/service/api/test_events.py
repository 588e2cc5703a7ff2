"""The JSON door: events in, windows, estimates, plans and turns out; refusals in one shape."""

from __future__ import annotations

import json
import tomllib
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import jsonschema
import pytest

from solver.plan import Plan
from tests.app import EVENT, HARVEST, NOON, TOML, Door, planned, put_in
from tests.conftest import replaced, sample_event, sample_plan


def test_an_event_goes_in_and_its_checked_plan_comes_out(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> Any:
        made = await put_in(client)
        assert made.status_code == 201
        assert made.headers["location"] == f"/api/events/{EVENT}"
        return made.json(), await planned(client)

    entry, plan = door(work)

    assert entry["event_id"] == plan["event_id"]
    assert plan == sample_plan("harvest-lunch").model_dump(mode="json")
    jsonschema.validate(plan, Plan.model_json_schema())


def test_window_estimates_event_and_file_are_there(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> Any:
        await put_in(client)
        return [
            (await client.get(f"/api/events/{EVENT}{tail}"))
            for tail in ("", "/file", "/window", "/estimates")
        ]

    event, file, window, table = door(work)

    assert event.json() == sample_event("harvest-lunch").model_dump(mode="json")
    assert tomllib.loads(file.text)["title"] == "Harvest lunch"
    assert [w["cooker_id"] for w in window.json()][:2] == [None, "mirror-1"]
    assert {e["cooker_id"] for e in table.json()} >= {"mirror-1", "box-1", "panel-1"}
    assert all(e["refusal"] or e["expected_min"] or e["cautious_min"] is None for e in table.json())


def test_the_same_event_as_json_is_an_equal_event_of_its_own(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> Any:
        first = await put_in(client)
        table = json.loads(json.dumps(tomllib.loads(HARVEST), default=str))
        second = await client.post("/api/events", json=table)
        return first.json(), second.json(), (await client.get("/api/events")).json()

    first, second, listed = door(work)

    assert first["event_id"] == second["event_id"]
    assert [e["id"] for e in listed] == [first["id"], second["id"]]


def test_next_turns_are_those_of_the_plan_after_now(door: Door) -> None:
    at = NOON + timedelta(minutes=40)

    async def work(client: httpx.AsyncClient) -> Any:
        await put_in(client)
        await planned(client)
        by_clock = await client.get(f"/api/events/{EVENT}/turns")
        given = await client.get(f"/api/events/{EVENT}/turns", params={"now": at.isoformat()})
        mine = await client.get(f"/api/events/{EVENT}/turns?helper=asta&cooker=mirror-1")
        return by_clock.json(), given.json(), mine.json()

    by_clock, given, mine = door(work)

    plan = sample_plan("harvest-lunch")
    for answer, now in ((by_clock, NOON), (given, at)):
        expected = [t.id for t in plan.turns if t.at > now - timedelta(minutes=5)]
        assert [t["turn"]["id"] for t in answer["turns"]] == expected
        first = answer["turns"][0]
        assert first["in_min"] == pytest.approx(
            (datetime.fromisoformat(first["turn"]["at"]) - now).total_seconds() / 60, abs=0.1
        )
    assert mine["turns"]
    assert {(t["helper_id"], t["turn"]["cooker_id"]) for t in mine["turns"]} == {
        ("asta", "mirror-1")
    }


def test_a_change_needs_the_version_it_was_made_to(door: Door) -> None:
    later = replaced(HARVEST, ("from = 12:30:00", "from = 12:45:00"))

    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        tag = (await put_in(client)).headers["etag"]
        url = f"/api/events/{EVENT}"
        return [
            await client.put(url, content=later, headers=TOML),
            await client.put(url, content=later, headers=TOML | {"if-match": '"000000000000"'}),
            await client.put(url, content=later, headers=TOML | {"if-match": tag}),
            await client.get(url),
        ]

    missing, stale, done, read = door(work)

    assert (missing.status_code, stale.status_code, done.status_code) == (428, 412, 200)
    assert done.json()["version"] == 2
    assert read.json()["meals"][0]["start"] == "12:45:00"
    assert read.headers["etag"] == done.headers["etag"]


def test_nothing_accepted_is_lost_when_the_service_stops_before_the_plan(tmp_path: Path) -> None:
    stopped = Door(tmp_path)
    stopped.solvers.hold()

    made = stopped(put_in)
    again = Door(tmp_path)(planned)

    assert made.status_code == 201
    assert again["event_id"] == sample_plan("harvest-lunch").event_id


@pytest.mark.parametrize(
    ("body", "kind", "status", "said"),
    [
        ("", "application/toml", 422, "is empty"),
        ("hello", "application/toml", 422, "is not TOML"),
        ("[1]", "application/json", 422, "is not a JSON object"),
        ("{", "application/json", 422, "is not JSON"),
        ("\udcff".encode("utf-8", "surrogateescape"), "application/toml", 422, "UTF-8"),
        ("a" * 600_001, "application/toml", 413, "600000"),
        (HARVEST.replace("-34.6", "-99"), "application/toml", 422, "latitude_deg"),
        (HARVEST.replace("220", "nan"), "application/toml", 422, "altitude_m"),
    ],
)
def test_bad_input_is_a_problem_that_says_what_to_mend(
    door: Door, body: str | bytes, kind: str, status: int, said: str
) -> None:
    async def work(client: httpx.AsyncClient) -> Any:
        answer = await client.post("/api/events", content=body, headers={"content-type": kind})
        return answer, (await client.get("/api/events")).json()

    answer, listed = door(work)

    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert said in answer.text
    assert "Traceback" not in answer.text
    assert answer.json()["status"] == status
    assert listed == []


@pytest.mark.parametrize(
    ("url", "status"),
    [
        ("/api/events/no-such", 404),
        ("/api/events/no-such/plan", 404),
        ("/api/nowhere", 404),
        (f"/api/events/{EVENT}/turns?now=0", 422),
        (f"/api/events/{EVENT}/turns?now=2026-11-28T10:00:00", 422),
        (f"/api/events/{EVENT}/turns?now=yesterday", 422),
        (f"/api/events/{EVENT}/turns?helper=nobody", 404),
        (f"/api/events/{EVENT}/turns?cooker=nothing", 404),
    ],
)
def test_refusals_have_one_shape(door: Door, url: str, status: int) -> None:
    async def work(client: httpx.AsyncClient) -> httpx.Response:
        await put_in(client)
        return await client.get(url)

    answer = door(work)

    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert set(answer.json()) >= {"type", "title", "status", "detail"}


def test_a_form_from_another_site_is_refused(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> httpx.Response:
        headers = TOML | {"origin": "https://elsewhere.example"}
        return await client.post("/api/events", content=HARVEST, headers=headers)

    assert door(work).status_code == 403


def test_every_answer_carries_the_guarding_headers(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        return [await client.get(u) for u in ("/", "/api/events", "/static/style.css", "/nowhere")]

    for answer in door(work):
        assert "default-src 'none'" in answer.headers["content-security-policy"]
        assert answer.headers["referrer-policy"] == "same-origin"
        assert answer.headers["x-content-type-options"] == "nosniff"


def test_the_openapi_document_has_ranges_and_examples(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> Any:
        return (await client.get("/api/openapi.json")).json()

    document = door(work)

    text = json.dumps(document)
    assert {"/api/events", "/api/events/{name}/plan", "/api/events/{name}/turns"} <= set(
        document["paths"]
    )
    assert '"minimum": -90' in text
    assert "examples" in text
    assert "application/problem+json" in text
