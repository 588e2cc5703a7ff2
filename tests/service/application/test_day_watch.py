"""A running day watched: looked at once for each state, offered only what wins, never taken."""

from __future__ import annotations

from datetime import timedelta

import httpx
import pytest

from tests.app import EVENT, Door, planned

pytestmark = pytest.mark.slow

CLOUD = {"kind": "cloud", "minutes": "1440"}


def test_a_state_is_looked_at_once_and_again_after_a_press_that_matters(ready: Door) -> None:
    async def work(_: httpx.AsyncClient) -> None:
        ready.solvers.hold()
        watch = ready.services.day_watch

        watch.look(EVENT)
        watch.look(EVENT)
        assert ready.solvers.waiting == 1  # one at a time

        ready.solvers.release()
        ready.solvers.hold()
        watch.look(EVENT)
        assert ready.solvers.waiting == 0  # nothing has changed
        ready.now += timedelta(minutes=5)
        watch.look(EVENT)
        assert ready.solvers.waiting == 1  # but time has passed

    ready(work)


def test_what_somebody_has_only_read_is_no_reason_to_look_again(ready: Door) -> None:
    async def pressed(client: httpx.AsyncClient, kind: str) -> int:
        await client.post(f"/e/{EVENT}/diary", data={"kind": kind, "helper_id": "bo"})
        ready.services.day_watch.look(EVENT)
        return ready.solvers.waiting

    async def work(client: httpx.AsyncClient) -> None:
        ready.services.day_watch.look(EVENT)
        ready.solvers.hold()

        assert await pressed(client, "seen") == 0
        assert await pressed(client, "late") == 1

    ready(work)


def test_another_day_is_not_looked_at(ready: Door) -> None:
    async def work(_: httpx.AsyncClient) -> None:
        ready.now -= timedelta(days=1)
        ready.solvers.hold()

        ready.services.day_watch.look(EVENT)

        assert ready.solvers.waiting == 0

    ready(work)


def test_a_cloud_brings_a_suggestion_and_the_sun_offers_the_moves_back(ready: Door) -> None:
    async def now(client: httpx.AsyncClient) -> str:
        return (await client.get(f"/e/{EVENT}/today")).text

    async def work(client: httpx.AsyncClient) -> None:
        before = await planned(client)
        await client.post(f"/e/{EVENT}/today", data=CLOUD)
        page = await now(client)
        assert "of 100 by now" in page
        offer = (await client.get(f"/api/events/{EVENT}/today")).json()["offer"]
        assert offer is not None
        assert await planned(client) == before  # offered, not taken
        assert f"/replan/{offer}" in (await client.get(f"/e/{EVENT}")).text
        assert f"/replan/{offer}" not in (await client.get(f"/e/{EVENT}/jobs/bo")).text

        await client.post(f"/e/{EVENT}/replan/{offer}")
        ready.now += timedelta(minutes=12)
        await client.post(f"/e/{EVENT}/diary", data={"kind": "sun"})

        assert "The sun is back, and the plan was made for the cloud." in await now(client)
        back = (await client.get(f"/api/events/{EVENT}/today")).json()["offer"]
        shown = (await client.get(f"/e/{EVENT}/replan/{back}")).text
        assert "Back to the sun" in shown
        await client.post(f"/e/{EVENT}/replan/{back}/leave")
        assert f"/replan/{back}" not in await now(client)

    ready(work)


def test_a_plan_that_wins_nothing_is_not_offered(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        made = (await client.post(f"/api/events/{EVENT}/replans")).json()
        assert made["plan"]["gains"] == []

        page = (await client.get(f"/e/{EVENT}/replan/{made['number']}")).text

        assert "Keep the plan: nothing better was found." in page
        assert "Looked at 10:30." in page
        assert "Use this plan" not in page

    ready(work)


def test_now_says_when_nothing_better_was_found(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        ready.now -= timedelta(hours=2)  # 08:30: a cloud lowers the chances, and no move helps
        await client.post(f"/e/{EVENT}/today", data=CLOUD)

        page = (await client.get(f"/e/{EVENT}/today")).text

        offer = (await client.get(f"/api/events/{EVENT}/today")).json()["offer"]
        nothing = "Keep the plan: nothing better was found." in page
        assert nothing == (offer is None)
        assert ("Looked at 08:30." in page) == nothing

    ready(work)
