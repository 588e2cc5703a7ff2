"""Answers that take a while: asked once for all who ask, kept, asked anew where it failed."""

from __future__ import annotations

from collections.abc import Callable
from threading import Event

import pytest

from events.errors import Busy
from service.application.result_cache import KEEP_MOST, ResultCache


def echo(text: str) -> str:
    return text.upper()


def test_who_waits_too_short_is_told_and_the_work_is_done_once() -> None:
    go, asked = Event(), []

    def run(work: Callable[[str], str], text: str) -> str:
        asked.append(text)
        go.wait()
        return work(text)

    answers = ResultCache(run)
    for _ in range(3):
        with pytest.raises(Busy, match="Look again"):
            answers.get("mark", echo, "a year", 0.0)
    go.set()

    assert answers.get("mark", echo, "a year", None) == "A YEAR"
    assert answers.get("mark", echo, "a year", 0.0) == "A YEAR"
    assert asked == ["a year"]
    assert answers.get("another mark", echo, "b", None) == "B"
    answers.close()


def test_what_failed_is_asked_anew() -> None:
    tries = []

    def run(work: Callable[[str], str], text: str) -> str:
        tries.append(text)
        if len(tries) == 1:
            raise RuntimeError("the solver died")
        return work(text)

    answers = ResultCache(run)
    with pytest.raises(RuntimeError, match="died"):
        answers.get("mark", echo, "x", None)

    assert answers.get("mark", echo, "x", None) == "X"
    answers.close()


def test_old_answers_are_let_go() -> None:
    asked = []

    def run(work: Callable[[str], str], text: str) -> str:
        asked.append(text)
        return work(text)

    answers = ResultCache(run)
    for n in range(KEEP_MOST + 1):
        answers.get(f"mark {n}", echo, str(n), None)
    answers.get(f"mark {KEEP_MOST}", echo, "kept", None)
    answers.get("mark 0", echo, "anew", None)

    assert asked[-2:] == [str(KEEP_MOST), "anew"]
    answers.close()
