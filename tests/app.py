"""The app as tests run it: it plans in the caller's thread, waits without limit, its clock stands.

So a slow machine changes nothing. What a page shows before an answer is there, a test sees by
holding the solvers. Solver processes of their own are tried by the browser tests' shared server,
tests/service/test_schema.py and tests.long.
"""

from __future__ import annotations

import asyncio
import atexit
import shutil
import socket
import tempfile
from collections.abc import AsyncIterator, Callable, Coroutine
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from threading import Lock, Thread
from typing import Any, TypeVar

import httpx
import uvicorn
from fastapi import FastAPI

from events.errors import Stopped
from events.reading.samples import sample_text
from service.app import create_app
from service.application.lanes import Lane, Order
from service.application.services import Engines, Services
from service.application.solver_pool import NO_ORDER, WorkStanding
from service.settings import Settings
from tests.conftest import database_url

HARVEST = sample_text("harvest-lunch")
EVENT = "harvest-lunch-2026-11-28"
NOON = datetime(2026, 11, 28, 8, 30, tzinfo=UTC)  # 10:30 at the harvest lunch
TOML = {"content-type": "application/toml"}
HTML = {"accept": "text/html"}
T = TypeVar("T")


class OwnThread:
    """Works at once, in the caller's thread; while it is held, not before it is released."""

    def __init__(self) -> None:
        self._one_at_a_time = Lock()
        self._held: list[tuple[Future[Any], Order, Callable[[], None]]] | None = None

    def submit(self, work: Any, payload: str, order: Order = NO_ORDER) -> Future[Any]:
        answer: Future[Any] = Future()

        def run() -> None:
            with self._one_at_a_time:
                try:
                    answer.set_result(work(payload))
                except Exception as error:
                    answer.set_exception(error)

        if self._held is None:
            run()
        else:
            self._held.append((answer, order, run))
        return answer

    def stop(self, event_id: str, lane: Lane) -> int:
        """Stop what is put off of an event in a lane."""
        held = [h for h in self._held or [] if (h[1].event_id, h[1].lane) == (event_id, lane)]
        for one in held:
            (self._held or []).remove(one)
            one[0].set_exception(Stopped("stopped"))
        return len(held)

    def standing(self) -> list[WorkStanding]:
        """Return what is put off."""
        return [WorkStanding(h[1], None, n) for n, h in enumerate(self._held or [])]

    @property
    def waiting(self) -> int:
        """Return how much is put off."""
        return len(self._held or [])

    def hold(self) -> None:
        """Put off what is asked from now on."""
        self._held = []

    def release(self) -> None:
        """Do all that was put off."""
        held, self._held = self._held or [], None
        for *_, run in held:
            run()

    def look(self) -> None:
        """Do nothing: work is done at once."""

    def close(self) -> None:
        """Cancel what is put off."""
        for answer, *_ in self._held or []:
            answer.cancel()


class Door:
    """An app and a client in one event loop; `door(work)` runs a coroutine against it."""

    def __init__(self, data: Path, now: datetime = NOON) -> None:
        self.settings = Settings(
            database_url=database_url(data, ""),
            data_dir=data,
            open=True,
            hosts=(
                "here",
                "farm.test",
                "cook.example",
            ),  # a client, phones, a house
            page_wait_s=None,
            api_wait_s=None,
            forecast_wait_s=None,
            requests_a_minute=10**6,
            watch_days=False,  # it works in the caller's thread; a look is asked for by a page
        )
        self.now = now
        self.solvers = OwnThread()
        self.app: FastAPI | None = None

    def make_app(self) -> FastAPI:
        """Return a new app on this door's data, which plans what was still asked."""
        self.app = create_app(
            self.settings,
            clock=lambda: self.now,
            make_engines=lambda: Engines(self.solvers, OwnThread()),
        )
        return self.app

    @property
    def services(self) -> Services:
        """Return the services of the app that runs; they can be replaced while it does."""
        assert self.app is not None
        services = self.app.state.services
        assert isinstance(services, Services)
        return services

    @services.setter
    def services(self, services: Services) -> None:
        assert self.app is not None
        self.app.state.services = services

    @asynccontextmanager
    async def client(self) -> AsyncIterator[httpx.AsyncClient]:
        app = self.make_app()
        async with app.router.lifespan_context(app):
            transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
            async with httpx.AsyncClient(
                transport=transport, base_url="http://here", timeout=None
            ) as client:
                yield client

    def __call__(self, work: Callable[[httpx.AsyncClient], Coroutine[Any, Any, T]]) -> T:
        async def run() -> T:
            async with self.client() as client:
                return await work(client)

        # In a thread of its own: playwright keeps a loop running in the tests' main thread.
        with ThreadPoolExecutor(1) as thread:
            return thread.submit(lambda: asyncio.run(run())).result()


class Served:
    """A door's app on a free port for a real browser; it can stop as with a dead battery."""

    def __init__(self, door: Door, port: int = 0) -> None:
        self.door = door
        self._app = door.make_app()
        self._socket = socket.socket()
        self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        self._socket.bind(("127.0.0.1", port))
        self._socket.listen()  # who comes before the app has begun waits in the line
        self.port = self._socket.getsockname()[1]
        self.base = f"http://127.0.0.1:{self.port}"
        self._server = uvicorn.Server(uvicorn.Config(self._app, log_level="warning"))
        self._thread = Thread(target=self._server.run, args=([self._socket],))
        self._thread.start()

    def stop(self) -> None:
        """Stop; open lines to pages are cut."""
        self._app.state.closing = True
        self._server.should_exit = True
        self._thread.join()

    def again(self) -> Served:
        """Start once more at the same address, on the same data."""
        return Served(self.door, self.port)


async def put_in(client: httpx.AsyncClient, text: str = HARVEST) -> httpx.Response:
    """Put an event file in, the harvest lunch's unless another is given; the client gets its link.

    It is planned at once, unless the solvers are held.
    """
    made = await client.post("/api/events", content=text, headers=TOML)
    if made.status_code == 201 and made.json()["organiser_token"]:
        client.headers["authorization"] = f"Bearer {made.json()['organiser_token']}"
    return made


@cache
def _planned_data(sample: str) -> Path:
    """Return a folder of data in which a sample is, planned."""
    data = Path(tempfile.mkdtemp(prefix="noonfare-ready-"))
    atexit.register(shutil.rmtree, data, ignore_errors=True)
    Door(data)(lambda client: put_in(client, sample_text(sample)))
    return data


def with_sample(door: Door, sample: str = "harvest-lunch") -> Door:
    """Put a sample, planned, into a door's empty data: a copy of what was made once."""
    if door.settings.database_url or not door.settings.open:
        # On a server, which no copied file brings, or where its maker is told from others.
        door(lambda client: put_in(client, sample_text(sample)))
    else:
        shutil.copytree(_planned_data(sample), door.settings.data_dir, dirs_exist_ok=True)
    return door


async def fingerprint_of(client: httpx.AsyncClient, name: str = EVENT) -> str:
    """Return the fingerprint of an event's present version."""
    return (await client.get(f"/api/events/{name}")).headers["etag"].strip('"')


async def planned(client: httpx.AsyncClient, name: str = EVENT) -> dict[str, Any]:
    """Return an event's plan."""
    answer = await client.get(f"/api/events/{name}/plan")
    assert answer.status_code == 200, answer.text
    return dict(answer.json()["plan"])
