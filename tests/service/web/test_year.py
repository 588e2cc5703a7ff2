"""The year answers which date: a press for each week, the month's cloud, and the move itself."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import httpx
import pytest

from events.model import Event
from service.application import solver_jobs
from solver.feasibility.season import Season, season
from tests.app import EVENT, Door, fingerprint_of, planned

pytestmark = pytest.mark.slow

SOME_WEEKS = (2, 25, 47)


@pytest.fixture(autouse=True)
def _few_weeks(monkeypatch: pytest.MonkeyPatch) -> None:
    def few(event: Event, year: int) -> Season:
        return season(event, year, weeks=SOME_WEEKS)

    monkeypatch.setattr(solver_jobs, "season", few)


def presses(page: str) -> dict[str, str]:
    """Return the presses that move the day, by date, with whether they can be pressed."""
    return dict(re.findall(r'<button name="date" value="([\d-]+)"([^>]*)', page))


def test_each_date_to_come_is_one_press_with_its_chance_and_the_day_is_marked(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        ready.now = datetime(2026, 5, 1, tzinfo=UTC)

        page = (await client.get(f"/e/{EVENT}/year")).text

        offered = presses(page)
        assert "disabled" in offered["2026-01-17"]
        assert "disabled" not in offered["2026-06-27"]
        assert "2026-11-28" not in offered
        assert "the day" in page
        assert "typical of this latitude (from memory, no published source)" in page

    ready(work)


def test_a_press_moves_the_day_and_its_old_forecast_goes(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        ready.now = datetime(2026, 5, 1, tzinfo=UTC)
        form = {"date": "2026-06-27", "etag": await fingerprint_of(client)}

        moved = await client.post(f"/e/{EVENT}/year", data=form)

        assert moved.headers["location"] == f"/e/{EVENT}"
        day = (await client.get(f"/e/{EVENT}")).text
        assert "Saturday 27 June 2026" in day
        assert "Undo it" in day
        assert (await planned(client))["sky"] == "clear"
        stale = await client.post(f"/e/{EVENT}/year", data=form)
        assert stale.status_code == 412

    ready(work)


def test_cloud_by_month_is_typed_or_pasted_and_a_wrong_count_is_said(ready: Door) -> None:
    async def typed(client: httpx.AsyncClient, text: str) -> httpx.Response:
        form = {"sunlit": text, "etag": await fingerprint_of(client)}
        return await client.post(f"/e/{EVENT}/year/cloud", data=form)

    async def work(client: httpx.AsyncClient) -> None:
        twelve = "80, 80, 75, 70, 65, 60, 60, 65, 70, 70, 75, 80"
        assert (await typed(client, twelve)).status_code == 303
        page = (await client.get(f"/e/{EVENT}/year")).text
        assert "Cloud: your own sunny hours by month." in page
        assert "80 80 75" in page

        for wrong in ("50 50", twelve.replace("75", "175")):
            assert "is not twelve figures from 0 to 100" in (await typed(client, wrong)).text

        assert (await typed(client, "")).status_code == 303
        assert "typical of this latitude" in (await client.get(f"/e/{EVENT}/year")).text

    ready(work)
