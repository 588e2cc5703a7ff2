"""Field pages are light: what a phone fetches over a bad line, counted as it travels."""

from __future__ import annotations

import re

import httpx
import pytest

from tests.app import EVENT, HTML, Door

PAGES = (
    *("", "/jobs", "/jobs/asta", "/now", "/sheet"),
    *("/stations", "/stations/mirror-1", "/stations/box-1", "/board"),
)
PAGE_MOST, VISIT_MOST = 30_000, 60_000


async def travelled(client: httpx.AsyncClient, path: str) -> tuple[int, str]:
    """Return an answer's bytes on the wire and its text."""
    ask = client.build_request("GET", path, headers={**HTML, "accept-encoding": "gzip"})
    answer = await client.send(ask, stream=True)
    size = len(b"".join([chunk async for chunk in answer.aiter_raw()]))
    again = await client.get(path, headers=HTML)
    assert answer.status_code == again.status_code == 200
    return size, again.text


@pytest.mark.parametrize("page", PAGES)
def test_a_field_page_is_light_and_so_is_its_first_visit(ready: Door, page: str) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[int, int]:
        alone, text = await travelled(client, f"/e/{EVENT}{page}")
        files = set(re.findall(r'(?:href|src)="(/static/[^"]+)"', text))
        assert files
        return alone, alone + sum([(await travelled(client, file))[0] for file in files])

    alone, visit = ready(work)

    assert alone < PAGE_MOST
    assert visit < VISIT_MOST
