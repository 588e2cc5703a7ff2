"""The menu of each role: what stands on a helper's pages opens for a helper."""

from __future__ import annotations

import re
from dataclasses import replace

import httpx

from tests.app import EVENT, HTML, Door, put_in


def test_every_link_on_a_helpers_pages_opens_for_a_helper(door: Door) -> None:
    door.settings = replace(door.settings, open=False)

    async def work(client: httpx.AsyncClient) -> dict[str, int]:
        await put_in(client)
        made = await client.post(f"/e/{EVENT}/links", data={"role": "helper:asta"}, headers=HTML)
        token = re.findall(r"/l/([\w-]+)", made.text)[0]
        client.headers["authorization"] = f"Bearer {token}"
        seen: dict[str, int] = {}
        todo = [f"/e/{EVENT}/jobs/asta"]
        while todo:
            path = todo.pop()
            answer = await client.get(path, headers=HTML)
            seen[path] = answer.status_code
            links = re.findall(r'href="(/e/[^"#?]+)', answer.text)
            todo += [link for link in set(links) if link not in seen and link not in todo]
        return seen

    seen = door(work)

    assert set(seen.values()) == {200}, {p: s for p, s in seen.items() if s != 200}
    assert f"/e/{EVENT}/stations/mirror-1" in seen


def test_an_organisers_menu_holds_the_plan_and_a_helpers_does_not(door: Door) -> None:
    door.settings = replace(door.settings, open=False)

    async def work(client: httpx.AsyncClient) -> list[str]:
        await put_in(client)
        pages = [(await client.get(f"/e/{EVENT}/sheet", headers=HTML)).text]
        made = await client.post(f"/e/{EVENT}/links", data={"role": "helper:asta"}, headers=HTML)
        token = re.findall(r"/l/([\w-]+)", made.text)[0]
        client.headers["authorization"] = f"Bearer {token}"
        return [*pages, (await client.get(f"/e/{EVENT}/sheet", headers=HTML)).text]

    organisers, helpers = door(work)

    assert f"/e/{EVENT}/plan/dishes" in organisers
    assert f"/e/{EVENT}/plan/dishes" not in helpers
