"""The day's standing is worked out once for each state, however many phones look at it."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import httpx
import pytest

from service.application import live_day
from service.application.single_flight import SingleFlight
from tests.app import EVENT, HTML, Door


def test_who_asks_at_once_waits_for_the_first_and_all_get_the_same() -> None:
    flight: SingleFlight[object] = SingleFlight()
    together, made = Barrier(8), []

    def work() -> object:
        made.append(object())
        return made[-1]

    def ask(_: int) -> object:
        together.wait()
        return flight.get("day", 1, work)

    with ThreadPoolExecutor(8) as threads:
        answers = set(threads.map(ask, range(8)))

    assert answers == set(made)
    assert len(made) == 1
    assert flight.get("day", 2, work) is made[1]


def test_what_failed_is_tried_again() -> None:
    flight: SingleFlight[int] = SingleFlight()

    with pytest.raises(ZeroDivisionError):
        flight.get("day", 1, lambda: 1 // 0)

    assert flight.get("day", 1, lambda: 5) == 5


@pytest.mark.slow
def test_now_and_today_are_worked_out_once_for_plan_diary_entry_and_minute(
    ready: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    counted = 0
    real = live_day.day_status

    def counting(*args: object) -> object:
        nonlocal counted
        counted += 1
        return real(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(live_day, "day_status", counting)
    start = ready.now.replace(second=5)

    async def work(client: httpx.AsyncClient) -> list[int]:
        seen = []

        async def look(path: str) -> None:
            answer = await client.get(f"/e/{EVENT}/{path}", headers=HTML)
            assert answer.status_code == 200
            seen.append(counted)

        ready.now = start
        await look("today")
        await look("now")
        ready.now = start + timedelta(seconds=50)
        await look("today")
        ready.now = start + timedelta(seconds=60)
        await look("today")
        entry = {"id": "press-0001", "kind": "cloud", "at": ready.now.isoformat()}
        assert (await client.post(f"/api/events/{EVENT}/diary", json=entry)).status_code < 300
        await look("now")
        return seen

    assert ready(work) == [1, 1, 1, 2, 3]
