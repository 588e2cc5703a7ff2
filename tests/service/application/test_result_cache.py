"""Results that take a while: asked once for all who ask, kept, asked anew where that failed."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from threading import Event

import pytest

from events.errors import Busy
from service.application.result_cache import RESULTS_MOST, ResultCache
from service.application.solver_pool import SolverPool


@pytest.fixture
def results() -> Iterator[ResultCache]:
    solvers = SolverPool(lambda: ThreadPoolExecutor(2))
    cache = ResultCache(solvers)
    yield cache
    cache.close()
    solvers.close()


def test_who_waits_too_short_is_told_and_the_work_is_done_once(results: ResultCache) -> None:
    go, asked = Event(), []

    def shout(text: str) -> str:
        asked.append(text)
        go.wait()
        return text.upper()

    for _ in range(3):
        with pytest.raises(Busy, match="Look again"):
            results.get("version", shout, "a year", wait_s=0.0)
    go.set()

    assert results.get("version", shout, "a year", wait_s=None) == "A YEAR"
    assert results.get("version", shout, "a year", wait_s=0.0) == "A YEAR"
    assert asked == ["a year"]
    assert results.get("another version", shout, "b", wait_s=None) == "B"


def test_what_failed_is_asked_anew(results: ResultCache) -> None:
    tries = []

    def fails_once(text: str) -> str:
        tries.append(text)
        if len(tries) == 1:
            raise RuntimeError("the solver died")
        return text.upper()

    with pytest.raises(RuntimeError, match="died"):
        results.get("version", fails_once, "x", wait_s=None)

    assert results.get("version", fails_once, "x", wait_s=None) == "X"


def test_old_results_are_let_go(results: ResultCache) -> None:
    asked = []

    def remember(text: str) -> str:
        asked.append(text)
        return text

    for n in range(RESULTS_MOST + 1):
        results.get(f"version {n}", remember, str(n), wait_s=None)
    results.get(f"version {RESULTS_MOST}", remember, "cached", wait_s=None)
    results.get("version 0", remember, "anew", wait_s=None)

    assert asked[-2:] == [str(RESULTS_MOST), "anew"]
