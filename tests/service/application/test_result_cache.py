"""Results that take a while: asked once for all who ask, kept, asked anew where that failed."""

from __future__ import annotations

import asyncio
from concurrent.futures import Future, ThreadPoolExecutor

import pytest

from events.errors import Busy
from service.application.lanes import Lane, Order
from service.application.result_cache import RESULTS_MOST, WAITING_MOST, ResultCache
from service.application.waiting import waiting
from tests.app import OwnThread


def arrives(work: Future[str]) -> bool:
    """Ask in a thread of its own: a browser's tests may leave a loop running in this one."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(lambda: asyncio.run(waiting(work).arrives(0.0))).result()


ORDER = Order(Lane.ADVICE, "lunch")


def test_work_is_done_once_for_all_who_ask() -> None:
    solvers, asked = OwnThread(), []
    results = ResultCache(solvers)

    def shout(text: str) -> str:
        asked.append(text)
        return text.upper()

    solvers.hold()
    held = [results.ask("version", shout, "a year", order=ORDER) for _ in range(3)]
    with pytest.raises(Busy, match="Look again"):
        waiting(held[0]).result()
    assert not arrives(held[0])
    solvers.release()

    assert [waiting(h).result() for h in held] == ["A YEAR"] * 3
    assert arrives(held[0])
    assert results.ask("version", shout, "a year", order=ORDER).result() == "A YEAR"
    assert asked == ["a year"]
    assert results.ask("another version", shout, "b", order=ORDER).result() == "B"


def test_what_failed_is_asked_anew() -> None:
    results, tries = ResultCache(OwnThread()), []

    def fails_once(text: str) -> str:
        tries.append(text)
        if len(tries) == 1:
            raise RuntimeError("the solver died")
        return text.upper()

    with pytest.raises(RuntimeError, match="died"):
        results.ask("version", fails_once, "x", order=ORDER).result()

    assert results.ask("version", fails_once, "x", order=ORDER).result() == "X"


def test_old_results_are_let_go() -> None:
    results, asked = ResultCache(OwnThread()), []

    def remember(text: str) -> str:
        asked.append(text)
        return text

    for n in range(RESULTS_MOST + 1):
        results.ask(f"version {n}", remember, str(n), order=ORDER)
    results.ask(f"version {RESULTS_MOST}", remember, "cached", order=ORDER)
    results.ask("version 0", remember, "anew", order=ORDER)

    assert asked[-2:] == [str(RESULTS_MOST), "anew"]


def test_only_so_many_questions_about_one_event_wait() -> None:
    solvers = OwnThread()
    results = ResultCache(solvers)
    solvers.hold()
    for n in range(WAITING_MOST):
        results.ask(f"version {n}", str.upper, "x", order=ORDER)

    with pytest.raises(Busy, match="are being counted"):
        results.ask("one more", str.upper, "x", order=ORDER)

    assert results.ask("another", str.upper, "x", order=Order(Lane.ADVICE, "other"))
    assert results.ask("version 0", str.upper, "x", order=ORDER), "the same again is no more"
