"""Open lines: news of this process and of others, for whom they concern; idle ones only beat."""

from __future__ import annotations

from collections.abc import AsyncGenerator

import httpx
import pytest

from events.diary import Entry
from events.storage.store import Store
from service.application.news import EventNews
from service.web import live_lines
from service.web.live_lines import Line, LiveLines
from tests.app import EVENT, NOON, Door

Opened = AsyncGenerator[EventNews | None, None]


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("LOOK_S", "ASK_S", "SPREAD_S"):
        monkeypatch.setattr(live_lines, name, 0.01)


def entry(number: int, **more: object) -> Entry:
    return Entry.model_validate({"id": f"press-{number:04d}", "kind": "done", "at": NOON, **more})


async def opened(lines: LiveLines, door: Door, helper: str | None = None) -> Opened:
    stands = door.services.news.of([EVENT])[EVENT]
    news = lines.news(Line(EVENT, helper, "", stands))
    assert await anext(news) == stands
    return news


def test_a_press_here_and_one_in_another_process_reach_an_open_page(ready: Door) -> None:
    """On 0.2 a press in one process never reached the lines of another."""

    async def work(_client: httpx.AsyncClient) -> None:
        lines = LiveLines(ready.services, lambda: False)
        news = await opened(lines, ready)

        ready.services.diary.write_down(EVENT, entry(1, helper_id="asta"))
        here = await anext(news)
        other = Store(ready.settings.url())
        other.diary.append(EVENT, entry(2), now=NOON)
        other.close()
        elsewhere = await anext(news)

        assert here is not None
        assert elsewhere is not None
        assert (here.diary, elsewhere.diary) == (1, 2)
        await news.aclose()
        assert lines.count() == 0
        await lines.ended()

    ready(work)


def test_a_helpers_page_hears_of_what_concerns_the_helper(ready: Door) -> None:
    """On 0.2 every press reloaded every page on every phone."""

    async def work(_client: httpx.AsyncClient) -> None:
        lines = LiveLines(ready.services, lambda: False)
        asta, all_of_it = await opened(lines, ready, "asta"), await opened(lines, ready)
        write = ready.services.diary.write_down

        write(EVENT, entry(1, helper_id="bo", job_id="no-job-of-asta"))
        everyone = await anext(all_of_it)
        write(EVENT, entry(2, helper_id="bo", kind="cloud"))
        cloud = await anext(asta)
        write(EVENT, entry(3, helper_id="asta"))
        own = await anext(asta)

        assert [n.diary for n in (everyone, cloud, own) if n] == [1, 2, 3]
        await asta.aclose()
        await all_of_it.aclose()
        await lines.ended()

    ready(work)


def test_a_quiet_line_beats(ready: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(live_lines, "BEAT_S", 0.01)

    async def work(_client: httpx.AsyncClient) -> None:
        lines = LiveLines(ready.services, lambda: False)
        news = await opened(lines, ready)

        assert await anext(news) is None
        await news.aclose()
        await lines.ended()

    ready(work)


def test_lines_end_when_the_service_stops(ready: Door) -> None:
    async def work(_client: httpx.AsyncClient) -> None:
        closing = False
        lines = LiveLines(ready.services, lambda: closing)
        news = await opened(lines, ready)
        closing = True

        assert [n async for n in news] == []
        await lines.ended()

    ready(work)


def test_nobody_listens_to_an_event_that_is_not_here(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> int:
        return (await client.get("/e/nowhere/live")).status_code

    assert ready(work) == 404


def test_a_helpers_page_says_whose_news_it_wants(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> str:
        return (await client.get(f"/e/{EVENT}/jobs/asta")).text

    assert f"/e/{EVENT}/live?helper=asta" in ready(work)
