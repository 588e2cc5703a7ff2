"""The rota's pages: everybody's, a group's with now and next, a stop's; and none without groups."""

from __future__ import annotations

from datetime import datetime, timedelta

import httpx

from events.reading.samples import sample_text
from events.table import changed
from service.text import rota as words
from solver.programme import RotaPlan
from tests.app import EVENT, HTML, Door, put_in
from tests.conftest import sample_event, sample_plan

SCHOOL = "lakeside-school-cooking-with-the-sun-2027-02-10"


def pages(door: Door, *paths: str) -> list[httpx.Response]:
    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        await put_in(client, sample_text("school-rounds"))
        return [await client.get(path, headers=HTML) for path in paths]

    return door(work)


def test_the_rota_shows_every_group_and_stop(door: Door) -> None:
    event = sample_event("school-rounds")

    (page,) = pages(door, f"/e/{SCHOOL}/rota")

    assert page.status_code == 200
    for name in (*(g.name for g in event.groups), *(s.name for s in event.stops)):
        assert name in page.text
    assert "Mrs Achieng" in page.text
    assert words.OUTSIDE in page.text


def test_a_groups_page_says_where_it_is_now_and_next_without_its_adult(door: Door) -> None:
    event, plan = sample_event("school-rounds"), sample_plan("school-rounds")
    assert plan.rota is not None
    first, second, *_ = (v for v in plan.rota.visits if v.group_id == "red")
    door.now = first.at + timedelta(minutes=3)

    (page,) = pages(door, f"/e/{SCHOOL}/rota/group/red")

    now, later = page.text.split("<h2>Then</h2>")
    assert "Now, until" in now
    assert event.stop(first.stop_id).name in now
    assert event.stop(second.stop_id).name in later
    assert "Achieng" not in page.text


def test_a_stop_shows_who_comes_and_who_is_with_them(door: Door) -> None:
    (page,) = pages(door, f"/e/{SCHOOL}/rota/stop/build-stop")

    assert "Fold a panel from card and foil." in page.text
    assert "8 people, with Mrs Achieng" in page.text


def test_without_groups_there_is_no_rota_no_way_to_it_and_it_says_where_they_are_made(
    ready: Door,
) -> None:
    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        paths = ("", "/rota", "/rota/group/red", "/rota/stop/wall")
        return [await client.get(f"/e/{EVENT}{p}", headers=HTML) for p in paths]

    day, *pages = ready(work)

    for page in pages:
        assert page.status_code == 404
        assert "No groups go round on this day" in page.text
        assert f'href="/e/{EVENT}/plan/rota"' in page.text
        assert "have access" not in page.text
    assert "/rota" not in day.text


def test_a_rota_that_is_refused_says_what_would_help() -> None:
    rota = RotaPlan(visits=(), pauses=(), levels=(), helps=("longer-hours", "no-pause"))

    sentence = words.refused(rota)

    assert sentence == (
        "No rota was found in these hours. "
        "What would help: half an hour more for every group and no pause."
    )


def test_the_api_returns_the_rota(door: Door) -> None:
    plan = sample_plan("school-rounds")

    (answer,) = pages(door, f"/api/events/{SCHOOL}/rota")

    assert RotaPlan.model_validate(answer.json()) == plan.rota
    assert isinstance(datetime.fromisoformat(answer.json()["visits"][0]["at"]), datetime)


def test_a_guide_gets_from_a_stop_to_what_is_said_of_its_cookers_and_a_group_does_not(
    door: Door,
) -> None:
    stop, group = pages(door, f"/e/{SCHOOL}/rota/stop/mirror-stop", f"/e/{SCHOOL}/rota/group/red")

    assert f'href="/e/{SCHOOL}/show/mirror"' in stop.text
    assert "/show/" not in group.text


def test_an_adult_who_is_a_helper_is_said_by_name() -> None:
    event = sample_event("school-rounds")
    group = changed(event.groups[0], adult="akinyi")

    assert words.who_goes(event, group) == "8 people, with Akinyi"
    assert words.who_goes(event, event.groups[1]) == "8 people, with Mr Oduor"
