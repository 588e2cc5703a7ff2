"""Planning in the browser, without a browser: forms in, events out, nothing typed is lost."""

from __future__ import annotations

import re
from datetime import timedelta

import httpx
import pytest

from tests.app import EVENT, HARVEST, HTML, Door, fingerprint_of, planned
from tests.service.web.new_day import FIRST, event

pytestmark = pytest.mark.slow


@pytest.fixture
def unplanned(ready: Door) -> Door:
    """Return a door behind which nothing more is planned: what is kept is looked at alone."""
    ready.solvers.hold()
    return ready


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
        assert "Usable sun " in sun.text

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


@pytest.mark.parametrize("path", ["", "/plan/check", "/links"])
def test_the_fire_rules_are_ticked_where_it_is_asked_for(ready: Door, path: str) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        page = (await client.get(f"/e/{EVENT}{path}", headers=HTML)).text
        assert f'action="/e/{EVENT}/fire-rules"' in page
        came = {"referer": f"http://here/e/{EVENT}{path}", **HTML}
        etag = await fingerprint_of(client)

        ticked = await client.post(f"/e/{EVENT}/fire-rules", data={"etag": etag}, headers=came)

        assert ticked.headers["location"] == f"/e/{EVENT}{path}"
        kept = (await client.get(f"/api/events/{EVENT}")).json()
        assert kept["site"]["fire_rules_read"]
        assert "/fire-rules" not in (await client.get(f"/e/{EVENT}{path}", headers=HTML)).text
        stale = await client.post(f"/e/{EVENT}/fire-rules", data={"etag": etag}, headers=came)
        assert stale.status_code == 412

    ready(work)


@pytest.mark.parametrize("path", ["", "/plan/check", "/links"])
def test_who_is_called_is_asked_for_until_somebody_is_named(ready: Door, path: str) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        came = {"referer": f"http://here/e/{EVENT}{path}", **HTML}

        async def name(contact: str) -> httpx.Response:
            typed = {"etag": await fingerprint_of(client), "contact": contact}
            return await client.post(f"/e/{EVENT}/emergency", data=typed, headers=came)

        await name("")
        page = (await client.get(f"/e/{EVENT}{path}", headers=HTML)).text
        assert f'action="/e/{EVENT}/emergency"' in page
        named = await name(" Ada,  555 0100 " + "x" * 300)

        assert named.headers["location"] == f"/e/{EVENT}{path}"
        kept = (await client.get(f"/api/events/{EVENT}")).json()
        assert kept["site"]["emergency"].startswith("Ada, 555 0100 xxx")
        assert len(kept["site"]["emergency"]) == 200
        assert "/emergency" not in (await client.get(f"/e/{EVENT}{path}", headers=HTML)).text

    ready(work)


def test_guests_at_risk_are_ticked_with_one_press_that_makes_the_dishes_safe(ready: Door) -> None:
    """What is pressed is the strictest rules' own limit, never a looser one."""

    async def work(client: httpx.AsyncClient) -> None:
        typed = {"etag": await fingerprint_of(client), "vulnerable_guests": "on"}
        ready.solvers.hold()
        refused = await client.post(f"/e/{EVENT}/plan/site", data=typed, headers=HTML)
        assert refused.status_code == 422
        assert "Bean stew: held hot for 120 min at most" in refused.text
        assert 'form="typed" name="mend"' in refused.text
        before = (await client.get(f"/api/events/{EVENT}")).json()
        assert not before["vulnerable_guests"]

        pressed = typed | {"mend": "on"}
        made = await client.post(f"/e/{EVENT}/plan/site", data=pressed, headers=HTML)

        assert made.status_code == 303
        kept = (await client.get(f"/api/events/{EVENT}")).json()
        assert kept["vulnerable_guests"]
        for was, dish in zip(before["dishes"], kept["dishes"], strict=True):
            if dish["hazardous"]:
                assert dish["holding_max_min"] == min(was["holding_max_min"], 120)
            assert (dish["core_c"] or 0) >= (was["core_c"] or 0)

    ready(work)


def test_no_press_makes_dishes_safe_where_something_else_is_wrong_too(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        typed = {"etag": await fingerprint_of(client), "vulnerable_guests": "on", "opens": "late"}

        refused = await client.post(f"/e/{EVENT}/plan/site", data=typed, headers=HTML)

        assert refused.status_code == 422
        assert 'name="mend"' not in refused.text

    ready(work)


def test_portions_of_none_offer_to_leave_the_dishes_out(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        ready.now -= timedelta(days=3)  # on the day itself, what cooks can't be left out
        form = {"etag": await fingerprint_of(client)}
        for dish in ("rice", "beetroot"):
            form |= {f"{dish}.id": dish, f"{dish}.portions": "0"}
        ready.solvers.hold()
        refused = await client.post(f"/e/{EVENT}/plan/dishes", data=form, headers=HTML)
        assert refused.status_code == 422
        press = re.search(r'form="typed" name="leave_out" value="([^"]+)"', refused.text)
        assert press is not None
        assert set(press[1].split(",")) == {"rice", "beetroot"}

        form |= {"leave_out": press[1]}
        left = await client.post(f"/e/{EVENT}/plan/dishes", data=form, headers=HTML)

        assert left.status_code == 303
        dishes = (await client.get(f"/api/events/{EVENT}")).json()["dishes"]
        assert not {"rice", "beetroot"} & {d["id"] for d in dishes}
        assert len(dishes) == 4

    ready(work)
