"""The diary and who may come in: presses are kept once, in order; the wrong role finds nothing."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Coroutine
from datetime import UTC, datetime, timedelta
from typing import Any

import httpx
import pytest

from events.diary import Entry, happened_at
from service.text.run_sheet import items_of_helper
from tests.app import EVENT, HTML, NOON, Door, put_in
from tests.conftest import sample_event, sample_plan

API = f"/api/events/{EVENT}"
Work = Callable[[httpx.AsyncClient], Coroutine[Any, Any, Any]]


def offered_now(page: str) -> list[dict[str, str]]:
    """Return the presses that the page offers for now: one, or one for each cooker of a walk."""
    part = page[page.index('<div id="now">') : page.index('<div class="rest"')]
    part = re.sub(r"<li[^>]* data-done.*?</li>", "", part, flags=re.DOTALL)
    forms = re.findall(r'<form class="bar(?: look)?".*?</form>', part, re.DOTALL)
    return [dict(re.findall(r'name="(\w+)" value="([^"]*)"', form)) for form in forms]


def jobs_now(page: str) -> list[str]:
    return [form["job_id"] for form in offered_now(page)]


def entry(**more: object) -> dict[str, object]:
    return {"id": "press-0001", "kind": "aimed", "at": NOON.isoformat(), **more}


def test_the_same_press_sent_twice_counts_once(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> Any:
        await put_in(client)
        first = await client.post(f"{API}/diary", json=entry(cooker_id="mirror-1"))
        again = await client.post(f"{API}/diary", json=entry(cooker_id="mirror-1"))
        other = await client.post(f"{API}/diary", json=entry(id="press-0002"))
        return first, again, other, (await client.get(f"{API}/diary")).json()

    first, again, other, diary = door(work)

    assert first.status_code == 200
    assert first.json() == again.json()
    assert [d["stored"]["number"] for d in diary] == [1, 2]
    assert other.json()["stored"]["number"] == 2


def test_what_was_pressed_is_there_after_a_restart(door: Door) -> None:
    async def press(client: httpx.AsyncClient) -> None:
        await put_in(client)
        answer = await client.post(f"{API}/diary", json=entry(note="fine"))
        assert answer.status_code == 200

    async def look(client: httpx.AsyncClient) -> Any:
        return (await client.get(f"{API}/diary")).json()

    door(press)

    assert door(look)[0]["stored"]["entry"]["note"] == "fine"


@pytest.mark.parametrize(
    ("more", "status"),
    [
        ({"kind": "dances"}, 422),
        ({"id": "x"}, 422),
        ({"at": "10:30"}, 422),
        ({"cooker_id": "mirror-9"}, 422),
        ({"helper_id": "nobody"}, 422),
        ({"kind": "probed"}, 422),
        ({"kind": "probed", "core_c": 400}, 422),
        ({"kind": "undo"}, 422),
        ({"surprise": 1}, 422),
    ],
)
def test_a_press_that_can_not_be_is_refused_in_words(
    door: Door, more: dict[str, object], status: int
) -> None:
    async def work(client: httpx.AsyncClient) -> Any:
        await put_in(client)
        answer = await client.post(f"{API}/diary", json=entry(**more))
        return answer, (await client.get(f"{API}/diary")).json()

    answer, diary = door(work)

    assert answer.status_code == status
    assert answer.json()["detail"]
    assert diary == []


def test_a_phone_whose_clock_is_wrong_is_put_right() -> None:
    heard = datetime(2026, 11, 28, 9, 0, tzinfo=UTC)
    wrong = heard - timedelta(hours=1)

    told = Entry(id="press-0001", kind="aimed", at=wrong - timedelta(minutes=5), sent_at=wrong)
    right = Entry(id="press-0001", kind="aimed", at=heard - timedelta(minutes=5), sent_at=heard)
    ahead = Entry(id="press-0001", kind="aimed", at=heard + timedelta(minutes=1))

    assert happened_at(told, heard) == heard - timedelta(minutes=5)
    assert happened_at(right, heard) == heard - timedelta(minutes=5)
    assert happened_at(ahead, heard) == heard


def test_a_press_on_an_old_plan_is_kept_and_shown_as_a_conflict(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> Any:
        await put_in(client)
        stale = entry(plan="0" * 12, job_id="load-gone", placement_id="soup-1")
        await client.post(f"{API}/diary", json=stale)
        page = await client.get(f"/e/{EVENT}/diary", headers=HTML)
        return (await client.get(f"{API}/diary")).json(), page.text

    diary, page = door(work)

    assert "not in the newest plan" in diary[0]["conflict"]
    assert "Pressed on an older plan" in page


def test_the_big_press_brings_the_next_job_and_can_be_undone(door: Door) -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    jobs = [d for d in items_of_helper(event, plan, "asta") if d.kind != "serve"]
    door.now = jobs[2].at + timedelta(minutes=1)

    async def work(client: httpx.AsyncClient) -> list[str]:
        await put_in(client)
        url, pages = f"/e/{EVENT}/jobs/asta", []
        for _ in range(2):
            page = (await client.get(url, headers=HTML)).text
            pages.append(page)
            done = await client.post(f"/e/{EVENT}/diary", data=offered_now(page)[0])
            assert done.status_code == 303
            assert done.headers["location"] == url
        pages.append((await client.get(url, headers=HTML)).text)
        undo = pages[-1][pages[-1].index('<form class="undo last"') :]
        form = dict(re.findall(r'name="(\w+)" value="([^"]*)"', undo[: undo.index("</form>")]))
        await client.post(f"/e/{EVENT}/diary", data=form)
        pages.append((await client.get(url, headers=HTML)).text)
        return pages

    first, second, third, undone = door(work)

    ids = [jobs_now(p)[0] for p in (first, second, third, undone)]
    assert len(set(ids[:3])) == 3, "each press brings another job"
    assert ids[3] == ids[1], "undone, it is to be done again"
    assert "Undo" in third


def test_a_press_is_known_by_its_job_and_counts_anew_after_an_undo(ready: Door) -> None:
    job = {"job_id": "mirror-1-turn-0930", "cooker_id": "mirror-1", "id": "abcdefgh-0"}
    undo = entry(id="abcdefgh-0-u", kind="undo", undoes="abcdefgh-0")

    def at(minute: int, body: dict[str, object]) -> dict[str, object]:
        return body | {"at": (NOON - timedelta(minutes=30 - minute)).isoformat()}

    async def work(client: httpx.AsyncClient) -> list[Any]:
        sent = [at(0, entry(**job)), at(1, entry(**job)), at(2, undo)]
        # Pressed before the undo, and heard after it: it is the one that was undone. Pressed after
        # it by a phone that knows nothing of the undo: it counts, and counts once.
        sent += [at(1, entry(**job)), at(3, entry(**job)), at(3, entry(**job))]
        for body in sent:
            assert (await client.post(f"{API}/diary", json=body)).status_code == 200
        return (await client.get(f"{API}/diary")).json()

    diary = ready(work)

    ids = [(d["stored"]["entry"]["id"], d["undone"]) for d in diary]
    assert ids == [("abcdefgh-0", True), ("abcdefgh-0-u", False), ("abcdefgh-1", False)]


def test_a_phones_queue_is_told_which_press_is_safe_and_when_it_was(ready: Door) -> None:
    pressed_at = NOON - timedelta(minutes=20)
    form = {"id": "abcdefgh-0", "kind": "loaded", "at": pressed_at.isoformat()}

    async def work(client: httpx.AsyncClient) -> Any:
        asks_json = {"accept": "application/json"}
        answer = await client.post(f"/e/{EVENT}/diary", data=form, headers=asks_json)
        return answer, (await client.get(f"{API}/diary")).json()

    answer, diary = ready(work)

    assert answer.json() == {"confirms": "abcdefgh-0", "id": "abcdefgh-0", "number": 1}
    assert datetime.fromisoformat(answer.headers["noonfare-now"]) == NOON
    assert datetime.fromisoformat(diary[0]["stored"]["happened_at"]) == pressed_at


def test_somebody_hurt_is_shown_on_every_phone_and_for_who_runs_the_day(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[str]:
        hurt = entry(kind="hurt", cooker_id="mirror-2", helper_id="asta")
        await client.post(f"{API}/diary", json=hurt)
        paths = ("jobs/bo", "today")
        return [(await client.get(f"/e/{EVENT}/{p}", headers=HTML)).text for p in paths]

    for page in ready(work):
        assert "Somebody is hurt, Mirror 2, Asta, 10:30" in page


def test_a_reading_shows_on_the_curve_and_in_fahrenheit_is_converted(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> Any:
        await put_in(client)
        form = {
            "kind": "probed",
            "reading": "172,4",
            "degrees": "f",
            "cooker_id": "mirror-1",
            "placement_id": "bean-stew-1",
        }
        bad = await client.post(f"/e/{EVENT}/diary", data=form | {"reading": "hot"}, headers=HTML)
        await client.post(f"/e/{EVENT}/diary", data=form)
        return bad, (await client.get(f"/e/{EVENT}/stations/mirror-1", headers=HTML)).text

    bad, page = door(work)

    assert bad.status_code == 422
    assert "“hot”" in bad.text
    assert "78 °C</text>" in page


def test_the_board_names_no_helper_and_shows_a_fresh_reading(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> str:
        await put_in(client)
        probe = entry(kind="probed", core_c=81, placement_id="bean-stew-1")
        await client.post(f"{API}/diary", json=probe)
        return (await client.get(f"/e/{EVENT}/board", headers=HTML)).text

    page = door(work)

    assert "81 °C in the middle" in page
    for h in sample_event("harvest-lunch").helpers:
        assert not re.search(rf"\b{h.name}\b", page)


def test_each_cooker_of_a_walk_has_its_own_press_and_the_last_ends_the_walk(door: Door) -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    items = items_of_helper(event, plan, "asta")
    walk = next(d for d in items if d.kind == "walk" and len(d.turns) == 2)
    door.now = walk.at

    async def work(client: httpx.AsyncClient) -> list[str]:
        await put_in(client)
        for job in itertools.takewhile(lambda job: job.id != walk.id, items):
            before = entry(id=f"press-{job.id}", job_id=job.id, at=job.at.isoformat())
            await client.post(f"{API}/diary", json=before)
        pages = []
        for turn in (None, *walk.turns):
            if turn is not None:
                body = entry(
                    id=f"one-{turn.id}", job_id=turn.id, cooker_id=turn.cooker_id, helper_id="asta"
                )
                answer = await client.post(f"{API}/diary", json=body)
                assert answer.status_code == 200, answer.text
            pages.append((await client.get(f"/e/{EVENT}/jobs/asta", headers=HTML)).text)
        return pages

    none, one, both = door(work)

    first, second = (event.cooker(t.cooker_id).name for t in walk.turns)
    turns = [t.id for t in walk.turns]
    assert jobs_now(none) == turns
    assert jobs_now(one) == turns[1:]
    assert first in one
    assert second in one
    assert jobs_now(both)[0] not in turns
