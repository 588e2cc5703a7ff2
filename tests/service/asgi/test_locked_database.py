"""A database that another program holds: 503 with what to do, and no form's words are lost."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from contextlib import contextmanager

import httpx
import pytest
import sqlalchemy as sa

from events.storage import tables as t
from tests.app import EVENT, HTML, Door

pytestmark = pytest.mark.slow

PRESS = {"kind": "note", "id": "press-12345", "note": 'lid "hot" & steam', "helper_id": "asta"}


@contextmanager
def held(door: Door) -> Iterator[None]:
    """Hold the event's row, and on SQLite the whole database, as another program does."""
    engine = sa.create_engine(door.settings.url())
    with engine.begin() as db:
        db.execute(sa.update(t.event).values(title=t.event.c.title))
        yield
    engine.dispose()


def test_a_press_is_told_to_be_sent_again_and_keeps_its_words(ready: Door) -> None:
    """On 0.2 this was 500 after five seconds, and nothing was kept of a form."""

    async def work(client: httpx.AsyncClient) -> None:
        with held(ready):
            page = await client.post(f"/e/{EVENT}/diary", data=PRESS, headers=HTML)
            sent = {"id": "press-12346", "kind": "note", "at": "2026-11-28T08:30:00Z"}
            answer = await client.post(f"/api/events/{EVENT}/diary", json=sent)
        fields = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', page.text))
        again = {key: html.unescape(value) for key, value in fields.items()}

        assert page.status_code == answer.status_code == 503
        assert "Send it again in a few seconds" in page.text
        assert answer.headers["retry-after"]
        assert again == PRESS
        assert (await client.post(f"/e/{EVENT}/diary", data=again)).status_code == 303
        (kept,) = (await client.get(f"/api/events/{EVENT}/diary")).json()
        assert kept["stored"]["entry"]["note"] == PRESS["note"]

    ready(work)


def test_cookies_are_for_https_alone_where_the_service_is_behind_it(ready: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[str]:
        token = ready.services.links.make(EVENT, "helper", helper_id="asta")
        paths = (f"http://here/l/{token}", f"https://here/l/{token}")
        return [(await client.get(path)).headers["set-cookie"] for path in paths]

    plain, behind_https = ready(work)

    assert "Secure" not in plain
    assert behind_https.endswith("; Secure")
