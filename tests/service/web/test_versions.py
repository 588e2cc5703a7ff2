"""Versions: every plan is listed with what changed, any two are compared, any is gone back to."""

from __future__ import annotations

from datetime import timedelta

import httpx
import pytest

from events.table import changed
from tests.app import EVENT, HTML, NOON, Door

pytestmark = pytest.mark.slow


@pytest.fixture
def edited(ready: Door) -> Door:
    """Return a door to an event three days away with three plans: 1, 2 without a dish, 3."""
    ready.now = NOON - timedelta(days=3)

    async def edit(_: httpx.AsyncClient) -> None:
        events = ready.services.events
        for change in (lambda e: {"dishes": e.dishes[1:]}, lambda e: {"wanted_margin_min": 30}):
            stored = events.get(EVENT)
            events.change(
                EVENT, changed(stored.event, **change(stored.event)), etag=stored.fingerprint
            )

    ready(edit)
    return ready


def test_every_plan_is_listed_with_what_changed(edited: Door) -> None:
    async def work(client: httpx.AsyncClient) -> str:
        return (await client.get(f"/e/{EVENT}/versions", headers=HTML)).text

    page = edited(work)

    assert "First plan" in page
    assert "Bean stew removed" in page
    assert "20 → 30" in page
    assert page.index("Plan 3") < page.index("In use now") < page.index("Plan 2")


def test_any_two_plans_are_compared_though_one_has_dishes_that_the_other_lacks(
    edited: Door,
) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[str, str]:
        one = await client.get(f"/e/{EVENT}/compare?old=1&new=3", headers=HTML)
        other = await client.get(f"/e/{EVENT}/compare?old=3&new=1", headers=HTML)
        return one.text, other.text

    one, other = edited(work)

    assert "Bean stew removed" in one
    assert "Bean stew doesn’t fit" in one
    assert "Bean stew added" in other


def test_going_back_makes_a_new_version_and_loses_none(edited: Door) -> None:
    async def work(client: httpx.AsyncClient) -> httpx.Response:
        etag = edited.services.events.get(EVENT).fingerprint
        return await client.post(f"/e/{EVENT}/versions/1", data={"etag": etag}, headers=HTML)

    answer = edited(work)

    assert answer.status_code == 303

    async def after(client: httpx.AsyncClient) -> str:
        stored = edited.services.events.get(EVENT)
        assert stored.version == 4
        assert stored.event.dishes[0].id == "bean-stew"
        return (await client.get(f"/e/{EVENT}/versions", headers=HTML)).text

    page = edited(after)

    assert "Bean stew added" in page
    assert "Plan 3" in page
