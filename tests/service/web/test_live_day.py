"""The day as it runs: trouble in one press, a plan made anew, two organisers, the record."""

from __future__ import annotations

import re
from datetime import timedelta

import httpx
import pytest

from events.reading.write import write_event
from events.table import changed
from service.text.run_sheet import run_sheet_items
from tests.app import EVENT, HTML, NOON, Door, planned
from tests.conftest import sample_event, sample_plan

pytestmark = pytest.mark.slow


async def press(client: httpx.AsyncClient, **fields: object) -> None:
    body = {"id": f"press-{abs(hash(str(fields))):012d}", "at": "2026-11-28T08:30:00Z"} | fields
    answer = await client.post(f"/api/events/{EVENT}/diary", json=body)
    assert answer.status_code == 200, answer.text


def test_a_broken_mirror_is_one_press_and_nothing_changes_until_it_is_taken(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        before = await planned(client)
        told = await client.post(
            f"/e/{EVENT}/today", data={"kind": "out-of-action", "cooker_id": "mirror-1"}
        )
        assert told.status_code == 303
        where = told.headers["location"]
        page = await client.get(where)
        assert "Use this plan" in page.text
        assert "Bean stew" in page.text
        assert await planned(client) == before

        taken = await client.post(where)

        assert taken.status_code == 303
        after = await planned(client)
        assert after["replanned_at"] is not None
        assert not [
            p
            for p in after["placements"]
            if p["cooker_id"] == "mirror-1" and p["lifted_at"] > after["replanned_at"]
        ]
        jobs = await client.get(f"/e/{EVENT}/jobs/asta")
        assert "New plan" in jobs.text
        asta = re.search(
            r'name="kind" value="read-changes".*?name="plan" value="([^"]+)"', jobs.text, re.S
        )
        assert asta is not None

        read = {"kind": "read-changes", "helper_id": "asta", "plan": asta[1]}
        await client.post(f"/e/{EVENT}/diary", data=read)

        assert "New plan" not in (await client.get(f"/e/{EVENT}/jobs/asta")).text

    ready(work)


def test_the_second_of_two_organisers_sees_the_conflict_and_loses_nothing(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        await press(client, kind="cloud")
        one, two = [
            (await client.post(f"/api/events/{EVENT}/replans")).json()["number"] for _ in range(2)
        ]

        first = await client.post(f"/api/events/{EVENT}/replans/{one}/take")
        second = await client.post(f"/api/events/{EVENT}/replans/{two}/take")
        again = await client.post(f"/api/events/{EVENT}/replans/{one}/take")

        assert first.status_code == 200
        assert second.status_code == 412
        assert again.status_code == 200  # the same press twice is one
        page = await client.get(f"/e/{EVENT}/replan/{two}")
        assert "Another plan was taken" in page.text
        assert "Plan again" in page.text

    ready(work)


def test_a_plan_made_anew_outlives_a_restart(ready: Door) -> None:
    async def first(client: httpx.AsyncClient) -> str:
        made = (await client.post(f"/api/events/{EVENT}/replans")).json()
        await client.post(f"/api/events/{EVENT}/replans/{made['number']}/take")
        return str((await planned(client))["replanned_at"])

    async def second(client: httpx.AsyncClient) -> str:
        return str((await planned(client))["replanned_at"])

    assert ready(first) == ready(second) != "None"


def test_a_change_of_the_event_in_the_middle_of_its_day_keeps_what_has_begun(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        before = await planned(client)
        read = await client.get(f"/api/events/{EVENT}/file")
        mark = (await client.get(f"/api/events/{EVENT}")).headers["etag"]
        later = read.text.replace("13:30:00", "13:45:00")
        answer = await client.put(
            f"/api/events/{EVENT}",
            content=later,
            headers={"content-type": "application/toml", "if-match": mark},
        )
        assert answer.status_code == 200, answer.text

        after = await planned(client)

        stew = [p for p in before["placements"] if p["id"] == "bean-stew-1"]
        now = [p for p in after["placements"] if p["id"] == "bean-stew-1"]
        assert "bean-stew-1" in after["started_ids"]
        assert now[0]["loaded_at"] == stew[0]["loaded_at"]

    ready(work)


def test_the_temperature_record_names_what_was_too_cold(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        pot = {"placement_id": "rice-1", "cooker_id": "box-1", "helper_id": "bo"}
        await press(client, kind="probed", core_c=58.0, note="=back on the ring", **pot)

        page = await client.get(f"/e/{EVENT}/temperatures")
        text = (await client.get(f"/e/{EVENT}/temperatures.csv")).text

        assert "58 °C" in page.text
        assert "not yet" in page.text
        assert "Rice" in text
        assert "'=back on the ring" in text  # no spreadsheet takes it for a formula
        assert "Discard by" in page.text

    ready(work)


def test_own_figures_need_two_readings_and_then_are_kept(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        for core_c, at in ((50.0, "2026-11-28T07:45:00Z"), (75.0, "2026-11-28T08:15:00Z")):
            await press(client, kind="probed", core_c=core_c, placement_id="beetroot-1", at=at)
        page = await client.get(f"/e/{EVENT}/afterwards")
        assert "Keep as our own figures" in page.text

        await client.post(f"/e/{EVENT}/afterwards")

        page = await client.get(f"/e/{EVENT}/afterwards")
        assert "measured on the day, 2 readings" in page.text

    ready(work)


def test_pages_of_the_day_answer(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        for path in ("today", "now", "temperatures", "afterwards", "go"):
            page = await client.get(f"/e/{EVENT}/{path}", headers={"accept": "text/html"})
            assert page.status_code == 200, path
        assert "Beetroot" in (await client.get(f"/e/{EVENT}/now")).text
        told = (await client.get(f"/api/events/{EVENT}/today")).json()
        assert {p["placement_id"] for p in told["pots"]} >= {"bean-stew-1", "beetroot-1"}
        assert (await client.get(f"/api/events/{EVENT}/go")).json()["outcome"] in (
            "go",
            "fewer-dishes",
            "gas-day",
        )

    ready(work)


def test_an_edit_in_the_middle_of_the_day_takes_away_nothing_that_is_in_use(ready: Door) -> None:
    async def change(client: httpx.AsyncClient, **new: object) -> httpx.Response:
        kept = await client.get(f"/api/events/{EVENT}")
        event = changed(sample_event("harvest-lunch"), **new)
        return await client.put(
            f"/api/events/{EVENT}",
            content=write_event(event),
            headers={"content-type": "application/toml", "if-match": kept.headers["etag"]},
        )

    async def work(client: httpx.AsyncClient) -> None:
        before = await planned(client)
        cookers = sample_event("harvest-lunch").cookers

        refused = await change(client, cookers=tuple(c for c in cookers if c.id != "mirror-1"))

        assert refused.status_code == 422
        assert "out of action" in refused.text
        assert await planned(client) == before
        # Two changes, one upon the other: the day goes on from the plan that people follow.
        for title in ("Harvest lunch, late", "Harvest lunch, later"):
            assert (await change(client, title=title)).status_code == 200
        after = await planned(client)
        assert after["title"] == "Harvest lunch, later"
        assert after["replanned_at"] is not None
        assert "bean-stew-1" in after["started_ids"]

    ready(work)


def test_a_cloud_is_seen_on_every_page_while_it_lasts_and_one_press_ends_it(ready: Door) -> None:
    pages = ("", "/today", "/stations/box-1", "/jobs/asta", "/board", "/sheet")

    async def seen(client: httpx.AsyncClient) -> list[bool]:
        texts = [(await client.get(f"/e/{EVENT}{path}")).text for path in pages]
        return ["Cloud until about 11:30" in text for text in texts]

    async def work(client: httpx.AsyncClient) -> None:
        await client.post(f"/e/{EVENT}/today", data={"kind": "cloud", "minutes": "60"})
        assert all(await seen(client))
        ready.now += timedelta(minutes=61)
        assert not any(await seen(client))

        ready.now -= timedelta(minutes=41)
        assert all(await seen(client))
        sun = {"kind": "sun", "back": f"/e/{EVENT}/today"}
        assert (await client.post(f"/e/{EVENT}/diary", data=sun)).status_code == 303
        assert not any(await seen(client))

    ready(work)


def test_a_pot_out_of_a_broken_cooker_stays_in_sight_and_afterwards_knows_the_morning(
    ready: Door,
) -> None:
    plan = sample_plan("harvest-lunch")
    pot = next(
        p for p in plan.placements if p.loaded_at < NOON < p.done_at and p.cooker_id == "mirror-2"
    )
    food = sample_event("harvest-lunch").dish(pot.dish_id).name

    async def work(client: httpx.AsyncClient) -> None:
        broken = {"kind": "out-of-action", "cooker_id": pot.cooker_id}
        offer = (await client.post(f"/e/{EVENT}/today", data=broken)).headers["location"]
        ready.now += timedelta(minutes=2)
        for taken in (False, True):
            if taken:
                assert (await client.post(offer)).status_code == 303
            for path in ("today", "now", "jobs", "jobs/bo", "stations", "stations/box-1", "sheet"):
                text = (await client.get(f"/e/{EVENT}/{path}")).text
                assert "off the heat since 10:30" in text, path
        rows = (await client.get(f"/e/{EVENT}/afterwards")).text
        row = rows[rows.index(f'<th scope="row" class="food line">{food}') :]
        row = row[: row.index("</tr>")]
        assert "09:00" in row  # as the morning planned it, not as it was planned again
        assert "Off the heat at 10:30" in row

        thrown = {"kind": "discarded", "placement_id": pot.id}
        await client.post(f"/e/{EVENT}/diary", data=thrown)

        assert "off the heat since" not in (await client.get(f"/e/{EVENT}/today")).text
        assert "Thrown away" in (await client.get(f"/e/{EVENT}/afterwards")).text

    ready(work)


def test_a_look_is_asked_for_at_its_minute_and_decided_once(ready: Door) -> None:
    plan, event = sample_plan("harvest-lunch"), sample_event("harvest-lunch")
    rescue = min(plan.rescues, key=lambda r: abs(r.at - NOON))
    item = next(i for i in run_sheet_items(event, plan) if i.id == f"rescue-{rescue.placement_id}")
    pot = next(p for p in plan.placements if p.id == rescue.placement_id)

    async def pages(client: httpx.AsyncClient) -> list[str]:
        paths = (f"jobs/{item.helper_ids[0]}", f"stations/{pot.cooker_id}")
        return [(await client.get(f"/e/{EVENT}/{path}")).text for path in paths]

    async def work(client: httpx.AsyncClient) -> None:
        ready.now = rescue.at
        phone, station = await pages(client)
        form = re.search(r'<form class="acts".*?value="to-burner".*?</form>', station, re.DOTALL)
        assert form is not None
        fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form[0])) | {"kind": "done"}
        assert f'value="{fields["id"]}"' in phone  # one press, on whichever page
        sheet = (await client.get(f"/e/{EVENT}/sheet")).text
        assert item.how.split("?")[0].lower() in sheet.lower()

        said = await client.post(f"/e/{EVENT}/diary", data=fields | {"reading": "88"})

        assert said.status_code == 303
        phone, station = await pages(client)
        assert fields["id"] not in station
        entry = (await client.get(f"/api/events/{EVENT}/diary")).json()[-1]["stored"]["entry"]
        assert (entry["placement_id"], entry["core_c"]) == (pot.id, 88)

    ready(work)


def test_minutes_of_a_pot_that_has_not_begun_are_not_said_to_be_used(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        at_noon = (await client.get(f"/e/{EVENT}/temperatures", headers=HTML)).text
        ready.now = NOON - timedelta(days=1)
        day_before = (await client.get(f"/e/{EVENT}/temperatures", headers=HTML)).text

        assert "min at 5 to 60 °C are used" in at_noon
        assert "min at 5 to 60 °C go by the plan" in day_before
        assert "are used" not in day_before

    ready(work)
