"""The first page: a day from nothing, as people type it, nothing replaced in silence."""

from __future__ import annotations

import html
import re
from datetime import date
from typing import Any

import httpx
import pytest

from events.reading.catalogue import entries
from tests.app import Door, planned
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


@pytest.mark.parametrize(("typed", "sittings"), [({}, 1), ({"sittings": "2"}, 2)])
def test_people_may_eat_in_sittings(unplanned: Door, typed: dict[str, str], sittings: int) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        made = await client.post("/new", data=FIRST | typed)
        name = made.headers["location"].split("/")[2]

        assert [m["waves"] for m in (await event(client, name))["meals"]] == [sittings]

    unplanned(work)


def test_before_any_plan_the_first_page_says_what_the_cookers_take(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        few = await client.post("/new/takes", data=FIRST)
        crowd = await client.post("/new/takes", data=FIRST | {"people": "400"})
        cakes = {
            "dish": ["apple-cake", "sponge", "banana-bread", "flat-bread"],
            "people": "6",
            "pot.loaf-tin": "4",
        }
        bakes = await client.post("/new/takes", data=FIRST | cakes)
        nowhere = await client.post("/new/takes", data=FIRST | {"where": "the old oak"})

        assert few.status_code == crowd.status_code == 200
        assert few.text.startswith("By 1:00 pm on a clear day your cookers boil about")
        assert "Make fewer portions" in crowd.text
        assert "this is 4. Bake less, bring another oven" in bakes.text
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
        ({"pot.pot-5l": "0", "pot.pot-8l": "0"}, "Pots: none is counted"),
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


def test_a_pot_field_that_is_left_empty_means_the_guess_that_it_showed(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        empty = {"pot.pot-5l": "", "pot.pot-8l": "", "pot.pot-12l": "1"}
        shown = (await client.post("/new/pots", data=FIRST | empty)).json()

        made = await client.post("/new", data=FIRST | empty)

        name = made.headers["location"].split("/")[2]
        pots = {p["id"]: p["count"] for p in (await event(client, name))["pots"]}
        assert shown["pot-8l"] > 0
        assert pots == {"pot-8l": shown["pot-8l"], "pot-12l": 1}
        assert "a guess" not in (await client.get(f"/e/{name}/plan/pots")).text

    unplanned(work)


def test_guessed_pots_are_said_to_be_guessed_until_somebody_counts(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        empty = {f"pot.{pot}": "" for pot in entries("pot")}
        made = await client.post("/new", data=FIRST | empty)
        name = made.headers["location"].split("/")[2]

        pots, check = [
            (await client.get(f"/e/{name}/plan/{page}")).text for page in ("pots", "check")
        ]

        assert "These pots are a guess" in pots
        assert "The pots are a guess" in check

    unplanned(work)


def test_pots_are_guessed_while_another_field_is_at_fault(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        typed = {"where": "the old oak", "people": "many", "count.box-large": "two"}

        shown = (await client.post("/new/pots", data=FIRST | typed)).json()

        assert set(shown) == set(entries("pot"))

    unplanned(work)


def test_a_number_of_helpers_is_so_many_without_names(unplanned: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        made = await client.post("/new", data=FIRST | {"helpers": "4"})

        kept = await event(client, made.headers["location"].split("/")[2])
        assert [h["name"] for h in kept["helpers"]] == [f"Helper {n}" for n in (1, 2, 3, 4)]

    unplanned(work)


@pytest.mark.parametrize(("typed", "metres"), [("230 ft", 70.1), ("70 m", 70.0), ("230", 70.1)])
def test_a_height_keeps_the_unit_that_was_typed_with_it(
    unplanned: Door, typed: str, metres: float
) -> None:
    """A foot is 0.3048 m: NIST SP 811, table B.8."""

    async def work(client: httpx.AsyncClient) -> None:
        made = await client.post("/new", data=FIRST | {"altitude": typed, "units": "us"})

        kept = await event(client, made.headers["location"].split("/")[2])
        assert kept["site"]["altitude_m"] == pytest.approx(metres, abs=0.06)

    unplanned(work)


def test_sizes_are_offered_in_both_units(ready: Door) -> None:
    """An inch is 2.54 cm, a US quart 0.9464 L: NIST SP 811, table B.8."""

    async def work(client: httpx.AsyncClient) -> None:
        page = (await client.get("/new")).text

        for metric, us in (("1.2 m across, 8 L", "47 in across, 8 qt"), ("12 L", "12.7 qt")):
            both = f'<span class="metric">{metric}</span> <span class="us">{us}</span>'
            assert both in page

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
