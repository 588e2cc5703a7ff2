"""A running app on a fresh database, spoken to without a socket."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

import httpx
import pytest
from fastapi import FastAPI

from service.app import create_app
from service.settings import Settings
from tests.conftest import database_url

NOON = datetime(2026, 11, 28, 8, 30, tzinfo=UTC)  # 10:30 at the harvest lunch
T = TypeVar("T")


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
        app: FastAPI = create_app(self.settings, clock=lambda: self.now)
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
