"""Who may ask what: each route's least role, links that open one event, end and can be closed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any

import httpx
import pytest
from fastapi import APIRouter
from fastapi.routing import APIRoute

from events.reading.samples import sample_text
from events.storage.tables import Role
from events.table import changed
from service.access import RANK, Least, least_role, names_a_role
from service.app import ROUTERS
from tests.app import EVENT, HTML, NOON, Door, planned, put_in

API = f"/api/events/{EVENT}"
# Routes that are not the organiser's alone. A new one must be added here, and at the route.
LEAST_ROLES: dict[str, Least] = {
    "GET /e/{name}": "helper",
    "GET /e/{name}/sheet": "helper",
    "GET /e/{name}/stations": "helper",
    "GET /e/{name}/stations/{cooker_id}": "helper",
    "GET /e/{name}/show": "helper",
    "GET /e/{name}/show/{cooker_id}": "helper",
    "GET /e/{name}/jobs": "helper",
    "GET /e/{name}/jobs/{helper_id}": "helper",
    "GET /e/{name}/jobs/{helper_id}/calendar": "helper",
    "GET /e/{name}/now": "helper",
    "GET /e/{name}/day.ics": "helper",
    "POST /e/{name}/diary": "helper",
    "GET /e/{name}/contest": "helper",
    "GET /e/{name}/contest/table": "helper",
    "GET /e/{name}/contest/team/{team_id}": "board",
    "GET /e/{name}/results": "board",
    "GET /e/{name}/rota": "helper",
    "GET /e/{name}/rota/stop/{stop_id}": "helper",
    "GET /e/{name}/rota/group/{group_id}": "board",
    "GET /e/{name}/board": "board",
    "GET /e/{name}/live": "board",
    "GET /e/{name}/state": "board",
    "GET /api/events/{name}": "helper",
    "GET /api/events/{name}/plan": "helper",
    "GET /api/events/{name}/rota": "helper",
    "GET /api/events/{name}/contest": "helper",
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
    least: Least

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


def test_every_other_route_names_who_may() -> None:
    for router in ROUTERS:
        for route in router.routes:
            assert isinstance(route, APIRoute)
            assert of_an_event(route.path) or names_a_role(route.endpoint), route.path


def test_a_route_that_forgets_to_name_a_role_is_closed_to_all(door: Door) -> None:
    async def work(client: httpx.AsyncClient) -> int:
        assert door.app is not None
        router = APIRouter()
        router.get("/forgotten")(lambda: "open")
        door.app.include_router(router)
        return (await client.get("/forgotten")).status_code

    assert door(work) == 404


def test_the_host_that_a_request_names_opens_nothing(closed: Door) -> None:
    """On 0.2, with a starlette that was allowed, `Host: x/samples/?` opened every event."""

    async def work(client: httpx.AsyncClient) -> list[int]:
        await put_in(client)
        client.headers.pop("authorization")
        hosts = ("x/samples/?", "x/static/", "x/l/?", "x/api/schema/event?")
        return [
            (await client.get(path, headers={"host": host})).status_code
            for host in hosts
            for path in (API, f"/e/{EVENT}/links")
        ]

    assert set(closed(work)) == {404}


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
        assert asked.least in RANK, asked.name
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


FORM = {"text": sample_text("school-day")}


@pytest.mark.parametrize("path", ["/samples/school-day", "/events"])
def test_two_people_who_send_the_same_get_an_event_each(closed: Door, path: str) -> None:
    async def work(client: httpx.AsyncClient) -> tuple[set[str], set[str]]:
        keys: list[set[str]] = []
        for _ in range(2):
            client.cookies.clear()
            made = await client.post(path, data=FORM, headers=HTML)
            assert made.status_code == 303, made.text
            keys.append({c for c in client.cookies if c != "noonfare-link-to-keep"})
        return keys[0], keys[1]

    first, second = closed(work)

    assert first
    assert not first & second


def test_who_makes_an_event_is_in_at_once_and_is_shown_a_link_to_keep(closed: Door) -> None:
    async def work(client: httpx.AsyncClient) -> Any:
        made = await client.post("/samples/school-day", headers=HTML)
        keep = await client.get(made.headers["location"], headers=HTML)
        name = made.headers["location"].split("/")[2]
        mine = dict(client.cookies)
        client.cookies.clear()
        token = re.findall(r"/l/([\w-]+)", keep.text)[0]
        other = await client.post(f"/l/{token}", headers=HTML)
        day = await client.get(f"/e/{name}", headers=HTML)
        client.cookies.clear()
        client.cookies.update(mine)
        return keep, other, day, await client.get(f"/e/{name}", headers=HTML)

    keep, other, other_day, day = closed(work)

    assert "Keep this link" in keep.text
    assert (other.status_code, other_day.status_code) == (303, 200)
    assert day.status_code == 200, "the link that is kept is not the key of this browser"


def test_the_first_page_lists_what_this_browser_may_open_and_no_more(closed: Door) -> None:
    async def work(client: httpx.AsyncClient) -> list[str]:
        await client.post("/samples/school-day", headers=HTML)
        listed = (await client.get("/", headers=HTML)).text
        client.cookies.clear()
        return [listed, (await client.get("/", headers=HTML)).text]

    holder, stranger = closed(work)

    assert "/e/school-day" in holder
    assert "/e/school-day" not in stranger


def test_a_second_organiser_can_be_let_in(closed: Door) -> None:
    async def work(client: httpx.AsyncClient) -> int:
        await put_in(client)
        made = await client.post(f"/e/{EVENT}/links", data={"role": "organiser"}, headers=HTML)
        token = re.findall(r"/l/([\w-]+)", made.text)[0]
        client.headers.pop("authorization")
        await client.post(f"/l/{token}", headers=HTML)
        return (await client.get(f"/e/{EVENT}/links", headers=HTML)).status_code

    assert closed(work) == 200


def test_a_key_lasts_until_after_the_event_and_is_renewed_by_use(closed: Door) -> None:
    closed.now = NOON - timedelta(days=170)

    async def used(client: httpx.AsyncClient) -> int:
        return (await client.get(f"/e/{EVENT}", headers=key)).status_code

    async def make(client: httpx.AsyncClient) -> str:
        return str((await put_in(client)).json()["organiser_token"])

    key = {**HTML, "authorization": f"Bearer {closed(make)}"}
    after = []
    for days in (0, 20, 45, 70, 130):
        closed.now = NOON + timedelta(days=days)
        after.append(closed(used))

    assert after == [200, 200, 200, 200, 404]


def test_an_event_that_moves_to_a_later_day_takes_its_links_along(closed: Door) -> None:
    async def work(client: httpx.AsyncClient) -> int:
        await put_in(client)
        made = await client.post(f"/e/{EVENT}/links", data={"role": "helper:bo"}, headers=HTML)
        token = re.findall(r"/l/([\w-]+)", made.text)[0]
        stored = closed.services.events.get(EVENT)
        closed.solvers.hold()  # no plan of the other day is looked at
        moved = changed(stored.event, date=stored.date + timedelta(days=60))
        closed.services.events.change(EVENT, moved, etag=stored.fingerprint)
        closed.now = NOON + timedelta(days=60)
        return (await client.get(f"/l/{token}")).status_code

    assert closed(work) == 303


def test_an_organiser_who_looks_at_a_helpers_page_is_not_that_helper(closed: Door) -> None:
    """Hand out says who has opened the plan: the page tells it, on the helper's own link alone."""

    async def work(client: httpx.AsyncClient) -> tuple[str, str]:
        await put_in(client)
        await planned(client)
        made = await client.post(f"/e/{EVENT}/links", data={"role": "helper:bo"}, headers=HTML)
        token = re.findall(r"/l/([\w-]+)", made.text)[0]
        organisers = (await client.get(f"/e/{EVENT}/jobs/bo", headers=HTML)).text
        client.headers.pop("authorization")
        client.cookies.clear()
        await client.get(f"/l/{token}")
        return organisers, (await client.get(f"/e/{EVENT}/jobs/bo", headers=HTML)).text

    organisers, own = closed(work)

    assert 'data-seen=""' in organisers
    assert re.search(r'data-seen="[\w-]+"', own)
