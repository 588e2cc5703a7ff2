"""The forecast: uploaded, or fetched from a server on this machine; the plan is made again."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import Any, ClassVar
from urllib.parse import parse_qs, urlsplit
from zoneinfo import ZoneInfo

import httpx
import pytest

from events.reading.forecast_file import weather_from
from events.table import changed
from service.settings import OPEN_FEED
from tests.app import EVENT, Door, fingerprint_of, planned

pytestmark = pytest.mark.slow

CSV = "time,cloud_pct,air_c,wind_m_s\n09:00,30,20,2\n12:00,60,24,3\n"
GREY = "time,cloud_pct,air_c,wind_m_s\n08:00,85,20,2\n"
FEED = (
    '{"hourly": {"time": ["2026-11-28T09:00", "2026-11-28T12:00"], "cloud_cover": [30, 60],'
    ' "temperature_2m": [20, 24], "wind_speed_10m": [7.2, 10.8]}}'
)


class Feed(BaseHTTPRequestHandler):
    seen: ClassVar[list[str]] = []
    answer: ClassVar[tuple[int, str]] = (200, FEED)

    def do_GET(self) -> None:
        Feed.seen.append(self.path)
        status, body = Feed.answer
        self.send_response(status)
        self.end_headers()
        self.wfile.write(body.encode())

    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture
def feed() -> Iterator[str]:
    Feed.seen, Feed.answer = [], (200, FEED)
    server = HTTPServer(("127.0.0.1", 0), Feed)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/f?lat={{lat}}&lon={{lon}}"
    server.shutdown()
    server.server_close()
    thread.join()


async def in_force(client: httpx.AsyncClient) -> dict[str, str]:
    """Return the head that a change needs."""
    return {"if-match": f'"{await fingerprint_of(client)}"'}


@pytest.mark.parametrize("body", [CSV, FEED])
def test_an_uploaded_forecast_makes_a_new_plan(ready: Door, body: str) -> None:
    ready.now -= timedelta(days=1)

    async def work(client: httpx.AsyncClient) -> Any:
        tag = await in_force(client)
        old = await planned(client)
        answer = await client.put(f"/api/events/{EVENT}/weather", content=body, headers=tag)
        assert answer.status_code == 200, answer.text
        event = (await client.get(f"/api/events/{EVENT}")).json()
        return old, await planned(client), event

    old, new, event = ready(work)

    assert new["event_id"] != old["event_id"]
    assert event["weather"]["days_ahead"] == 1  # it was put in the day before
    assert [h["cloud_pct"] for h in event["weather"]["hours"]] == [30, 60]
    assert [h["wind_m_s"] for h in event["weather"]["hours"]] == pytest.approx([2, 3])


def test_on_the_day_another_forecast_leaves_the_plan_and_a_better_one_is_offered(
    ready: Door,
) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        tag = await in_force(client)
        old = await planned(client)

        answer = await client.put(f"/api/events/{EVENT}/weather", content=GREY, headers=tag)

        assert answer.status_code == 200, answer.text
        assert await planned(client) == old
        assert "The plan stays as it is today" in (await client.get(f"/e/{EVENT}/plan/site")).text
        page = (await client.get(f"/e/{EVENT}/today")).text
        assert "The forecast has changed." in page
        assert "of 100 by now" in page
        offer = (await client.get(f"/api/events/{EVENT}/today")).json()["offer"]
        assert (offer is None) == ("Keep the plan: nothing better was found." in page)
        made = (await client.post(f"/api/events/{EVENT}/replans")).json()
        assert made["plan"]["event_id"] != old["event_id"]
        await client.post(f"/e/{EVENT}/replan/{made['number']}")
        assert "The forecast has changed." not in (await client.get(f"/e/{EVENT}/today")).text

    ready(work)


def test_on_the_day_another_dish_is_planned_with_the_forecast_that_came_with_it(
    ready: Door,
) -> None:
    async def work(client: httpx.AsyncClient) -> None:
        old = await planned(client)
        stored = ready.services.events.get(EVENT)
        event = changed(
            stored.event, title="Another lunch", weather=changed(stored.event.weather, hours=())
        )

        ready.services.events.change(EVENT, event, etag=stored.fingerprint)

        assert (await planned(client))["event_id"] != old["event_id"]

    ready(work)


def test_a_fetched_forecast_shows_its_credit_and_rounds_the_place(ready: Door, feed: str) -> None:
    ready.settings = replace(ready.settings, forecast_url=feed, forecast_credit="Sky service")

    async def work(client: httpx.AsyncClient) -> Any:
        tag = await in_force(client)
        answer = await client.put(f"/api/events/{EVENT}/weather", headers=tag)
        assert answer.status_code == 200, answer.text
        again = {"if-match": answer.headers["etag"]}
        await client.put(f"/api/events/{EVENT}/weather", headers=again)
        return (await client.get(f"/api/events/{EVENT}")).json()

    event = ready(work)

    assert Feed.seen == ["/f?lat=-34.60&lon=19.00"], "fetched once, the second time kept"
    assert event["weather"]["source"].startswith("Sky service, fetched 2026-11-28")


@pytest.mark.parametrize(("status", "body"), [(503, "down"), (200, "{"), (200, '{"hourly": {}}')])
def test_a_feed_that_fails_changes_nothing_and_says_why(
    ready: Door, feed: str, status: int, body: str
) -> None:
    ready.settings = replace(ready.settings, forecast_url=feed)
    Feed.answer = (status, body)

    async def work(client: httpx.AsyncClient) -> Any:
        tag = await in_force(client)
        answer = await client.put(f"/api/events/{EVENT}/weather", headers=tag)
        return answer, (await client.get(f"/api/events/{EVENT}")).json()

    answer, event = ready(work)

    assert answer.status_code in (502, 422)
    assert answer.headers["content-type"] == "application/problem+json"
    assert event["weather"]["source"] == "forecast of the evening before"


def test_without_an_address_nothing_is_fetched(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> httpx.Response:
        tag = await in_force(client)
        return await client.put(f"/api/events/{EVENT}/weather", headers=tag)

    answer = ready(work)

    assert answer.status_code == 502
    assert "by hand" in answer.json()["detail"]


def test_heat_and_litre_test_have_their_doors(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> Any:
        base = f"/api/events/{EVENT}/cookers/mirror-1"
        query = "day=2026-11-28&at=11:00&minutes=10&from_c=20&to_c=50&litres=3"
        page = f"/e/{EVENT}/stations/mirror-1/measure"
        return [
            await client.get(f"{base}/heat"),
            await client.get(f"{base}/litre-test?{query}"),
            await client.get(f"{base}/litre-test?{query}".replace("to_c=50", "to_c=99")),
            await client.get(f"{page}?{query}", headers={"accept": "text/html"}),
            await client.get(f"{page}?minutes=x", headers={"accept": "text/html"}),
        ]

    heat, litre, refused, page, faulty = ready(work)

    assert "watts of sun" in heat.json()["sentence"]
    assert 0.3 < litre.json()["factor"] < 3
    assert refused.status_code == 422
    assert "near the boil" in refused.text
    assert "times as strong as assumed" in page.text
    assert faulty.status_code == 200
    assert "minutes is" in faulty.text


def test_one_press_on_the_page_fetches_the_forecast_with_its_credit(ready: Door, feed: str) -> None:
    ready.settings = replace(ready.settings, forecast_url=feed, forecast_credit="A feed, CC BY 4.0")

    async def work(client: httpx.AsyncClient) -> tuple[str, str, int]:
        page = (await client.get(f"/e/{EVENT}/plan/site")).text
        pressed = await client.post(
            f"/e/{EVENT}/forecast", data={"etag": await fingerprint_of(client)}
        )
        return page, (await client.get(f"/e/{EVENT}/plan/site")).text, pressed.status_code

    before, after, status = ready(work)

    assert "Get the forecast" in before
    assert status == 303
    assert "A feed, CC BY 4.0, fetched 2026-11-28" in after
    assert len(Feed.seen) == 1


def test_the_open_feed_is_asked_for_what_is_read_of_it() -> None:
    asked = parse_qs(urlsplit(OPEN_FEED.format(lat="32.22", lon="-110.93")).query)

    assert asked["latitude"] == ["32.22"]
    assert asked["hourly"] == ["cloud_cover,temperature_2m,wind_speed_10m"]
    assert asked["wind_speed_unit"] == ["ms"]
    answer = (  # as its makers document it, written from memory
        '{"latitude": 32.2, "longitude": -110.9, "utc_offset_seconds": -25200,'
        ' "timezone": "America/Phoenix", "hourly_units": {"time": "iso8601", "cloud_cover": "%",'
        ' "temperature_2m": "°C", "wind_speed_10m": "m/s"}, "hourly": {'
        '"time": ["2027-05-15T11:00", "2027-05-15T12:00"], "cloud_cover": [10, 35],'
        ' "temperature_2m": [29.4, 30.8], "wind_speed_10m": [2.1, 3.4]}}'
    )
    weather = weather_from(
        answer, source="feed", day=date(2027, 5, 15), zone=ZoneInfo("America/Phoenix")
    )
    assert [(h.cloud_pct, h.air_c, h.wind_m_s) for h in weather.hours] == [
        (10, 29.4, 2.1),
        (35, 30.8, 3.4),
    ]
