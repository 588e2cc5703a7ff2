"""Field pages are light: what a phone fetches over a bad line, counted as it travels."""

from __future__ import annotations

import gzip
import re

import httpx
import pytest

from tests.app import EVENT, HTML, Door, put_in

PAGES = (
    *("", "/jobs", "/jobs/asta", "/now", "/sheet"),
    *("/stations", "/stations/mirror-1", "/stations/box-1", "/board"),
    *("/show", "/show/mirror-1"),
)
PAGE_MOST, VISIT_MOST = 30_000, 60_000


async def travelled(client: httpx.AsyncClient, path: str) -> tuple[int, str]:
    """Return an answer's bytes on the wire and its text."""
    ask = client.build_request("GET", path, headers={**HTML, "accept-encoding": "gzip"})
    answer = await client.send(ask, stream=True)
    body = b"".join([chunk async for chunk in answer.aiter_raw()])
    assert answer.status_code == 200
    packed = answer.headers.get("content-encoding") == "gzip"
    return len(body), (gzip.decompress(body) if packed else body).decode()


@pytest.fixture(scope="module")
def visits(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[int, int]]:
    """Return the bytes of each page alone, and with all that its first visit fetches."""
    sizes: dict[str, int] = {}

    async def work(client: httpx.AsyncClient) -> dict[str, tuple[int, int]]:
        await put_in(client)
        found = {}
        for page in PAGES:
            alone, text = await travelled(client, f"/e/{EVENT}{page}")
            files = set(re.findall(r'(?:href|src)="(/static/[^"]+)"', text))
            assert files
            for file in files - set(sizes):
                sizes[file], _ = await travelled(client, file)
            found[page] = alone, alone + sum(sizes[file] for file in files)
        return found

    return Door(tmp_path_factory.mktemp("data"))(work)


@pytest.mark.parametrize("page", PAGES)
def test_a_field_page_is_light_and_so_is_its_first_visit(
    visits: dict[str, tuple[int, int]], page: str
) -> None:
    alone, visit = visits[page]

    assert alone < PAGE_MOST
    assert visit < VISIT_MOST


def test_scripts_and_sheets_are_kept_for_a_year_under_their_hash_alone(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[list[str], list[httpx.Response], str]:
        page = (await client.get(f"/e/{EVENT}/jobs/asta", headers=HTML)).text
        named = re.findall(r'(?:href|src)="(/static/[^"]+)"', page)
        plain = f"/static/{named[0].rsplit('/', 1)[1]}"
        old = plain.replace("/static/", "/static/0123456789/")
        answers = [await client.get(path) for path in (*named, plain, old)]
        return named, answers, (await client.get("/sw.js")).text

    named, (*lasting, plain, old), worker = ready(work)

    assert len({path.split("/")[2] for path in named}) == 1
    assert all("immutable" in answer.headers["cache-control"] for answer in lasting)
    assert plain.headers["cache-control"] == old.headers["cache-control"] == "no-cache"
    assert plain.content == old.content == lasting[0].content
    assert f"/static/{named[0].split('/')[2]}/" in worker
    assert "`/static/$" not in worker
