"""Stored plans: one that an earlier program stored, and this one can't read, locks no page."""

from __future__ import annotations

import json
import logging
from functools import partial

import httpx
import pytest
import sqlalchemy as sa

from tests.app import EVENT, HTML, Door, planned, put_in, with_sample

pytestmark = pytest.mark.slow

CONTEST = "twelve-pots-and-one-sun-2027-06-19"
OLD = '{"placements": "as they were called once"}'


def spoil(door: Door, table: str, body: str = OLD) -> None:
    """Put plans in the database as no program of today writes them."""
    engine = sa.create_engine(door.settings.url())
    with engine.begin() as db:
        db.execute(sa.text(f"UPDATE {table} SET body = :body"), {"body": body})
    engine.dispose()


def without_a_figure(plan: dict[str, object]) -> str:
    """Return a plan that warns as it did before the warning said when food is thrown away."""
    warned = {"kind": "warm-long", "dish_ids": ["rice"]}
    figures = {"batch": 1, "batches": 1, "warm_min": 90, "limit_min": 60}
    return json.dumps({**plan, "warnings": [{**warned, "figures": figures}]})


async def pages(client: httpx.AsyncClient) -> list[int]:
    paths = ("", "/sheet", "/jobs", "/today", "/plan/check", "/diary", "/paper.pdf")
    return [(await client.get(f"/e/{EVENT}{p}", headers=HTML)).status_code for p in paths]


def test_a_plan_that_cannot_be_read_is_made_anew(
    ready: Door, caplog: pytest.LogCaptureFixture
) -> None:
    spoil(ready, "plan")

    async def work(client: httpx.AsyncClient) -> None:
        with caplog.at_level(logging.WARNING, "noonfare"):
            assert (await client.get(f"/e/{EVENT}", headers=HTML)).status_code == 200
        assert (await planned(client))["placements"]
        assert set(await pages(client)) == {200}

    ready(work)

    assert [r.getMessage() for r in caplog.records if "can't be read" in r.getMessage()]


def test_a_plan_whose_warning_cannot_be_said_is_made_anew(ready: Door) -> None:
    before = ready(planned)
    spoil(ready, "plan", without_a_figure(before))

    async def work(client: httpx.AsyncClient) -> None:
        assert set(await pages(client)) == {200}
        assert await planned(client) == before

    ready(work)


def test_a_replan_in_force_that_cannot_be_read_goes_out_of_force(
    ready: Door, caplog: pytest.LogCaptureFixture
) -> None:
    async def replanned(client: httpx.AsyncClient) -> None:
        offer = await client.post(f"/api/events/{EVENT}/replans")
        taken = await client.post(f"/api/events/{EVENT}/replans/1/take")
        assert (offer.status_code, taken.status_code) == (201, 200), offer.text

    async def work(client: httpx.AsyncClient) -> None:
        with caplog.at_level(logging.WARNING, "noonfare"):
            assert (await client.get(f"/e/{EVENT}", headers=HTML)).status_code == 200
        assert (await planned(client))["replanned_at"] is None
        assert set(await pages(client)) == {200}
        assert (await client.get(f"/e/{EVENT}/replan/1", headers=HTML)).status_code == 404
        assert (await client.post(f"/e/{EVENT}/replan/1", headers=HTML)).status_code == 404

    ready(replanned)
    spoil(ready, "replan")
    ready(work)

    assert [r.getMessage() for r in caplog.records if "re-plan 1, in force" in r.getMessage()]


def test_it_is_asked_for_once_however_many_notice(ready: Door) -> None:
    spoil(ready, "plan")

    async def work(client: httpx.AsyncClient) -> None:
        ready.solvers.hold()
        for _ in range(3):
            page = await client.get(f"/e/{EVENT}", headers=HTML)
            assert "Working out the plan" in page.text
        assert ready.solvers.waiting == 1
        ready.solvers.release()
        assert (await planned(client))["placements"]

    ready(work)


def test_a_version_before_that_cannot_be_read_is_not_compared_with(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        etag = (await client.get(f"/api/events/{EVENT}")).headers["etag"]
        form = {"etag": etag.strip('"'), "title": "Another name"}
        assert (await client.post(f"/e/{EVENT}/plan/site", data=form)).status_code == 303
        spoil(ready, "plan")
        assert (await client.get(f"/e/{EVENT}/compare", headers=HTML)).status_code == 404

    ready(work)


def test_a_plan_that_nobody_works_at_is_asked_for_again(door: Door) -> None:
    """Its service was killed, or its result found the database locked."""

    async def work(client: httpx.AsyncClient) -> list[int]:
        door.solvers.hold()
        await put_in(client)
        plans, waiting = door.services.plans, []
        plans.ask_missed()
        plans.ask_missed()
        waiting.append(door.solvers.waiting)  # it waits: nothing is missed
        door.solvers._held = []  # lost
        for _ in range(2):
            plans.ask_missed()
            waiting.append(door.solvers.waiting)
        door.solvers.release()
        assert await planned(client)
        return waiting

    assert door(work) == [1, 0, 1]


def test_a_contests_plan_without_what_is_drawn_of_its_pots_is_made_anew(door: Door) -> None:
    """Tastings kept before the middle of each pot was drawn over time have none."""
    contest = with_sample(door, "twelve-pots")
    before = contest(partial(planned, name=CONTEST))
    tastings = [
        {key: value for key, value in tasting.items() if key != "middle_c"}
        for tasting in before["contest"]["tastings"]
    ]
    assert tastings
    old = {**before, "contest": {**before["contest"], "tastings": tastings}}
    spoil(contest, "plan", json.dumps(old))

    async def answers(client: httpx.AsyncClient) -> set[int]:
        paths = ("", "/contest", "/jobs", "/today", "/plan/check", "/paper.pdf")
        pages = [await client.get(f"/e/{CONTEST}{p}", headers=HTML) for p in paths]
        return {page.status_code for page in pages}

    async def work(client: httpx.AsyncClient) -> None:
        contest.solvers.hold()
        assert await answers(client) <= {200, 404}, "it is asked for and not there yet"
        contest.solvers.release()
        assert await answers(client) == {200}
        assert await planned(client, CONTEST) == before

    contest(work)
