"""Many events and long diaries: lists by the page, and only what is new is read."""

from __future__ import annotations

from datetime import timedelta

import httpx
import pytest

from events.diary import Entry
from events.model import Event
from events.storage.store import Store
from events.table import changed
from service.application.events import PAGE
from service.web.diary import PAGE as ENTRIES
from tests.app import EVENT, HTML, NOON, Door
from tests.conftest import sample_event

pytestmark = pytest.mark.slow

NOTE = "2026-11-28T08:30:00Z"


def note(number: int, **more: object) -> Entry:
    return Entry.model_validate({"id": f"press-{number:04d}", "kind": "note", "at": NOON, **more})


def test_events_are_listed_by_the_page_without_reading_their_files(ready: Door) -> None:
    event = sample_event("winter-refusal")  # a short one

    async def work(client: httpx.AsyncClient) -> None:
        ready.solvers.hold()  # the latest ones are asked for; no plan is worked out
        add = ready.services.events._store.add
        for n in range(PAGE):
            add(changed(event, date=event.date + timedelta(days=n)), now=NOON)
        first = (await client.get("/", headers=HTML)).text
        second = (await client.get(f"/?first={PAGE}", headers=HTML)).text
        listed = (await client.get("/api/events")).json()
        rest = (await client.get(f"/api/events?first={PAGE}")).json()

        assert f"/?first={PAGE}" in first
        assert second.count('href="/e/') == len(rest) == 1
        assert len({e["id"] for e in [*listed, *rest]}) == PAGE + 1
        assert listed[0]["date"] > listed[-1]["date"]

    ready(work)


def test_a_long_diary_is_shown_by_the_page(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        for n in range(ENTRIES + 5):
            ready.services.diary.write_down(EVENT, note(n, note=f"note {n:04d}"))
        newest = (await client.get(f"/e/{EVENT}/diary", headers=HTML)).text
        older = (await client.get(f"/e/{EVENT}/diary?before=6", headers=HTML)).text

        assert newest.count("<time>") == ENTRIES
        assert "diary?before=6" in newest
        assert [f"note {n:04d}" in older for n in (0, 4, 5)] == [True, True, False]

    ready(work)


def test_a_diary_that_grew_elsewhere_is_read_on(ready: Door) -> None:
    async def work(_client: httpx.AsyncClient) -> None:
        diary, other = ready.services.diary, Store(ready.settings.url())
        diary.write_down(EVENT, note(1))
        assert [e.undone for e in diary.entries(EVENT)] == [False]

        other.diary.append(EVENT, note(2, kind="undo", undoes="press-0001"), now=NOON)
        other.close()

        assert [e.undone for e in diary.entries(EVENT)] == [True, False]
        assert [e.stored.number for e in diary.entries(EVENT, after=1)] == [2]

    ready(work)


def test_an_undo_that_comes_first_counts(ready: Door) -> None:
    async def work(_client: httpx.AsyncClient) -> list[bool]:
        diary = ready.services.diary
        diary.write_down(EVENT, note(1, kind="undo", undoes="press-0002"))
        diary.write_down(EVENT, note(2))
        return [e.undone for e in diary.entries(EVENT)]

    assert ready(work) == [False, True]


def test_an_archived_event_leaves_nothing_to_the_next_of_its_name(
    ready: Door, harvest: Event
) -> None:
    async def work(_client: httpx.AsyncClient) -> None:
        store = ready.services.events._store
        ready.services.diary.write_down(EVENT, note(1, note="of the old one"))
        ready.services.diary.entries(EVENT)
        other = Store(ready.settings.url())
        other.events.remove(EVENT)
        other.close()
        assert store.add(harvest, now=NOON).id == EVENT

        ready.services.diary.write_down(EVENT, note(2))

        assert [e.stored.entry.id for e in ready.services.diary.entries(EVENT)] == ["press-0002"]

    ready(work)
