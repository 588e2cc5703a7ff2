"""The rounds that a helper leads are among their jobs: on the phone, on paper, in the calendar."""

from __future__ import annotations

import httpx
from icalendar import Calendar

from events.reading.samples import sample_text
from events.table import changed
from service.paper.calendar import calendar
from service.paper.content import facts
from service.text.run_sheet import RunSheetItem, items_of_helper, run_sheet_items
from tests.app import HTML, Door, put_in
from tests.conftest import sample_event, sample_plan
from tests.solver.checking.damage import plan
from tests.solver.checking.hand_laid import at
from tests.solver.checking.hand_laid_rota import ROTA, ROUND

DAY = changed(plan("jobs", "serve", meal_id="lunch"), rota=ROTA)
DANS = [("10:00", "10:20", "Blue at Building"), ("11:40", "12:00", "Red at Building")]
EVES = [
    ("10:25", "10:45", "With Red at At the mirror"),
    ("10:55", "11:15", "With Red at At the box"),
    ("11:40", "12:00", "With Red at Building"),
]


def rounds(helper_id: str) -> list[RunSheetItem]:
    return [i for i in items_of_helper(ROUND, DAY, helper_id) if i.kind == "round"]


def test_a_guides_rounds_and_those_of_who_goes_with_a_group_are_theirs_alone() -> None:
    def told(helper_id: str) -> list[tuple[str, str, str]]:
        return [(f"{i.at:%H:%M}", f"{i.ends_at:%H:%M}", i.title) for i in rounds(helper_id)]

    assert told("dan") == DANS
    assert told("eve") == EVES
    assert not [h.id for h in ROUND.helpers if rounds(h.id) and h.id not in ("dan", "eve")]
    assert not [i for i in run_sheet_items(ROUND, DAY) if i.kind == "round"]


def test_they_stand_among_the_jobs_in_order_and_say_what_there_is_to_see() -> None:
    items = items_of_helper(ROUND, DAY, "eve")

    assert [i.at for i in items] == sorted(i.at for i in items)
    assert {i.kind for i in items} >= {"round", "serve"}
    first = rounds("eve")[0]
    assert first.how == "until 10:45. 10:30 mirror is loaded"


def test_they_are_on_the_helpers_sheet() -> None:
    event, planned = sample_event("school-rounds"), sample_plan("school-rounds")
    helpers = facts(event, planned, parts=("helpers",))["helpers"]
    assert isinstance(helpers, list)

    (sheet,) = [h for h in helpers if h["name"] == "Wanja"]

    led = [r["title"] for r in sheet["rows"] if r["kind"] == "round"]
    assert sorted(led) == sorted(f"{g.name} at Build one" for g in event.groups)


def test_they_are_in_the_helpers_calendar_and_in_no_others() -> None:
    def told(helper_id: str | None) -> list[tuple[object, object, str]]:
        days = Calendar.from_ical(calendar(ROUND, DAY, name="yard", helper_id=helper_id))
        entries = [e for e in days.walk("VEVENT") if "round-" in e["uid"]]
        return [(e["dtstart"].dt, e["dtend"].dt, str(e["summary"])) for e in entries]

    assert told("dan") == [(at(start), at(end), title) for start, end, title in DANS]
    assert told("ada") == told(None) == []


def test_a_guides_page_has_them_with_a_press(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> str:
        name = (await put_in(client, sample_text("school-rounds"))).json()["id"]
        return (await client.get(f"/e/{name}/jobs/wanja", headers=HTML)).text

    page = door(work)

    for group in ("Red", "Blue", "Green", "Gold"):
        assert f"<h2>{group} at Build one</h2>" in page
    assert page.count('name="job_id" value="round-red-build-stop"') == 1
