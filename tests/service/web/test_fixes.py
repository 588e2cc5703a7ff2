"""What weighs most on the day's page: each press says what it brings once that was tried."""

from __future__ import annotations

import re

import httpx
import pytest

from events.reading.samples import sample_text
from tests.app import HTML, TOML, Door, fingerprint_of
from tests.conftest import replaced


async def put_in(client: httpx.AsyncClient) -> str:
    """Put in a day of high sun alone, with three problems, planned in half a second."""
    low = ("latitude_deg = 44.0", "latitude_deg = 44.0\nsun_min_deg = 20.0")
    text = replaced(sample_text("winter-refusal"), low)
    made = await client.post("/api/events", content=text, headers=TOML)
    return str(made.json()["id"])


async def part(client: httpx.AsyncClient, page: str) -> str:
    look = re.search(r'data-look="([^"]+)"', page)
    assert look is not None
    return (await client.get(look[1], headers=HTML)).text


async def all_tried(client: httpx.AsyncClient, name: str) -> str:
    text = (await client.get(f"/e/{name}", headers=HTML)).text
    while "data-look" in text:
        text = await part(client, text)
    return text


def test_the_days_page_asks_for_no_trial_and_its_part_for_one_at_a_time(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        name = await put_in(client)
        ready.solvers.hold()
        page = (await client.get(f"/e/{name}", headers=HTML)).text
        assert ready.solvers.waiting == 0
        assert page.count("not tried yet") == 4

        first = await part(client, page)
        again = await part(client, first)

        assert ready.solvers.waiting == 1
        assert "trying it…" in again
        ready.solvers.release()

    ready(work)


def test_a_change_is_offered_only_where_it_makes_something_better(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        name = await put_in(client)

        text = await all_tried(client, name)

        assert "none makes it better" in text
        brought = re.findall(r"(\d+) of 100, now (\d+)", text)
        assert brought
        assert all(int(after) > int(before) for after, before in brought)

    ready(work)


@pytest.mark.slow
def test_what_a_press_says_it_brings_is_what_it_brings(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        name = await put_in(client)
        text = await all_tried(client, name)
        value = re.search(r'name="fix" value="([^"]+)"', text)
        says = re.search(r"(\d+) of 100, now", text)
        assert value is not None
        assert says is not None
        form = {"etag": await fingerprint_of(client, name), "fix": value[1]}

        pressed = await client.post(f"/e/{name}/help", data=form)
        assert pressed.headers["location"] == f"/e/{name}#new"  # not from the menus again

        page = (await client.get(f"/e/{name}", headers=HTML)).text
        assert re.search(rf"<b>{says[1]}</b> of 100", page)

    ready(work)


def test_several_changes_are_one_new_version(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        name = await put_in(client)
        cookers = len((await client.get(f"/api/events/{name}")).json()["cookers"])
        page = (await client.get(f"/e/{name}", headers=HTML)).text
        together = re.search(r'class="done" name="fix" value="([^"]+)"', page)
        assert together is not None
        assert "," in together[1]
        form = {"etag": await fingerprint_of(client, name), "fix": together[1]}

        await client.post(f"/e/{name}/help", data=form)

        after = (await client.get(f"/api/events/{name}")).json()
        assert len(after["cookers"]) == cookers + 1  # two dishes want the same one
        versions = (await client.get(f"/e/{name}/versions", headers=HTML)).text
        assert "Plan 2" in versions
        assert "Plan 3" not in versions

    ready(work)


def test_the_press_for_several_changes_names_each_and_what_it_costs(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        name = await put_in(client)

        page = (await client.get(f"/e/{name}", headers=HTML)).text

        button = re.search(
            r'<button class="done" name="fix" value="([^"]+)">(.*?)</button>', page, re.S
        )
        assert button is not None
        does = re.findall(r'class="does">([^<]+)<i>: ([^<]+)</i>', button[2])
        assert len(does) == len(button[1].split(","))
        buys = dict(does)[next(d for d, _ in does if d.startswith("Bring one more cooker like"))]
        assert buys == "costs one more cooker to bring and to turn"

    ready(work)


def test_a_change_that_was_taken_back_is_offered_again_and_no_undo_of_the_undo(
    ready: Door,
) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        name = await put_in(client)
        page = (await client.get(f"/e/{name}", headers=HTML)).text
        value = re.search(r'name="fix" value="([^"]+)"', page)
        assert value is not None
        form = {"etag": await fingerprint_of(client, name), "fix": value[1]}
        await client.post(f"/e/{name}/help", data=form)
        assert "Undo it" in (await client.get(f"/e/{name}", headers=HTML)).text

        await client.post(f"/e/{name}/undo", data={"etag": await fingerprint_of(client, name)})

        day, check = [
            (await client.get(f"/e/{name}{path}", headers=HTML)).text
            for path in ("", "/plan/check")
        ]
        assert "Undo" not in day.replace("with Undo", "")
        assert "You took your last change back." in day
        assert "Undo the last change" not in check
        await client.post(f"/e/{name}/undo", data={"etag": await fingerprint_of(client, name)})
        assert "Undo it" in (await client.get(f"/e/{name}", headers=HTML)).text

    ready(work)


def test_stopped_trials_stay_stopped_until_somebody_goes_on(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        name = await put_in(client)
        ready.solvers.hold()
        page = (await client.get(f"/e/{name}", headers=HTML)).text
        await part(client, page)
        await client.post(f"/e/{name}/advice-stop")

        stopped = (await client.get(f"/e/{name}", headers=HTML)).text
        assert "You stopped the trials." in stopped
        assert "data-look" not in stopped
        assert ready.solvers.waiting == 0
        await client.post(f"/e/{name}/fixes")

        assert ready.solvers.waiting == 1
        ready.solvers.release()

    ready(work)


def test_a_page_of_another_plan_starts_no_trial(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        name = await put_in(client)
        ready.solvers.hold()

        stale = await client.get(f"/e/{name}/fixes?revision=of-another-plan", headers=HTML)

        assert (stale.status_code, stale.text) == (204, "")
        assert ready.solvers.waiting == 0

    ready(work)


def test_what_would_help_counts_its_trials_and_knows_those_of_the_day(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        name = await put_in(client)
        ready.solvers.hold()
        begun = (await client.get(f"/e/{name}/help", headers=HTML)).text
        again = (await client.get(f"/e/{name}/help", headers=HTML)).text
        assert ready.solvers.waiting == 1  # one at a time, whoever looks
        for page in (begun, again):
            assert re.search(r"0 of about \d+ tried", page)
            assert f'data-look="/e/{name}/help"' in page

        ready.solvers.release()

        tried = (await client.get(f"/e/{name}/help", headers=HTML)).text
        count = re.search(r"(\d+) of about (\d+) tried", tried)
        assert count is not None
        assert 0 < int(count[1]) < int(count[2])

    ready(work)


def test_trials_of_what_would_help_stay_stopped_until_somebody_goes_on(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        name = await put_in(client)
        ready.solvers.hold()
        await client.get(f"/e/{name}/help", headers=HTML)
        await client.post(f"/e/{name}/advice-stop")

        stopped = (await client.get(f"/e/{name}/help", headers=HTML)).text
        assert "You stopped the trials" in stopped
        assert ready.solvers.waiting == 0
        await client.post(f"/e/{name}/help/go-on")

        assert ready.solvers.waiting == 1
        ready.solvers.release()

    ready(work)


def test_while_a_change_is_worked_out_nothing_is_said_of_the_old_plans_trials(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        name = await put_in(client)
        text = await all_tried(client, name)
        assert "none makes it better" in text
        value = re.search(r'name="fix" value="([^"]+)"', text)
        assert value is not None
        form = {"etag": await fingerprint_of(client, name), "fix": value[1]}
        ready.solvers.hold()

        await client.post(f"/e/{name}/help", data=form)

        page = (await client.get(f"/e/{name}", headers=HTML)).text
        assert "Working out your change…" in page
        assert "none makes it better" not in page
        helps = (await client.get(f"/e/{name}/help", headers=HTML)).text
        assert "Working out your change…" in helps
        assert "None makes it clearly better" not in helps
        ready.solvers.release()

    ready(work)
