"""Planning in the browser, without a browser: forms in, events out, nothing typed is lost."""

from __future__ import annotations

import html
import re
from datetime import date
from typing import Any

import httpx
import pytest

from tests.app import EVENT, HARVEST, Door, fingerprint_of, planned
from tests.service.web.new_day import FIRST, event

pytestmark = pytest.mark.slow


@pytest.fixture
def unplanned(ready: Door) -> Door:
    """Return a door behind which nothing more is planned: what is kept is looked at alone."""
    ready.solvers.hold()
    return ready


def test_a_day_from_nothing_is_planned(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        assert "Plan an event" in (await client.get("/new")).text

        made = await client.post("/new", data=FIRST)

        assert made.status_code == 303, made.text
        name = made.headers["location"].split("/")[2]
        kept = await event(client, name)
        assert (kept["site"]["latitude_deg"], kept["site"]["longitude_deg"]) == (51.48, 0.02)
        assert kept["site"]["timezone"] == "Europe/London"
        assert [c["name"] for c in kept["cookers"]][:2] == ["Mirror 1", "Mirror 2"]
        assert [h["name"] for h in kept["helpers"]] == ["Ida", "Per"]
        plan = await planned(client, name)
        assert {p["dish_id"] for p in plan["placements"]} == {"rice", "lentil-soup"}

    ready(work)


def test_before_any_plan_the_first_page_says_what_the_cookers_take(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        few = await client.post("/new/takes", data=FIRST)
        crowd = await client.post("/new/takes", data=FIRST | {"people": "400"})
        nowhere = await client.post("/new/takes", data=FIRST | {"where": "the old oak"})

        assert few.status_code == crowd.status_code == 200
        assert "on a clear day." in few.text
        assert "Make fewer portions" in crowd.text
        assert (nowhere.status_code, nowhere.text) == (204, "")
        assert unplanned.solvers.waiting == 0

    unplanned(work)


def test_a_day_can_begin_as_a_contest_too(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        made = await client.post("/new", data=FIRST | {"contest": "on"})

        assert made.status_code == 303, made.text
        kept = await event(client, made.headers["location"].split("/")[2])
        assert kept["contest"]
        assert len(kept["teams"]) == len(kept["entries"]) == 6
        plain = await client.post("/new", data=FIRST)
        without = await event(client, plain.headers["location"].split("/")[2])
        assert not without["contest"]

    unplanned(work)


def test_a_sky_typed_half_a_year_ahead_is_kept_as_what_it_is(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        made = await client.post("/new", data=FIRST | {"sky": "clear", "date": "2027-06-12"})

        name = made.headers["location"].split("/")[2]
        kept = await event(client, name)
        days = (date(2027, 6, 12) - unplanned.now.date()).days
        assert kept["weather"]["days_ahead"] == days
        page = (await client.get(f"/e/{name}/plan/site")).text
        assert f"{round(days / 7)} weeks off: a forecast counts from about two weeks" in page

    unplanned(work)


def test_a_first_page_with_a_fault_keeps_all_that_was_typed(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        page = await client.post(
            "/new", data=FIRST | {"where": "the old oak", "helpers": "Ida, Åse"}
        )

        assert page.status_code == 422
        assert "Where: “the old oak” is no place that we know" in page.text
        assert "the old oak" in page.text
        assert "Ida, Åse" in page.text

    ready(work)


def test_a_town_is_found_by_its_name_and_read_back_with_its_sun(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        part = await client.get("/places", params={"where": "tucson ariz", "date": "2027-05-15"})

        assert "Tucson, Arizona, United States." in part.text
        assert "sun up 5:26 am to 7:14 pm" in part.text
        assert "UTC-7" in part.text
        made = await client.post("/new", data=FIRST | {"where": "Tucson, Arizona"})
        kept = await event(client, made.headers["location"].split("/")[2])
        assert kept["site"]["timezone"] == "America/Phoenix"
        assert kept["site"]["altitude_m"] == 759

    unplanned(work)


def test_the_years_months_stand_with_the_place_and_each_offers_a_day_to_come(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        ask = {"where": "tucson ariz", "date": "2027-05-15"}
        part = (await client.get("/places", params=ask)).text
        none = (await client.get("/places", params={"where": "the old oak"})).text

        offered = [date.fromisoformat(d) for d in re.findall(r'data-date="([^"]+)"', part)]
        assert [d.month for d in offered] == list(range(1, 13))
        assert {d.weekday() for d in offered} == {date(2027, 5, 15).weekday()}
        assert all(d > ready.now.date() for d in offered)
        pressed = re.findall(r'data-date="([^"]+)" aria-pressed="true"', part)
        assert pressed == ["2027-05-15"]
        assert "if the sky is clear" in part
        assert "latitude alone" in part
        assert "data-date" not in none

    ready(work)


def test_people_share_the_dishes_of_a_course(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        menu = {"people": "120", "dish": ["rice", "potatoes", "lentil-soup", "tea"]}
        own = {"portions.tea": "50", "visitorsfrom": "10", "visitorsuntil": "3 pm"}

        made = await client.post("/new", data=FIRST | menu | own)

        kept = await event(client, made.headers["location"].split("/")[2])
        portions = {d["id"]: d["portions"] for d in kept["dishes"]}
        assert portions == {"rice": 60, "potatoes": 60, "lentil-soup": 120, "tea": 50}
        assert kept["site"]["visitors_from"] == "10:00:00"
        assert kept["site"]["visitors_until"] == "15:00:00"

    unplanned(work)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"count.box-large": "two"}, "Large box with reflectors: “two” is not a whole number"),
        ({"count.box-large": "1000"}, "is not a whole number from 0 to 20"),
        ({"dish": []}, "Dishes: no dish is ticked"),
        ({"helpers": " , "}, "There is no helper yet"),
        ({"people": "about 120"}, "People: “about 120” is not a whole number"),
        ({"people": "-5"}, "People: “-5”"),
        ({"pot.pot-5l": "0", "pot.pot-8l": ""}, "Pots: none is counted"),
        ({"meal": "03:00"}, "Lunch, From: 3:00 am is outside the crew"),
        ({"altitude": "99999"}, "Altitude"),
        ({"where": "Springfield"}, "is more than one place"),
        ({"sky": "marmalade"}, "Forecast: “marmalade” isn't understood"),
        ({"heads.mains": "lots"}, "Mains for each person: “lots”"),
    ],
)
def test_nothing_is_replaced_in_silence(ready: Door, typed: dict[str, Any], says: str) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        page = await client.post("/new", data=FIRST | typed)

        assert page.status_code == 422
        assert says in html.unescape(page.text)
        assert "[[" not in page.text
        assert "[site]" not in page.text

    ready(work)


def test_the_young_are_known_by_their_age(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        made = await client.post("/new", data=FIRST | {"helpers": "Ida, Per, Tilly (15)"})

        kept = await event(client, made.headers["location"].split("/")[2])
        tilly = kept["helpers"][2]
        assert (tilly["name"], tilly["adult"], tilly["may"]) == ("Tilly", False, [])

    unplanned(work)


def test_a_number_in_a_name_is_no_age(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        made = await client.post("/new", data=FIRST | {"helpers": "Helper 1, Helper 2"})

        kept = await event(client, made.headers["location"].split("/")[2])
        assert [(h["name"], h["adult"]) for h in kept["helpers"]] == [
            ("Helper 1", True),
            ("Helper 2", True),
        ]

    unplanned(work)


def test_a_fault_stands_beside_its_field_and_changes_nothing(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        mark = await fingerprint_of(client)
        typed = {"etag": mark, "picked": "rice", "rice.id": "rice", "rice.portions": "many"}

        page = await client.post(f"/e/{EVENT}/plan/dishes", data=typed)

        assert page.status_code == 422
        assert 'value="many"' in page.text
        assert re.search(r'name="rice.portions" value="many"[^>]*aria-invalid="true"', page.text)
        assert re.findall(r'<details class="fold" open>\s*<summary[^>]*>([^<]*)', page.text) == [
            "Rice"
        ]
        rice = next(d for d in (await event(client))["dishes"] if d["id"] == "rice")
        assert rice["portions"] == 20

    ready(work)


def test_a_fault_of_row_12_stands_beside_row_12_alone(unplanned: Door) -> None:
    people = "".join(
        f'[[helper]]\nid = "h{n}"\nname = "H {n}"\nfrom = 08:00:00\nuntil = 15:00:00\n'
        for n in range(4, 13)
    )

    async def work(client: httpx.AsyncClient) -> None:
        made = await client.post(
            "/api/events", content=HARVEST + people, headers={"content-type": "application/toml"}
        )
        name = made.json()["id"]
        assert len((await event(client, name))["helpers"]) == 12
        typed = {"etag": await fingerprint_of(client, name), "h12.id": "h12", "h12.until": "later"}

        page = await client.post(f"/e/{name}/plan/helpers", data=typed)

        assert page.status_code == 422
        wrong = re.findall(r'name="([^"]+)"[^>]*aria-invalid="true"', page.text)
        assert wrong == ["h12.until"]

    unplanned(work)


@pytest.mark.parametrize(
    ("tab", "typed", "field", "says"),
    [
        ("servings", {"name": "Snack", "until": "15:00", "portions": "5"}, "from", "a time"),
        ("pots", {"name": "Big", "like": "pot-8l", "count": "0"}, "count", "1 or more"),
        ("cookers", {"name": "Box", "like": "box-hot", "count": "99"}, "count", "from 1 to 20"),
        ("dishes", {"name": "Stew", "portions": "5", "meal": "lunch"}, "like", "Choose one"),
        (
            "dishes",
            {"name": "Ham pie", "like": "vegetable-curry", "portions": "5", "meal": "lunch"},
            *("start_c", "how long has the raw meat"),
        ),
    ],
)
def test_the_fault_of_a_new_row_stands_beside_its_field(
    unplanned: Door, tab: str, typed: dict[str, str], field: str, says: str
) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        form = {f"new.{key}": text for key, text in typed.items()}
        form["etag"] = await fingerprint_of(client)

        page = await client.post(f"/e/{EVENT}/plan/{tab}", data=form)

        assert page.status_code == 422
        wrong = re.findall(r'name="([^"]+)"[^>]*aria-invalid="true"', page.text)
        assert wrong == [f"new.{field}"]
        beside = re.search(r'<p class="err" id="f-new\w+">(.*?)</p>', page.text, re.DOTALL)
        assert beside is not None
        assert says in beside[1]

    unplanned(work)


def test_keep_undo_and_plans_side_by_side(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        mark = await fingerprint_of(client)
        typed = {"etag": mark, "picked": "rice", "rice.id": "rice", "rice.portions": "10"}
        kept = await client.post(f"/e/{EVENT}/plan/dishes", data=typed)
        assert kept.status_code == 303
        after = await event(client)
        assert next(d for d in after["dishes"] if d["id"] == "rice")["portions"] == 10
        beside = await client.get(f"/e/{EVENT}/compare")
        assert beside.status_code == 200
        assert "Plan 1 beside plan 2" in beside.text
        assert "Rice: portions 20 → 10" in beside.text

        mark = await fingerprint_of(client)
        here = f"/e/{EVENT}/plan/dishes"
        undone = await client.post(
            f"/e/{EVENT}/undo", data={"etag": mark}, headers={"referer": f"http://here{here}"}
        )
        assert undone.headers["location"] == here

        back = await event(client)
        assert next(d for d in back["dishes"] if d["id"] == "rice")["portions"] == 20

    ready(work)


@pytest.mark.parametrize("came_from", ["", "http://here/e/another-day", "http://else.test/"])
def test_who_undoes_from_elsewhere_comes_to_the_day(ready: Door, came_from: str) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        typed = {"etag": await fingerprint_of(client), "rice.id": "rice", "rice.portions": "10"}
        await client.post(f"/e/{EVENT}/plan/dishes", data=typed)
        mark = {"etag": await fingerprint_of(client)}

        undone = await client.post(f"/e/{EVENT}/undo", data=mark, headers={"referer": came_from})

        assert undone.headers["location"] == f"/e/{EVENT}"

    ready(work)


def test_the_second_of_two_who_edit_overwrites_nothing_silently(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        mark = await fingerprint_of(client)
        mine = {"etag": mark, "picked": "rice", "rice.id": "rice", "rice.portions": "10"}
        theirs = {"etag": mark, "picked": "tea", "tea.id": "tea", "tea.portions": "12"}
        assert (await client.post(f"/e/{EVENT}/plan/dishes", data=mine)).status_code == 303

        page = await client.post(f"/e/{EVENT}/plan/dishes", data=theirs)

        assert page.status_code == 412
        assert "Somebody changed this day" in page.text
        assert 'name="tea.portions" value="12"' in page.text

    unplanned(work)


def test_parts_are_added_and_left_out(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        mark = await fingerprint_of(client)
        new = {"etag": mark, "new.name": "Rosa", "new.from": "09:00", "new.until": "15:00"}
        new |= {"new.may": "lift", "new.adult": "on", "wim.id": "wim", "wim.drop": "on"}
        answer = await client.post(f"/e/{EVENT}/plan/helpers", data=new)
        assert answer.status_code == 303, answer.text

        names = [h["name"] for h in (await event(client))["helpers"]]
        mark = await fingerprint_of(client)
        more = {"etag": mark, "new.like": "mirror-90cm", "new.count": "2", "new.station": "pump"}
        answer = await client.post(f"/e/{EVENT}/plan/cookers", data=more)

        assert names == ["Asta", "Bo", "Rosa"]
        assert answer.status_code == 303, answer.text
        cookers = [c["id"] for c in (await event(client))["cookers"]]
        assert {"mirror-0-9-m-1", "mirror-0-9-m-2"} <= set(cookers)

    unplanned(work)


def test_what_is_typed_is_told_before_it_is_kept(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:

        async def told(portions: str) -> str:
            form = {"picked": "rice", "rice.id": "rice", "rice.portions": portions}
            return (await client.post(f"/e/{EVENT}/try/dishes", data=form)).text

        small, large, wrong = await told("5"), await told("40"), await told("x")

        def minutes(text: str) -> int:
            return int(re.search(r"Gas ring.*?(\d+)–", text, re.S)[1])  # type: ignore[index]

        assert minutes(small) < minutes(large)
        assert "Portions" in wrong
        sun = await client.post(f"/e/{EVENT}/try/site", data={"date": "2026-06-21"})
        assert "Sun " in sun.text

    ready(work)


def test_a_batch_held_out_of_its_cooker_goes_elsewhere(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        mark = await fingerprint_of(client)
        plan = await planned(client)
        tea = next(p for p in plan["placements"] if p["dish_id"] == "tea")
        page = await client.get(f"/e/{EVENT}/batch/{tea['id']}")
        assert "What else would work" in page.text

        await client.post(f"/e/{EVENT}/batch/{tea['id']}", data={"etag": mark, "wish": "out"})

        after = await planned(client)
        mine = {p["cooker_id"] for p in after["placements"] if p["dish_id"] == "tea"}
        assert mine
        assert tea["cooker_id"] not in mine

    ready(work)


def test_what_if_changes_nothing(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        mark = await fingerprint_of(client)

        page = await client.get(f"/e/{EVENT}/what-if?cloud=40&mirror=1.8")
        wrong = await client.get(f"/e/{EVENT}/what-if?mirror=9")

        assert "As it would be" in page.text
        assert wrong.status_code == 422
        assert await fingerprint_of(client) == mark

    ready(work)


def test_every_tab_answers_and_a_sample_is_one_press(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        taken = await client.post("/samples/harvest-lunch")
        assert taken.status_code == 303
        for tab in ("site", "cookers", "dishes", "servings", "helpers", "talks", "check"):
            page = await client.get(f"/e/{EVENT}/plan/{tab}")
            assert page.status_code == 200, tab
        assert (await client.get("/about")).status_code == 200

    ready(work)


def test_a_day_in_us_units_is_typed_in_pounds_and_inches(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        made = await client.post("/new", data=FIRST | {"where": "-33.9, 18.4"})
        name = made.headers["location"].split("/")[2]
        page = (await client.get(f"/e/{name}/plan/dishes?dish=rice")).text
        assert "Portion size (raw), lb" in page
        mark = await fingerprint_of(client, name)
        typed = {"etag": mark, "picked": "rice", "rice.id": "rice", "rice.portion_lb": "0.5"}

        kept = await client.post(f"/e/{name}/plan/dishes", data=typed)

        assert kept.status_code == 303, kept.text
        rice = next(d for d in (await event(client, name))["dishes"] if d["id"] == "rice")
        assert rice["portion_kg"] == 0.226796
        assert 'value="0.5"' in (await client.get(f"/e/{name}/plan/dishes?dish=rice")).text

    ready(work)


@pytest.mark.parametrize("count", ["two", "1000", "0", "-1", "2.5"])
def test_how_many_is_asked_back_and_never_guessed(ready: Door, count: str) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        before = len((await event(client))["cookers"])
        form = {"etag": await fingerprint_of(client), "new.like": "box-large", "new.count": count}
        page = await client.post(f"/e/{EVENT}/plan/cookers", data=form)

        assert page.status_code == 422
        assert "is not a whole number from 1 to 20" in page.text
        assert f'value="{count}"' in page.text, "what was typed still stands there"
        assert len((await event(client))["cookers"]) == before

    ready(work)


def test_what_stands_as_it_was_shown_keeps_all_its_digits(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        made = await client.post("/new", data=FIRST | {"where": "-33.9, 18.4"})
        name = made.headers["location"].split("/")[2]
        before = (await event(client, name))["dishes"]
        page = (await client.get(f"/e/{name}/plan/dishes")).text
        as_shown = dict(re.findall(r'<input name="([^"]+)" value="([^"]*)"', page))
        assert as_shown["rice.portion_lb"]
        typed = as_shown | {f"{d['id']}.id": d["id"] for d in before}
        typed |= {"etag": await fingerprint_of(client, name), "rice.portions": "7", "new.name": ""}

        kept = await client.post(f"/e/{name}/plan/dishes", data=typed)

        assert kept.status_code == 303, kept.text
        after = (await event(client, name))["dishes"]
        assert [d | {"portions": 0} for d in after] == [d | {"portions": 0} for d in before]
        assert next(d for d in after if d["id"] == "rice")["portions"] == 7

    ready(work)
