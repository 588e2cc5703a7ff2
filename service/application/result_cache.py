"""Answers that take a solver's process some seconds: asked once, kept, and waited for a while."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from threading import Lock

from events.errors import Busy

KEEP_MOST = 60  # answers; older ones are asked anew


class ResultCache:
    """What was asked of the solvers about each version of an event."""

    def __init__(self, run: Callable[[Callable[[str], str], str], str]) -> None:
        self._run, self._lock = run, Lock()
        self._threads = ThreadPoolExecutor(2, "answers")
        self._asked: dict[tuple[str, str], Future[str]] = {}

    def get(self, mark: str, work: Callable[[str], str], text: str, wait_s: float | None) -> str:
        """Return what work makes of a text; raises Busy where that takes longer than the wait.

        Without a limit (None) it waits as long as it takes.
        """
        key = (mark, work.__name__)
        with self._lock:
            asked = self._asked.get(key)
            if asked is None or (asked.done() and asked.exception() is not None):
                asked = self._asked[key] = self._threads.submit(self._run, work, text)
                if len(self._asked) > KEEP_MOST:
                    del self._asked[next(iter(self._asked))]
        try:
            return asked.result(wait_s)
        except TimeoutError:
            raise Busy("This is still being counted. Look again in a moment.") from None

    def close(self) -> None:
        """Wait for nothing more."""
        self._threads.shutdown(wait=False, cancel_futures=True)
