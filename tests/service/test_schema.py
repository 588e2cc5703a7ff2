"""Every route against its own OpenAPI document: whatever is sent, the answer is one it promises.

NOONFARE_TEST_EXAMPLES says how many requests each operation gets; `python -m tests.long schema`
sends 300.
"""

from __future__ import annotations

import asyncio
import os
import threading
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.core.failures import FailureGroup
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from tests.app import EVENT, Door

CHECKS = (
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
)
EXAMPLES = int(os.environ.get("NOONFARE_TEST_EXAMPLES", "8"))
QUIET: dict[str, Any] = {"deadline": None, "suppress_health_check": list(HealthCheck)}


def checks_of(case: Any) -> tuple[Any, ...]:
    """Return what an answer is held to; the forecast's door promises 502: no address is set."""
    return CHECKS[1:] if case.path.endswith("/weather") else CHECKS


@pytest.fixture(scope="module")
def api(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Yield the schema of an app whose lifespan is kept running in a thread."""
    door = Door(tmp_path_factory.mktemp("data"))
    door.settings = replace(door.settings, demo=True, hosts=("testserver",))
    app = door.make_app()
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
    tried, broken = 0, []
    for found in api.get_all_operations():
        operation = found.ok()

        @given(case=operation.as_strategy(), real=st.integers(0, 3))
        @settings(max_examples=EXAMPLES, **QUIET)
        def keeps(case: Any, real: int) -> None:
            if real and "name" in case.path_parameters:
                case.path_parameters["name"] = EVENT  # else nearly all find no event
            case.call_and_validate(checks=checks_of(case), timeout=None)

        try:
            keeps()
        except (Exception, FailureGroup) as failure:
            broken.append(f"{operation.label}: {failure!r} {getattr(failure, '__notes__', '')}")
        tried += 1
    assert not broken
    assert tried >= 12


@pytest.mark.slow
def test_the_api_keeps_its_promises_request_after_request(api: Any) -> None:
    """What an answer says is asked for next: events made, cookers, fixes, re-plans by number."""
    seen: set[int] = set()

    class Promises(api.as_state_machine()):  # type: ignore[misc]  # made from the document
        def get_call_kwargs(self, case: Any) -> dict[str, Any]:
            return {**super().get_call_kwargs(case), "timeout": None}

        def validate_response(self, response: Any, case: Any, **_options: Any) -> None:
            seen.add(response.status_code)
            case.validate_response(response, checks=checks_of(case))

    Promises.run(settings=settings(max_examples=EXAMPLES, stateful_step_count=6, **QUIET))

    assert {200, 404} <= seen
