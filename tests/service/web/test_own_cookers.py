"""Own cookers and event files go out and come back; whose own cookers are."""

from __future__ import annotations

from dataclasses import replace

import httpx
import tomli_w

from events.table import changed
from service.forms.cooker_file import own_text
from tests.app import EVENT, Door, fingerprint_of
from tests.conftest import sample_event
from tests.service.web.new_day import FIRST, event


def test_own_cookers_go_out_and_come_back_equal(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        cooker = (await event(client))["cookers"][0]
        text = tomli_w.dumps({"cooker": [{k: v for k, v in cooker.items() if v is not None}]})
        wrong = await client.post("/own", data={"text": "[[cooker]]\nid = 'x'\n"})
        taken = await client.post("/own", data={"text": text})
        out = (await client.get("/own.toml")).text
        again = await client.post("/own", data={"text": out})

        assert wrong.status_code == 422
        assert taken.status_code == again.status_code == 303
        assert (await client.get("/own.toml")).text == out
        assert "Mirror 1" in (await client.get("/new")).text

    ready(work)


def test_an_event_file_goes_out_and_comes_back_equal(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        mark = await fingerprint_of(client)
        text = (await client.get(f"/api/events/{EVENT}/file")).text
        later = text.replace('title = "Harvest lunch"', 'title = "Late harvest"')
        ready.solvers.hold()  # its plan is not looked at

        answer = await client.post(
            f"/e/{EVENT}/file", data={"etag": mark}, files={"file": ("e.toml", later)}
        )

        assert answer.status_code == 303, answer.text
        assert (await event(client))["title"] == "Late harvest"
        assert (await client.get(f"/api/events/{EVENT}/file")).text == later

    ready(work)


def test_own_cookers_are_for_organisers(door: Door) -> None:
    door.settings = replace(door.settings, open=False)

    async def work(client: httpx.AsyncClient) -> None:
        assert (await client.get("/own")).status_code == 404
        assert (await client.post("/own", data={"text": "x"})).status_code == 404
        made = await client.post("/new", data=FIRST)
        await client.post(made.headers["location"])
        assert (await client.get("/own")).status_code == 200

    door(work)


def test_nobody_reads_or_replaces_another_organisers_own_cookers(door: Door) -> None:
    """On 0.2 a stranger with an event of their own replaced the house's."""
    door.settings = replace(door.settings, open=False, operator_key="the operator's")
    box = own_text([changed(sample_event("harvest-lunch").cookers[0], id="ours", name="Ours")])

    async def work(client: httpx.AsyncClient) -> None:
        async def organiser(people: str) -> None:
            client.cookies.clear()
            made = await client.post("/new", data={**FIRST, "people": people})
            await client.post(made.headers["location"])

        await organiser("20")
        assert (await client.post("/own", data={"text": box})).status_code == 303
        first = httpx.Cookies(client.cookies)
        await organiser("24")
        assert "Ours" not in (await client.get("/own")).text
        await client.post("/own", data={"text": box.replace("Ours", "A stranger's")})
        client.cookies.clear()
        key = {"authorization": "Bearer the operator's"}
        assert "stranger" not in (await client.get("/own", headers=key)).text
        house = box.replace("Ours", "The house's").replace('"ours"', '"house"')
        await client.post("/own", data={"text": house}, headers=key)

        client.cookies = first
        mine = (await client.get("/own")).text
        assert "Ours" in mine
        assert "The house&#39;s" in mine
        assert "stranger" not in mine

    door(work)
