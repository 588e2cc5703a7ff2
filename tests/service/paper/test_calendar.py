"""Calendars: valid, in UTC, with alarms and figures; one who subscribes always has the plan."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import httpx
import pytest
from icalendar import Calendar

from service.application.calendar_edition import CalendarEdition, work_of
from service.paper.calendar import calendar
from service.text import turn_orders
from service.text.run_sheet import items_of_helper, run_sheet_items
from solver.plan import Plan
from tests.app import EVENT, HTML, Door, planned, put_in
from tests.calendars import Subscriber, followed, lines_of
from tests.conftest import SAMPLES, sample_event, sample_plan

pytestmark = pytest.mark.slow


def test_the_calendar_reads_back_in_utc_with_place_alarms_and_how_far_to_turn() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")

    data = calendar(event, plan, name="x")

    read = Calendar.from_ical(data)
    entries = {(e["dtstart"].dt, str(e["summary"])): e for e in read.walk("VEVENT")}
    for item in run_sheet_items(event, plan):
        entry = entries[item.at.astimezone(UTC), f"{item.title} {item.food}".strip()]
        for turn in item.turns:
            assert turn_orders.turn_order(event, turn).shadow_short in str(
                entry["description"]
            ) or turn_orders.first_aim(turn) in str(entry["description"])
        if item.cookers:
            assert event.station(item.cookers[0].station or "").name in str(entry["location"])
        rings = item.kind not in ("serve", "set-up", "pack-down", "rescue")
        assert len(entry.walk("VALARM")) == rings
    assert data == calendar(event, plan, name="x")
    assert read["method"] == "PUBLISH"


@pytest.mark.parametrize("name", SAMPLES)
def test_identities_are_unique_and_hold_no_time(name: str) -> None:
    event, plan = sample_event(name), sample_plan(name)

    for helper_id in (None, *(h.id for h in event.helpers)):
        data = calendar(event, plan, name="x", helper_id=helper_id)
        entries = Calendar.from_ical(data).walk("VEVENT")
        uids = [str(e["uid"]) for e in entries]
        assert len(uids) == len(set(uids)) > 0
        clocks = {e["dtstart"].dt.astimezone(event.zone).strftime("%H%M") for e in entries}
        assert not [u for u in uids if any(clock in u for clock in clocks)]
        assert all(f".{helper_id or 'all'}@x.noonfare" in uid for uid in uids)


def test_what_is_gone_is_cancelled_and_stamps_are_the_editions() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    work = replace(work_of(plan, "bo")[0], key="stir-soup-1")
    made_at = datetime(2026, 11, 20, 9, tzinfo=UTC)

    edition = CalendarEdition(number=7, made_at=made_at, earlier=(work,))
    data = calendar(event, plan, name="x", helper_id="bo", edition=edition)

    entries = {str(e["uid"]): e for e in Calendar.from_ical(data).walk("VEVENT")}
    gone = entries["stir-soup-1.bo@x.noonfare"]
    assert str(gone["status"]) == "CANCELLED"
    assert not gone.walk("VALARM")
    assert {e["sequence"] for e in entries.values()} == {7}
    assert {e["dtstamp"].dt for e in entries.values()} == {made_at}


def test_who_subscribes_has_the_plan_after_every_change(door: Door) -> None:
    door.settings = replace(door.settings, open=False)

    assert "4 changes" in door(lambda client: followed(door, client, 4))


def test_the_address_opens_one_calendar_and_ends_with_its_link(door: Door) -> None:
    door.settings = replace(door.settings, open=False)

    async def work(client: httpx.AsyncClient) -> tuple[httpx.Response, list[int], int, str]:
        await put_in(client)
        await client.post(f"/e/{EVENT}/links", data={"role": "helper:asta"}, headers=HTML)
        page = (await client.get(f"/e/{EVENT}/jobs/asta/calendar", headers=HTML)).text
        path = re.findall(r"http://here(/calendar/[^<]+)", page)[0]
        organiser = client.headers.pop("authorization")
        mine = await client.get(path)
        others = [path.replace("/asta/", "/bo/"), path.replace(path[-12:-4], "00000000")]
        wrong = [(await client.get(other)).status_code for other in others]
        client.headers["authorization"] = organiser
        links = (await client.get(f"/e/{EVENT}/links", headers=HTML)).text
        for digest in re.findall(r'name="digest" value="([0-9a-f]{64})"[^>]*Asta', links):
            await client.post(f"/e/{EVENT}/links/revoke", data={"digest": digest})
        after = (await client.get(path)).status_code
        page = (await client.get(f"/e/{EVENT}/jobs/asta/calendar", headers=HTML)).text
        return mine, wrong, after, page

    mine, wrong, after, page = door(work)

    assert mine.headers["content-type"].startswith("text/calendar")
    assert "set-cookie" not in mine.headers
    assert wrong == [404, 404]
    assert after == 404
    assert "There is no link for Asta yet" in page


def test_a_helper_sees_no_other_helpers_address(door: Door) -> None:
    door.settings = replace(door.settings, open=False)

    async def work(client: httpx.AsyncClient) -> list[int]:
        await put_in(client)
        made = await client.post(f"/e/{EVENT}/links", data={"role": "helper:asta"}, headers=HTML)
        token = re.findall(r"/l/([\w-]+)", made.text)[0]
        client.headers.pop("authorization")
        await client.get(f"/l/{token}", headers=HTML)
        paths = ("asta", "bo")
        return [
            (await client.get(f"/e/{EVENT}/jobs/{h}/calendar", headers=HTML)).status_code
            for h in paths
        ]

    assert door(work) == [200, 404]


def test_a_plan_made_anew_on_the_day_reaches_who_subscribed(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[int]:
        await put_in(client)
        subscribers = {h.id: Subscriber() for h in sample_event("harvest-lunch").helpers}
        numbers = []

        async def look() -> None:
            plan = Plan.model_validate(await planned(client))
            for helper_id, subscriber in subscribers.items():
                feed = await client.get(f"/e/{EVENT}/day.ics?helper={helper_id}")
                subscriber.take(feed.content)
                items = items_of_helper(sample_event("harvest-lunch"), plan, helper_id)
                work = [item for item in items if item.kind != "rescue"]
                assert subscriber.lines() == lines_of(work)
            numbers.append(int(next(iter(subscriber.entries.values()))["sequence"]))

        await look()
        door.now += timedelta(minutes=3)
        out = {"id": "press-0001", "kind": "out-of-action", "cooker_id": "mirror-1"}
        await client.post(f"/api/events/{EVENT}/diary", json={**out, "at": door.now.isoformat()})
        offer = (await client.post(f"/api/events/{EVENT}/replans")).json()
        await look()
        door.now += timedelta(minutes=1)
        await client.post(f"/api/events/{EVENT}/replans/{offer['number']}/take")
        await look()
        return numbers

    numbers = door(work)

    assert numbers == sorted(numbers)
    assert numbers[0] < numbers[-1]


def test_there_is_no_calendar_of_nobody(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[int]:
        await put_in(client)
        strangers = ("nobody", "☃", "a\r\nx-set: 1", 'a"b')
        asked = [
            await client.get(f"/e/{EVENT}/day.ics", params={"helper": helper_id})
            for helper_id in strangers
        ]
        return [answer.status_code for answer in asked]

    assert door(work) == [404] * 4
