"""Who may ask what: each route's least role, links that open one event, end and can be closed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any

import httpx
import pytest
from fastapi.routing import APIRoute

from events.reading.samples import sample_text
from events.storage.tables import Role
from service.access import RANK, least_role
from service.app import ROUTERS
from tests.app import EVENT, HTML, NOON, Door, put_in

API = f"/api/events/{EVENT}"
# Routes that are not the organiser's alone. A new one must be added here, and at the route.
LEAST_ROLES: dict[str, Role] = {
    "GET /e/{name}": "helper",
    "GET /e/{name}/sheet": "helper",
    "GET /e/{name}/stations": "helper",
    "GET /e/{name}/stations/{cooker_id}": "helper",
    "GET /e/{name}/jobs": "helper",
    "GET /e/{name}/jobs/{helper_id}": "helper",
    "GET /e/{name}/jobs/{helper_id}/trouble": "helper",
    "GET /e/{name}/now": "helper",
    "GET /e/{name}/day.ics": "helper",
    "POST /e/{name}/diary": "helper",
    "GET /e/{name}/board": "board",
    "GET /e/{name}/live": "board",
    "GET /api/events/{name}": "helper",
    "GET /api/events/{name}/plan": "helper",
    "GET /api/events/{name}/turns": "helper",
    "GET /api/events/{name}/window": "helper",
    "GET /api/events/{name}/diary": "helper",
    "POST /api/events/{name}/diary": "helper",
}
SAMPLE = {"name": EVENT, "cooker_id": "mirror-1", "cooker": "mirror-1", "helper_id": "asta"}
REFUSED = f"No event “{EVENT}” here."


@dataclass(frozen=True)
class Asked:
    """One route as it is asked: GET /e/{name}/sheet."""

    method: str
    path: str
    least: Role

    @property
    def name(self) -> str:
        return f"{self.method} {self.path}"

    @property
    def url(self) -> str:
        return re.sub(r"\{(\w+)\}", lambda m: SAMPLE.get(m[1], "1"), self.path)


def routes() -> Iterator[Asked]:
    for router in ROUTERS:
        for route in router.routes:
            assert isinstance(route, APIRoute)
            for method in route.methods:
                yield Asked(method, route.path, least_role(route.endpoint))


def of_an_event(path: str) -> bool:
    return path.startswith(("/e/", "/api/events/"))


def test_every_route_of_an_event_names_the_event() -> None:
    for asked in routes():
        assert ("{name}" in asked.path) == of_an_event(asked.path), asked.name


def test_a_route_that_names_no_role_is_the_organisers() -> None:
    for asked in filter(lambda a: of_an_event(a.path), routes()):
        assert asked.least == LEAST_ROLES.get(asked.name, "organiser"), asked.name


@pytest.mark.parametrize("role", [None, "board", "helper"])
def test_every_route_of_an_event_is_closed_to_lesser_roles(closed: Door, role: Role | None) -> None:
    async def work(client: httpx.AsyncClient) -> dict[Asked, str]:
        await put_in(client)
        form = {"role": "helper:asta" if role == "helper" else "board"}
        made = await client.post(f"/e/{EVENT}/links", data=form, headers=HTML)
        token = re.findall(r"/l/([\w-]+)", made.text)[0] if role else ""
        client.headers["authorization"] = f"Bearer {token}"
        closed.app.state.closing = True  # type: ignore[union-attr]  # ends the stream of news
        return {
            asked: (await client.request(asked.method, asked.url)).text
            for asked in routes()
            if of_an_event(asked.path)
        }

    answers = closed(work)

    assert len(answers) > 50
    rank = RANK[role] if role else -1
    for asked, answer in answers.items():
        assert (REFUSED in answer) == (rank < RANK[asked.least]), (role, asked.name, answer)


@pytest.fixture
def closed(door: Door) -> Door:
    door.settings = replace(door.settings, open=False)
    return door


def test_without_a_link_there_is_nothing(closed: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[int]:
        await put_in(client)
        client.headers.pop("authorization")
        paths = ["", "/sheet", "/jobs/asta", "/board", "/paper.pdf", "/links", "/diary", "/help"]
        answers = [await client.get(f"/e/{EVENT}{p}", headers=HTML) for p in paths]
        answers += [
            await client.get(f"{API}{p}") for p in ("", "/plan", "/file", "/diary", "/fixes")
        ]
        answers.append(await client.post(f"{API}/diary", json={}))
        answers.append(await client.put(API, content="x", headers={"if-match": '"x"'}))
        listed = await client.get("/api/events")
        assert listed.json() == []
        return [a.status_code for a in answers]

    assert set(closed(work)) == {404}


def test_a_link_of_one_event_opens_no_other(closed: Door) -> None:
    async def work(client: httpx.AsyncClient) -> int:
        await put_in(client)
        body = sample_text("school-day")
        other = await client.post("/api/events", content=body, headers={"content-type": "x/toml"})
        return (await client.get(f"/api/events/{other.json()['id']}")).status_code

    assert closed(work) == 404


def test_the_organisers_link_is_spent_at_its_first_use(closed: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[Any]:
        token = (await put_in(client)).json()["organiser_token"]
        client.headers.pop("authorization")
        look = await client.get(f"/l/{token}", headers=HTML)
        used = await client.post(f"/l/{token}", headers=HTML)
        again = await client.post(f"/l/{token}", headers=HTML)
        day = await client.get(f"/e/{EVENT}", headers=HTML)
        old = httpx.Headers({"authorization": f"Bearer {token}"})
        client.cookies.clear()
        bearer = await client.get(API, headers=old)
        return [look, used, again, day, bearer]

    look, used, again, day, bearer = closed(work)

    assert look.status_code == 200, "a look changes nothing: chat programs fetch links"
    assert used.status_code == 303
    assert "httponly" in used.headers["set-cookie"].lower()
    assert again.status_code == 404
    assert day.status_code == 200
    assert bearer.status_code == 404


def test_a_closed_or_ended_link_opens_nothing_and_none_is_kept_in_clear(closed: Door) -> None:
    async def work(client: httpx.AsyncClient) -> Any:
        await put_in(client)
        made = await client.post(f"/e/{EVENT}/links", data={"role": "helper:bo"}, headers=HTML)
        token = re.findall(r"/l/([\w-]+)", made.text)[0]
        opened = await client.get(f"/l/{token}")
        page = (await client.get(f"/e/{EVENT}/links", headers=HTML)).text
        for mark in re.findall(r'name="digest" value="([0-9a-f]{64})" aria-label="[^"]*Bo', page):
            await client.post(f"/e/{EVENT}/links/revoke", data={"digest": mark})
        closed_now = await client.get(f"/l/{token}")
        return token, opened, closed_now

    token, opened, closed_now = closed(work)

    assert opened.headers["location"] == f"/e/{EVENT}/jobs/bo"
    assert closed_now.status_code == 404
    kept = b"".join(p.read_bytes() for p in closed.settings.data_dir.iterdir())
    assert token.encode() not in kept
    closed.now = NOON + timedelta(days=31)

    async def later(client: httpx.AsyncClient) -> int:
        return (await client.get(f"/l/{token}")).status_code

    assert closed(later) == 404
