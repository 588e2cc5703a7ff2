"""What a saved form says: the new plan beside the one before, and what was changed with it."""

from __future__ import annotations

import re
from datetime import time

import httpx
import pytest

from events.reading.samples import sample_text
from events.table import changed
from service.forms.event_form import with_crew_hours
from tests.app import EVENT, HTML, Door, fingerprint_of, put_in
from tests.conftest import sample_event
from tests.service.web.new_day import event

SCHOOL = "lakeside-school-cooking-with-the-sun-2027-02-10"


def line(page: str) -> str:
    """Return what the line says, without its presses."""
    said = re.search(r'<div id="kept-says"[^>]*>(.*?)(?:<form|</div>)', page, re.S)
    assert said is not None
    return " ".join(said[1].split())


def test_the_line_waits_for_the_plan_and_then_says_what_it_places(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[str]:
        typed = {"etag": await fingerprint_of(client), "title": "Lunch in the garden"}
        ready.solvers.hold()
        saved = await client.post(f"/e/{EVENT}/plan/site", data=typed, headers=HTML)
        there = saved.headers["location"].partition("#")[0]
        before = (await client.get(there)).text
        ready.solvers.release()
        return [before, (await client.get(there)).text]

    before, after = ready(work)

    assert line(before) == "Saved. Updating the plan…"
    assert line(after) == "Saved. Plan 2 is ready: 6 of 6 dishes placed."
    assert "See what helps" not in after


def test_a_change_that_costs_dishes_says_so_with_the_way_back(door: Door) -> None:
    """All who may cook go round: the warning comes at once, the line when the plan is there."""

    async def work(client: httpx.AsyncClient) -> list[str]:
        await put_in(client, sample_text("school-rounds"))
        path = f"/e/{SCHOOL}/plan/groups"
        typed = {"etag": await fingerprint_of(client, SCHOOL)}
        for group, adult in (("red", "akinyi"), ("blue", "otieno")):
            typed |= {f"{group}.id": group, f"{group}.adult": adult}
        door.solvers.hold()
        await client.post(path, data=typed)
        warned = (await client.get(path)).text
        door.solvers.release()
        ready = (await client.get(path)).text
        etag = re.search(r'action="/e/[^"]+/undo">\s*<input[^>]*value="([^"]+)"', ready)
        assert etag is not None
        await client.post(f"/e/{SCHOOL}/undo", data={"etag": etag[1]})
        return [warned, ready, (await client.get(path)).text]

    warned, ready, undone = door(work)

    warning = "From 08:45 to 11:30 nobody is at the cookers."
    assert f"Akinyi, Otieno and Wanja also cook. {warning}" in warned
    assert re.fullmatch(
        r"Saved\. Plan 2 is ready: [012] of 3 dishes placed, 3 before\.", line(ready)
    )
    assert "See what helps" in ready
    assert warning not in undone
    assert line(undone) == "Saved. Plan 3 is ready: 3 of 3 dishes placed."


@pytest.mark.parametrize("own", [time(7, 30), time(8)])
def test_who_has_the_crews_hours_has_its_new_ones(own: time) -> None:
    old = sample_event("harvest-lunch")
    crews = changed(old.site, opens=time(8), closes=time(16))
    helpers = tuple(changed(h, start=own, end=time(16)) for h in old.helpers)
    old = changed(old, site=crews, helpers=helpers)
    new = changed(old, site=changed(crews, opens=time(6, 30), closes=time(17)))

    moved = with_crew_hours(old, new)

    hours = {(h.start, h.end) for h in moved.helpers}
    assert hours == {(time(6, 30), time(17)) if own == time(8) else (own, time(16))}
    assert with_crew_hours(old, old) == old
    late = changed(old, helpers=tuple(changed(h, start=time(8), end=time(15)) for h in old.helpers))
    assert with_crew_hours(late, changed(late, site=new.site)).helpers == late.helpers


def test_the_saved_line_says_how_many_came_along(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[str, dict[str, str], str]:
        ready.solvers.hold()
        typed = {"etag": await fingerprint_of(client), "opens": "07:45"}
        saved = await client.post(f"/e/{EVENT}/plan/site", data=typed)
        page = (await client.get(saved.headers["location"].partition("#")[0])).text
        again = {"etag": await fingerprint_of(client), "title": "Lunch in the garden"}
        plain = await client.post(f"/e/{EVENT}/plan/site", data=again)
        helpers = (await event(client))["helpers"]
        return page, {h["name"]: h["start"] for h in helpers}, plain.headers["location"]

    page, begins, plain = ready(work)

    assert "2 helpers whose hours were the crew’s have the new ones." in line(page)
    assert begins == {"Asta": "07:30:00", "Bo": "07:45:00", "Wim": "07:45:00"}
    assert plain == f"/e/{EVENT}/plan/site#kept"
