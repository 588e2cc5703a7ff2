"""Once there is a plan, one is always shown: while the next is worked out, and where that fails."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from typing import Any

import httpx
import pytest

from events.errors import PlanBroken
from events.table import changed
from service.application import solver_jobs
from service.application.lanes import Lane
from tests.app import EVENT, HTML, NOON, Door, planned

pytestmark = pytest.mark.slow

PAGES = (
    *("", "/sheet", "/stations", "/stations/mirror-1", "/jobs", "/jobs/asta", "/today", "/now"),
    *("/board", "/plan/dishes", "/plan/site", "/plan/cookers", "/plan/check", "/go", "/paper"),
    *("/temperatures", "/afterwards", "/links", "/diary", "/what-if"),
)


@pytest.fixture
def before(ready: Door) -> Door:
    ready.now = NOON - timedelta(days=3)
    return ready


async def page(client: httpx.AsyncClient, path: str = "") -> str:
    answer = await client.get(f"/e/{EVENT}{path}", headers=HTML)
    assert answer.status_code == 200, (path, answer.text)
    return answer.text


def edit(door: Door, **values: object) -> None:
    stored = door.services.events.get(EVENT)
    door.services.events.change(EVENT, changed(stored.event, **values), etag=stored.fingerprint)


def test_the_line_above_says_the_step_the_time_and_how_to_stop(before: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        edit(before, title="One lunch")
        before.solvers.hold()
        edit(before, title="Another lunch")
        standing = before.solvers.standing()
        running = replace(standing[0], running_s=3.2, stage="timetable")
        before.solvers.standing = lambda: [running]  # type: ignore[method-assign]

        text = await page(client)

        assert "3 s so far." in text
        assert "Usually takes about" in text, "one of its plans was worked out here"
        assert re.findall(r'data-state="(done|now|later)"', text) == [
            "done",
            "done",
            "now",
            "later",
        ]
        assert f'action="/e/{EVENT}/plan-stop"' in text

    before(work)


def test_every_page_keeps_the_last_plan_while_the_next_is_worked_out(before: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        before.solvers.hold()
        stored = before.services.events.get(EVENT)
        edit(before, dishes=stored.event.dishes[1:], cookers=stored.event.cookers[1:])

        gone = stored.event.dishes[0].name
        day = await page(client)
        assert "Working out plan 2" in day
        assert "Stop, stay with plan 1" in day
        assert gone in day, "the plan that is shown is that of the version before, whole"
        for path in PAGES:
            text = await page(client, path)
            assert "Working out the" not in text, path
            if path not in ("/board", "/jobs/asta"):
                assert "Working out plan 2" in text, path

        before.solvers.release()
        assert "Working out" not in await page(client)

    before(work)


def test_a_newer_edit_stops_what_is_worked_out_for_older_ones(before: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        before.solvers.hold()
        for minutes in (21, 22, 23):
            edit(before, wanted_margin_min=minutes)
            before.services.analyses.season(EVENT)
        waiting = [s.order.lane for s in before.solvers.standing()]
        assert waiting == [Lane.PLAN, Lane.ADVICE]
        before.solvers.release()
        assert await planned(client)
        assert before.services.plans.in_force(EVENT).version == 4

    before(work)


def test_a_plan_that_is_stopped_leaves_the_last_one_and_can_be_asked_for_again(
    before: Door,
) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        before.solvers.hold()
        edit(before, wanted_margin_min=21)
        await client.post(f"/e/{EVENT}/plan-stop", headers=HTML)
        stopped = await page(client)
        assert "Plan 2 is not made." in stopped
        assert "Plan 1 is in use." in stopped

        await client.post(f"/e/{EVENT}/plan-retry", headers=HTML)
        assert "Working out plan 2" in await page(client)
        before.solvers.release()
        assert before.services.plans.in_force(EVENT).version == 2

    before(work)


def test_a_plan_that_fails_leaves_the_last_one_and_says_what_to_try(
    before: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(_: Any) -> Any:
        raise PlanBroken(["a rule of ours"])

    async def work(client: httpx.AsyncClient) -> None:
        monkeypatch.setattr(solver_jobs, "make_plan", broken)
        edit(before, wanted_margin_min=21)
        day = await page(client)
        assert "Plan 2 failed. This is our fault, not yours." in day
        assert "a rule of ours" in day
        assert "Plan 1 is in use." in day
        monkeypatch.undo()

        etag = re.findall(r'name="etag" value="(\w+)"', day)[0]
        undone = await client.post(f"/e/{EVENT}/undo", data={"etag": etag}, headers=HTML)
        assert undone.status_code == 303
        assert "failed" not in await page(client)

    before(work)
