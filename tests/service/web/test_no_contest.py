"""The contest's pages on a day that is none."""

from __future__ import annotations

import httpx

from tests.app import EVENT, HTML, Door


def test_an_event_without_a_contest_says_so_on_each_of_its_pages_and_where_it_is_added(
    ready: Door,
) -> None:
    async def work(client: httpx.AsyncClient) -> list[httpx.Response]:
        paths = ("contest", "contest/count", "results", "contest/table", "contest.pdf")
        answers = [await client.get(f"/e/{EVENT}/{p}", headers=HTML) for p in paths]
        return [*answers, await client.get(f"/vote/{EVENT}", headers=HTML)]

    *pages, vote = ready(work)

    assert {page.status_code for page in (*pages, vote)} == {404}
    for page in pages:
        assert "This day is no contest" in page.text
        assert f'href="/e/{EVENT}/plan/contest"' in page.text
    assert "Nothing is voted on here" in vote.text
    assert "/plan/contest" not in vote.text  # whoever votes plans nothing
    assert not any("have access" in page.text for page in (*pages, vote))
