"""Pages: what they say is what the plan says; readable without scripts; small; markup is text."""

from __future__ import annotations

import gzip
import html
import re
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import httpx
import pytest

from events.reading.event_file import read_event
from events.reading.samples import sample_text
from events.reading.write import write_event
from events.site import Weather
from events.table import changed
from service.text import turn_orders
from service.text.cookers import caution
from service.text.run_sheet import items_of_helper, run_sheet_items
from service.web.job_views import MISSED_AFTER
from service.web.static_files import STATIC_HASH
from tests.app import EVENT, HARVEST, HTML, NOON, Door, put_in
from tests.conftest import replaced, sample_event, sample_plan

PAGES = ("", "/sheet", "/stations", "/stations/mirror-1", "/stations/box-1", "/jobs", "/jobs/asta")
SCRIPTS = f'<script type="module" src="/static/{STATIC_HASH}/{{}}.js">'
OUR_SCRIPTS = {SCRIPTS.format(name) for name in ("page", "jobs", "fixes")}
ZONE = ZoneInfo("Africa/Johannesburg")


def read(door: Door, *paths: str, text: str = HARVEST) -> list[httpx.Response]:
    """Return pages of an event that is put in; {e} stands for its address."""

    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        name = (await put_in(client, text)).json()["id"]
        return [await client.get(p.replace("{e}", f"/e/{name}"), headers=HTML) for p in paths]

    return door(work)


def clock(at: datetime) -> str:
    return at.astimezone(ZONE).strftime("%H:%M")


def test_every_page_opens_and_has_no_inline_script_or_style(door: Door) -> None:
    for answer in read(door, "/", *(f"{{e}}{p}" for p in PAGES)):
        assert answer.status_code == 200, answer.text
        assert OUR_SCRIPTS.issuperset(re.findall("<script[^>]*>", answer.text))
        assert " style=" not in answer.text
        assert "<style" not in answer.text


def test_the_day_shows_every_placement_with_the_plans_times(door: Door) -> None:
    (answer,) = read(door, "{e}")

    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    for p in plan.placements:
        dish = next(d.name for d in event.dishes if d.id == p.dish_id)
        part = f" {p.batch} of {p.batches}" if p.batches > 1 else ""
        head = rf'<th scope="row" class="food">\s*<a [^>]*>{dish}{part}</a>\s*</th>'
        row = re.search(rf"{head}(.*?)</tr>", answer.text, re.S)
        assert row is not None
        for at in (p.loaded_at, p.hot_at, p.done_at, p.served_at):
            assert f"<td>{clock(at)}</td>" in row.group(1)
        last = "last " if p.dish_id == "rice" else ""  # served out of its box until then
        assert f"<td>{last}{clock(p.lifted_at)}</td>" in row.group(1)
    assert "All 6 dishes fit" in answer.text


def test_a_refused_dish_stands_on_the_day_with_its_figures(door: Door) -> None:
    (answer,) = read(door, "{e}", text=sample_text("winter-refusal"))

    assert "Not placed" in answer.text
    assert "250 °C" in answer.text


def test_my_jobs_says_the_next_thing_and_how_far(door: Door) -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    for moment in (-60, 0, 33, 61, 140, 180):
        door.now = now = NOON + timedelta(minutes=moment)

        (answer,) = read(door, "{e}/jobs/asta")

        text = html.unescape(answer.text)
        job = next(
            d for d in items_of_helper(event, plan, "asta") if d.ends_at + MISSED_AFTER > now
        )
        assert job.title in text
        assert job.how in text
        assert clock(job.at) in text
        for cooker in job.cookers if job.kind != "walk" else ():
            assert caution(cooker, job.kind) in text
        for turn in job.turns:  # each with its own order, place and caution
            order = turn_orders.turn_order(event, turn)
            assert f"Shadow tip: <b>{order.shadow}</b>" in text
            assert turn.first or (order.main in text and order.caution in text)
        countdown = text.split('class="left num"', 2)[1]  # those that were missed come below
        assert ("Now" in countdown[:60]) == (job.at <= now)


def test_when_all_is_done_the_page_says_so(door: Door) -> None:
    door.now = NOON + timedelta(hours=8)

    (answer,) = read(door, "{e}/jobs/asta")

    assert "Nothing more to do." in answer.text


def test_in_the_south_a_mirror_turns_left_and_in_the_north_right() -> None:
    for name, side in (("harvest-lunch", "left"), ("school-day", "right")):
        event, plan = sample_event(name), sample_plan(name)
        turns = [t for d in run_sheet_items(event, plan) if d.kind == "walk" for t in d.turns]
        sides = {turn_orders.turn_order(event, t).arrow for t in turns if t.kind == "turn"}
        assert sides == {side}


def test_the_station_shows_its_turns_and_cautions(door: Door) -> None:
    (answer,) = read(door, "{e}/stations/mirror-1")

    text = html.unescape(answer.text)
    for turn in sample_plan("harvest-lunch").turns:
        if turn.cooker_id == "mirror-1":
            times = [f'<td class="nb">{clock(at)}</td>' for at in (turn.at, turn.holds_until)]
            row = r"\s*".join(times)
            assert re.search(row, text)
    assert "Don’t look into the bowl" in text
    assert "Turn the mirror away first" in text


def test_the_run_sheet_is_the_whole_day_in_time_order(door: Door) -> None:
    (answer,) = read(door, "{e}/sheet")

    times = re.findall(r"<time>(\d\d:\d\d)</time>", answer.text)
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    assert times == [clock(d.at) for d in run_sheet_items(event, plan)]
    assert "____ °C" in answer.text


def test_a_phone_page_weighs_under_sixty_kilobytes_with_its_sheets(door: Door) -> None:
    page, day = read(door, "{e}/jobs/asta", "{e}")
    sheets = read(door, *re.findall(r'"(/static/[\w/]+\.css)"', page.text))

    weight = [len(gzip.compress(a.content)) for a in (page, day, *sheets)]
    assert len(sheets) > 1
    assert sum(weight) < 60_000


@pytest.mark.slow
def test_what_would_help_is_offered_and_taken_in_one_press(door: Door) -> None:
    sample = sample_event("winter-refusal")
    cookers = tuple(c for c in sample.cookers if c.kind != "insulated")
    text = write_event(changed(sample, cookers=cookers))

    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        made = (await put_in(client, text)).json()
        url = f"/e/{made['id']}/help"
        page = await client.get(url, headers=HTML)
        while "data-look" in page.text:  # each look tries one change more
            page = await client.get(url, headers=HTML)
        fix = re.findall('name="fix" value="([^"]+)"', page.text)[0]
        form = {"fix": fix, "etag": made["event_id"]}
        done = await client.post(url, data=form, headers=HTML)
        again = await client.post(url, data=form, headers=HTML)
        return [page, done, again, await client.get(f"/api/events/{made['id']}")]

    page, done, again, event = door(work)

    assert "of 100 skies" in page.text
    assert done.status_code == 303
    assert again.status_code == 412, "a second press does not change it twice"
    before = sample.meals[0].start
    after = event.json()
    later = time.fromisoformat(after["meals"][0]["start"]) > before
    assert later or "burner" in {c["kind"] for c in after["cookers"]}


def test_a_name_with_markup_is_shown_as_text(door: Door) -> None:
    evil = "<script>alert(1)</script>"
    text = replaced(
        sample_text("harvest-lunch"),
        ('title = "Harvest lunch"', f"title = '{evil}'"),
        ('name = "Mirror 1"', f"name = '<b>\"{evil[:8]}'"),
        ('name = "Asta"', f"name = '{evil}'"),
        ('name = "Tea water"', "name = '&lt;img onerror=x>'"),
    )

    for answer in read(door, "/", *(f"{{e}}{p}" for p in PAGES), text=text):
        assert answer.status_code == 200
        assert OUR_SCRIPTS.issuperset(re.findall("<script[^>]*>", answer.text))
        assert "<b>&#34;" not in answer.text.replace("<b>Asta", "")
        assert "<img" not in answer.text


def test_the_form_takes_a_file_and_shows_every_fault(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        good = {"file": ("e.toml", sample_text("school-day").encode())}
        bad = {"text": sample_text("school-day").replace("47.2", "147").replace("rolf", "rudi", 1)}
        return [
            await client.post("/events", files=good, headers=HTML),
            await client.post("/events", data=bad, headers=HTML),
            await client.get("/e/nothing", headers=HTML),
        ]

    made, faulty, missing = door(work)

    assert made.status_code == 303
    assert made.headers["location"].startswith("/e/school-day")
    assert faulty.status_code == 422
    assert "latitude_deg" in faulty.text
    assert "Nothing was kept" in faulty.text
    assert missing.status_code == 404
    assert "<h1>You don’t have access, or it doesn’t exist</h1>" in missing.text


@pytest.mark.parametrize(
    "name", [pytest.param("cook-off", marks=pytest.mark.slow), "school-day", "winter-refusal"]
)
def test_every_sample_has_a_day_for_desk_and_phone(door: Door, name: str) -> None:
    event = read_event(sample_text(name))
    answers = read(
        door,
        "{e}",
        "{e}/sheet",
        *(f"{{e}}/stations/{c.id}" for c in event.cookers[:3]),
        *(f"{{e}}/jobs/{h.id}" for h in event.helpers),
        text=sample_text(name),
    )

    assert [a.status_code for a in answers] == [200] * len(answers)


@pytest.mark.slow
def test_events_of_one_zone_are_each_told_of_by_their_own_names(door: Door) -> None:
    """Templates are shared by events that say figures alike; names are not."""
    event = sample_event("harvest-lunch")
    dishes = tuple(changed(d, name=f"Other {d.name}") for d in event.dishes)
    other = write_event(changed(event, title="Other lunch", dishes=dishes))

    (first,) = read(door, "{e}")
    (second,) = read(door, "{e}", text=other)

    assert (first.status_code, second.status_code) == (200, 200)
    notes = re.search(r"Check before you rely on this(.*?)</section>", second.text, re.DOTALL)
    assert notes is not None
    assert "Other " in notes[1], "a warning names a dish"
    for dish in event.dishes:
        assert not re.search(rf"(?<!Other ){dish.name}", notes[1])


def test_on_the_day_a_press_says_what_the_sky_looks_like(door: Door) -> None:
    no_sky = read_event(HARVEST)
    text = write_event(changed(no_sky, weather=Weather()))

    async def work(client: httpx.AsyncClient) -> None:
        door.now = NOON - timedelta(days=2)
        made = (await put_in(client, text)).json()
        page = f"/e/{made['id']}"
        before = (await client.get(page, headers=HTML)).text
        assert "Too early to say." in before
        assert f'action="{page}/sky"' not in before
        assert "of the forecast" not in (await client.get(f"{page}/today", headers=HTML)).text

        door.now = NOON
        asked = (await client.get(page, headers=HTML)).text
        assert "No forecast given. What does the sky look like?" in asked
        words = re.findall(r'name="words" value="([^"]+)"', asked)
        assert words == ["clear", "some cloud", "mostly cloudy"]
        assert "of the forecast" not in (await client.get(f"{page}/today", headers=HTML)).text
        for said in words:
            etag = re.search(r'name="etag" value="([^"]+)"', asked)
            assert etag is not None
            form = {"words": said, "etag": etag[1]}
            assert (await client.post(f"{page}/sky", data=form)).status_code == 303
            event = (await client.get(f"/api/events/{made['id']}")).json()
            assert event["weather"]["source"] == f"in words: {said}"
            assert event["weather"]["days_ahead"] == 0
            assert event["site"] == no_sky.model_dump(mode="json")["site"]
            asked = (await client.get(f"{page}/plan/site", headers=HTML)).text

        after = (await client.get(page, headers=HTML)).text
        assert "Planned before the sky was known." in after
        assert f'action="{page}/sky"' not in after
        assert "of the forecast" in (await client.get(f"{page}/today", headers=HTML)).text

    door(work)


def test_a_contest_stands_on_the_day(door: Door) -> None:
    (page,) = read(door, "{e}", text=sample_text("twelve-pots"))

    plan = sample_plan("twelve-pots").contest
    assert plan is not None
    line = re.search(r"<b>Contest:</b> ([^<]+)", page.text)
    assert line is not None
    assert f"{len(sample_event('twelve-pots').entries)} entries, tastings " in line[1]
    least = min(t.of_100 for t in plan.tastings)
    assert f"the least sure {least} of 100" in line[1]


def test_warnings_lead_an_organiser_to_where_they_are_mended(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        page = (await client.get(f"/e/{EVENT}", headers=HTML)).text
        check = (await client.get(f"/e/{EVENT}/plan/check", headers=HTML)).text

        for text in (page, check):
            notes = text[text.index("Check before you rely on this") :]
            for path, words in re.findall(r'<li>[^<]+ <a href="([^"]+)">([^<]+)</a>', notes):
                assert (await client.get(path, headers=HTML)).status_code == 200, words
            assert "I have read them" in notes
            assert f"/e/{EVENT}/batch/" in notes
            assert ">Change Apple cake</a>" in notes

    ready(work)
