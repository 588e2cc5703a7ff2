"""The planner's parts: what folds, what stands in which, what keeps what was chosen before."""

from __future__ import annotations

import re

import httpx
import pytest

from events.table import changed
from service.forms.event_form import EVENT as EVENT_FIELDS
from service.forms.event_form import SITE
from service.forms.site_parts import site_parts
from service.forms.us_units import fields_of
from tests.app import EVENT, HARVEST, Door, fingerprint_of
from tests.conftest import sample_event
from tests.service.web.new_day import event

pytestmark = pytest.mark.slow


def test_a_dish_that_must_go_into_one_of_two_cookers_keeps_both(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        text = HARVEST.replace('id = "rice"', 'id = "rice"\nonly_in = ["box-1", "mirror-1"]')
        kind = {"content-type": "application/toml"}
        name = (await client.post("/api/events", content=text, headers=kind)).json()["id"]
        page = (await client.get(f"/e/{name}/plan/dishes")).text
        held = re.search(r'name="rice.only_in".*?value="([^"]*)" selected', page, re.S)
        assert held is not None
        typed = {"etag": await fingerprint_of(client, name), "rice.id": "rice"}
        typed |= {"rice.only_in": held[1], "rice.portions": "9"}

        await client.post(f"/e/{name}/plan/dishes", data=typed)

        rice = next(d for d in (await event(client, name))["dishes"] if d["id"] == "rice")
        assert (rice["only_in"], rice["portions"]) == (["box-1", "mirror-1"], 9)

    ready(work)


def test_a_fault_opens_the_part_that_folds_it(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        typed = {"etag": await fingerprint_of(client), "longitude_deg": "200", "title": "Lunch"}
        page = (await client.post(f"/e/{EVENT}/plan/site", data=typed)).text

        opened = re.findall(r'<details class="fold" open>\s*<summary>(.*?) <small>', page)
        assert opened == ["Where it is"]
        untouched = (await client.get(f"/e/{EVENT}/plan/site")).text
        assert '<details class="fold" open>' not in untouched
        assert "fire rules not read yet" in untouched

    ready(work)


def test_every_field_of_the_event_and_its_site_stands_in_one_part() -> None:
    for units in ("metric", "us"):
        event = changed(sample_event("harvest-lunch"), units=units)
        fields = [f for part in site_parts(event) for f in (*part.event, *part.site)]
        keys = [f.key for f in fields]

        assert sorted(keys) == sorted(f.key for f in (*EVENT_FIELDS, *fields_of(SITE, units)))


def test_whoever_plans_talks_is_led_to_groups_and_a_contest(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        page = (await client.get(f"/e/{EVENT}/plan/talks")).text

        for tab in ("rota", "contest"):
            assert f'href="/e/{EVENT}/plan/{tab}"' in page
            asked = await client.get(f"/e/{EVENT}/plan/{tab}")
            assert (asked.status_code, asked.text.count('name="do" value="begin"')) == (200, 1)
        helpers = (await client.get(f"/e/{EVENT}/plan/helpers")).text
        assert "/plan/rota" not in helpers
        assert "/plan/contest" not in helpers

    ready(work)


def test_a_contest_is_made_typed_over_and_left_out_again(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        async def post(tab: str, **typed: str) -> httpx.Response:
            typed["etag"] = await fingerprint_of(client)
            return await client.post(f"/e/{EVENT}/plan/{tab}", data=typed)

        before = await event(client)
        usual = {"from": "13:00", "until": "15:00", "dish": "lentil-soup", "house": "panel-deep"}

        begun = await post("contest", do="begin", teams="2", judges="1", codes="0", **usual)
        typed = {"t1.id": "t1", "t1.whole": "on", "t1.name": "The Kettles", "t1.people": "3"}
        teams = await post("teams", **typed)
        refused = await post("teams", **(typed | {"t1.people": "none"}))

        assert (begun.status_code, teams.status_code, refused.status_code) == (303, 303, 422)
        assert "The Kettles, People: “none” is not a whole number" in refused.text
        page = (await client.get(f"/e/{EVENT}/plan/judges")).text
        assert 'href="/e/' + EVENT + '/plan/contest" aria-current="page"' in page
        assert [t["name"] for t in (await event(client))["teams"]] == ["The Kettles", "Team 2"]
        assert (await post("contest", do="end")).status_code == 303
        after = await event(client)
        places = [s for s in after["stations"] if s not in before["stations"]]
        assert [s["name"][:5] for s in places] == ["Place", "Place"]
        assert after | {"stations": before["stations"]} == before

    ready(work)
