"""Every route against its own OpenAPI document: whatever is sent, the answer is one it promises."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from service.app import create_app
from tests.app import NOON, Door

CHECKS = (
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
)


@pytest.fixture(scope="module")
def api(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Yield the schema of an app whose lifespan is kept running in a thread."""
    settings = replace(Door(tmp_path_factory.mktemp("data")).settings, demo=True)
    app = create_app(settings, clock=lambda: NOON)  # its solver is a process of its own
    begun, over = threading.Event(), asyncio.Event()
    loop = asyncio.new_event_loop()

    async def live() -> None:
        async with app.router.lifespan_context(app):
            begun.set()
            await over.wait()

    thread = threading.Thread(target=loop.run_until_complete, args=(live(),))
    thread.start()
    begun.wait()
    yield schemathesis.openapi.from_asgi("/api/openapi.json", app)
    loop.call_soon_threadsafe(over.set)
    thread.join()
    loop.close()


@pytest.mark.slow
def test_the_api_keeps_its_promises(api: Any) -> None:
    """Any request gets a promised status, shape and type, and never breaks the service."""
    tried = 0
    for found in api.get_all_operations():
        operation = found.ok()

        @given(case=operation.as_strategy())
        @settings(max_examples=12, suppress_health_check=list(HealthCheck), deadline=None)
        def keeps(case: Any) -> None:
            # The forecast's door promises 502: no address is set here.
            checks = CHECKS[1:] if case.path.endswith("/weather") else CHECKS
            case.call_and_validate(checks=checks, timeout=None)

        keeps()
        tried += 1
    assert tried >= 12
