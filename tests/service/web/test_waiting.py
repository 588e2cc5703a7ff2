"""What takes a while: the page says so and looks again by itself until the answer is there."""

from __future__ import annotations

from dataclasses import replace

import httpx
import pytest

from events.table import changed
from tests.app import EVENT, HTML, Door, planned, put_in
from tests.conftest import sample_event

pytestmark = pytest.mark.slow

LOOKS_AGAIN = 'data-again="2"'


def test_a_plan_that_is_still_computed_is_waited_for(door: Door) -> None:
    door.solvers.hold()

    async def work(client: httpx.AsyncClient) -> None:
        await put_in(client)
        answer = await client.get(f"/api/events/{EVENT}/plan")
        page = await client.get(f"/e/{EVENT}", headers=HTML)
        assert (answer.status_code, answer.json()["state"]) == (202, "asked")
        assert LOOKS_AGAIN in page.text

        door.solvers.release()

        assert await planned(client)
        assert LOOKS_AGAIN not in (await client.get(f"/e/{EVENT}", headers=HTML)).text

    door(work)


@pytest.mark.parametrize(
    ("path", "says", "shows"),
    [
        pytest.param("year", "Working out the year", "Week of", marks=pytest.mark.slow),
        ("what-if?later=30", "This other day is being", "As it would be"),
    ],
)
def test_a_long_answer_is_waited_for_beside_the_page(
    ready: Door, path: str, says: str, shows: str
) -> None:
    ready.settings = replace(ready.settings, page_wait_s=0.0)

    async def work(client: httpx.AsyncClient) -> None:
        url = f"/e/{EVENT}/{path}"
        ready.solvers.hold()
        page = await client.get(url)
        assert says in page.text
        assert LOOKS_AGAIN in page.text

        ready.solvers.release()
        ready.services = replace(ready.services, page_wait_s=None)

        page = await client.get(url)
        assert shows in page.text
        assert says not in page.text

    ready(work)


def test_an_event_stored_under_laxer_rules_says_what_to_mend(door: Door) -> None:
    event = sample_event("harvest-lunch")
    raw = tuple(changed(d, kidney_beans="raw") if d.id == "bean-stew" else d for d in event.dishes)

    async def work(client: httpx.AsyncClient) -> None:
        name = door.services.events.put_in(changed(event, dishes=raw)).id

        page = await client.get(f"/e/{name}", headers=HTML)

        assert "The food rules ask for more" in page.text
        assert "use tins" in page.text
        assert "our fault" not in page.text
        answer = await client.get(f"/api/events/{name}/plan")
        assert answer.status_code == 422
        assert answer.json()["faults"][0]["kind"] == "beans-boil"

    door(work)
