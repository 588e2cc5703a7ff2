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


def test_whoever_plans_talks_is_told_where_groups_that_go_round_are_made(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        page = (await client.get(f"/e/{EVENT}/plan/talks")).text

        assert "Groups that go round" in page
        assert f'href="/e/{EVENT}/plan/check"' in page
        assert "Groups that go round" not in (await client.get(f"/e/{EVENT}/plan/helpers")).text

    ready(work)
