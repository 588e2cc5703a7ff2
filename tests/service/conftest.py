"""A running app on a fresh database, spoken to without a socket."""

from __future__ import annotations

import asyncio
import json
import shutil
from collections.abc import AsyncIterator, Callable, Coroutine
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

import httpx
import pytest
from fastapi import FastAPI

from events.reading.event_file import sample_text
from events.storage.tables import PlanState
from service.app import create_app
from service.application.solver_jobs import plan_text
from service.settings import Settings
from tests.conftest import database_url

NOON = datetime(2026, 11, 28, 8, 30, tzinfo=UTC)  # 10:30 at the harvest lunch
T = TypeVar("T")


_plans: dict[str, tuple[PlanState, str]] = {}


class Remembering(ThreadPoolExecutor):
    """Solves in a thread, and the same morning's plan only once in a run of tests.

    Solver processes of their own are tried in the browser tests, test_cli and tests.long.
    """

    def __init__(self) -> None:
        super().__init__(1)

    def submit(self, work: Any, /, *args: Any, **more: Any) -> Future[Any]:
        return super().submit(_remembered, work, *args, **more)


def _remembered(work: Callable[[str], Any], text: str) -> Any:
    if work is not plan_text or json.loads(text)["plan"] is not None:
        return work(text)
    file = json.loads(text)["file"]
    if file not in _plans:
        _plans[file] = plan_text(text)
    return _plans[file]


class Door:
    """An app and a client in one event loop; `door(work)` runs a coroutine against it."""

    def __init__(self, data: Path, now: datetime = NOON, *, demo: bool = False) -> None:
        self.settings = Settings(
            database_url=database_url(data, ""),
            data_dir=data,
            demo=demo,
            open=True,
            requests_a_minute=10**6,
        )
        self.now = now

    @asynccontextmanager
    async def client(self) -> AsyncIterator[httpx.AsyncClient]:
        app: FastAPI = create_app(self.settings, clock=lambda: self.now, make_pool=Remembering)
        async with app.router.lifespan_context(app):
            transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
            async with httpx.AsyncClient(transport=transport, base_url="http://here") as client:
                yield client

    def __call__(self, work: Callable[[httpx.AsyncClient], Coroutine[Any, Any, T]]) -> T:
        async def run() -> T:
            async with self.client() as client:
                return await work(client)

        # In a thread of its own: playwright keeps a loop running in the tests' main thread.
        with ThreadPoolExecutor(1) as thread:
            return thread.submit(lambda: asyncio.run(run())).result()


async def planned(client: httpx.AsyncClient, name: str) -> dict[str, Any]:
    """Wait for an event's plan; a plan that is not there in a minute is a failure."""
    for _ in range(600):
        answer = await client.get(f"/api/events/{name}/plan")
        if answer.status_code != 202:
            assert answer.status_code == 200, answer.text
            return answer.json()["plan"]
        await asyncio.sleep(0.1)
    raise AssertionError("no plan within a minute")


@pytest.fixture
def door(tmp_path: Path) -> Door:
    return Door(tmp_path)


@pytest.fixture(scope="session")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the harvest lunch in its database, planned: made once, then copied."""
    folder = tmp_path_factory.mktemp("prepared")

    async def work(client: httpx.AsyncClient) -> None:
        await client.post(
            "/api/events",
            content=sample_text("harvest-lunch"),
            headers={"content-type": "application/toml"},
        )
        await planned(client, "harvest-lunch-2026-11-28")

    Door(folder)(work)
    return folder


@pytest.fixture
def ready(tmp_path: Path, prepared: Path) -> Door:
    """Return a door to a database of its own in which the harvest lunch is planned already."""
    shutil.copytree(prepared, tmp_path, dirs_exist_ok=True)
    database_url(tmp_path, "", like=prepared)
    return Door(tmp_path)
