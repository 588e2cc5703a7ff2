"""Lists, CSV and pages to send: what stands in them."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from datetime import UTC, datetime, timedelta

import httpx
import pytest

from events.food_rules import rules_of
from events.reading.samples import sample_text
from events.table import changed
from service.paper.calendar import run_sheet_csv
from service.paper.content import PARTS, facts
from service.paper.lists import lists
from service.paper.shopping import shopping
from service.paper.standalone_pages import packed, pages
from service.text import formatting
from service.text.run_sheet import run_sheet_items
from tests.app import HTML, Door, put_in
from tests.conftest import SAMPLES, plan_of, sample_event, sample_plan
from tests.service.paper.odd_names import odd_event

pytestmark = pytest.mark.slow
BEFORE = ("set-up", "prepare")


def test_the_shopping_list_is_the_mix_times_the_portions() -> None:
    event = sample_event("harvest-lunch")

    bought = {str(s["food"]): float(str(s["kg"])) for s in shopping(event, list(event.dishes))}

    rice = next(d for d in event.dishes if d.id == "rice")
    dry = next(i for i in rice.ingredients if i.food == "rice-dry")
    assert bought["rice"] == pytest.approx(dry.portion_kg * rice.portions, abs=1e-3)
    assert "water" not in bought


@pytest.mark.parametrize("name", SAMPLES)
def test_paper_and_run_sheet_say_the_same_time_for_setting_up_and_packing(name: str) -> None:
    event, plan = sample_event(name), sample_plan(name)
    jobs = {j.kind: j for j in plan.jobs}
    first = min((j.at for j in plan.jobs if j.kind not in BEFORE), default=None)

    told = lists(event, plan)

    text = " ".join(s["what"] for s in [*told["set_up"], *told["pack_down"]])  # type: ignore[misc]
    if "set-up" in jobs:
        assert f"From {formatting.clock(event, jobs['set-up'].at)}: ground plan" in text
    if first is not None:
        assert f"First job at a cooker at {formatting.clock(event, first)}." in text
        assert f"until cool, about {formatting.clock(event, jobs['pack-down'].at)}" in text
    assert text or not plan.jobs


def test_the_csv_is_the_run_sheet_and_starts_no_formula() -> None:
    event, plan = odd_event(), plan_of(odd_event())

    rows = list(csv.DictReader(io.StringIO(run_sheet_csv(event, plan))))

    assert [r["utc"] for r in rows] == [
        d.at.astimezone(UTC).isoformat() for d in run_sheet_items(event, plan)
    ]
    assert all(not c.startswith(("=", "+", "-", "@")) for r in rows for c in r.values())


def test_pages_to_send_are_small_whole_and_the_same_for_the_same_plan() -> None:
    event, plan = sample_event("cook-off"), sample_plan("cook-off")

    made = pages(event, plan)

    assert {f"helper-{h.id}.html" for h in event.helpers} <= set(made)
    assert {f"station-{c.id}.html" for c in event.cookers} <= set(made)
    for page in made.values():
        assert len(page.encode()) < 150_000
        assert not re.findall(r'(?:src|href)="(?!#)', page), "no outside files"
    assert packed(event, plan, name="x") == packed(event, plan, name="x")


def test_pages_to_send_draw_every_turn_of_their_own_cooker_and_say_when_they_were_made() -> None:
    event, plan = sample_event("cook-off"), sample_plan("cook-off")
    made_at = plan.sun[0].at

    made = pages(event, plan, made_at=made_at)

    for cooker in event.cookers:
        page = made[f"station-{cooker.id}.html"]
        turns = [t for t in plan.turns if t.cooker_id == cooker.id]
        assert page.count('class="turnpic"') == len(turns)
        others = [c.name for c in event.cookers if c.kind == cooker.kind and c != cooker]
        assert not [n for n in others if f"Turn {n}" in page]
    for page in made.values():
        assert f"made {formatting.day_clock(event, made_at)}" in page


def test_facts_say_us_units_and_twelve_hours_where_the_event_does() -> None:
    told = facts(sample_event("cook-off"), sample_plan("cook-off"))

    text = str([told[k] for k in ("rows", "helpers", "stations", "shopping", "leftovers")])
    assert "°F" in text
    assert " lb" in text
    assert " pm" in text
    assert " °C" not in text
    for cooker in told["stations"]:  # type: ignore[attr-defined]
        assert cooker["size"].rpartition(" ")[2] in ("in", "ft", "qt")


@pytest.mark.parametrize(("spent_min", "off_heat_min"), [(30, 120), (170, 70), (260, 0)])
def test_what_is_left_counts_from_the_last_plate_with_what_it_spent_before(
    spent_min: int, off_heat_min: int
) -> None:
    """A pot that was lifted two hours before lunch is hot to its last plate: no time is before."""
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    placed = tuple(
        changed(p, between_5_and_60_min=spent_min, lifted_at=p.lifted_at - timedelta(hours=2))
        for p in plan.placements
    )
    rows = lists(event, changed(plan, placements=placed))["leftovers"]

    assert isinstance(rows, list)
    for dish in (d for d in event.dishes if d.hazardous):
        (row,) = [r for r in rows if r["food"] == dish.name]
        eaten = max(p.last_plate_at for p in placed if p.dish_id == dish.id)
        chill = formatting.clock(event, eaten + timedelta(minutes=min(120, off_heat_min)))
        away = min(rules_of(event).off_heat_min, 240 - spent_min)
        assert row["chill"] == chill
        assert row["discard"] == formatting.clock(event, eaten + timedelta(minutes=max(0, away)))


def test_as_many_pots_are_brought_as_are_in_use_at_once() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    rice = next(p for p in plan.placements if p.dish_id == "rice")
    pot = changed(event.pot(rice.pot_id), count=9)
    many = changed(event, pots=tuple(pot if p.id == pot.id else p for p in event.pots))
    washed_at = rice.last_plate_at + timedelta(minutes=pot.wash_min)

    def brought(*starts: datetime) -> tuple[object, object, object]:
        copies = tuple(changed(rice, loaded_at=at) for at in starts)
        (row,) = lists(many, changed(plan, placements=copies))["pots"]  # type: ignore[misc]
        return row["count"], row["spare"], row["loads"]

    assert brought(rice.loaded_at) == (1, 1, 1)
    assert brought(rice.loaded_at, rice.loaded_at + timedelta(minutes=30)) == (2, 1, 2)
    after = changed(rice, loaded_at=washed_at, last_plate_at=washed_at + timedelta(hours=2))
    (row,) = lists(many, changed(plan, placements=(rice, after)))["pots"]  # type: ignore[misc]
    assert (row["count"], row["loads"]) == (1, 2)


def test_the_paper_page_leads_to_all_of_it(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        name = (await put_in(client, sample_text("school-day"))).json()["id"]
        page = await client.get(f"/e/{name}/paper", headers=HTML)
        links = re.findall(r'href="(/e/[^"]+)"', page.text)
        parts = re.findall(r'name="part" value="([^"]+)"', page.text)
        assert tuple(parts) == tuple(p for p in PARTS if p != "rota")  # nobody goes round here
        links += [f"/e/{name}/paper.pdf?part={part}&paper=us-letter" for part in parts]
        return [await client.get(link) for link in dict.fromkeys(links)]

    answers = door(work)

    kinds = {a.headers["content-type"].partition(";")[0] for a in answers}
    assert {a.url.path: a.status_code for a in answers if a.status_code != 200} == {}
    assert {"application/pdf", "application/zip", "text/calendar", "text/csv"} <= kinds
    archive = next(a for a in answers if a.headers["content-type"] == "application/zip")
    assert len(zipfile.ZipFile(io.BytesIO(archive.content)).namelist()) >= 8
