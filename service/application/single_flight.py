"""What many look at and few things change: worked out once for each state, by who asks first."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from concurrent.futures import Future
from threading import Lock
from typing import Generic, TypeVar

T = TypeVar("T")
NAMES_MOST = 50


class SingleFlight(Generic[T]):
    """The newest result under each name; who asks while it is worked out waits for it."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._newest: dict[str, tuple[Hashable, Future[T]]] = {}

    def get(self, name: str, state: Hashable, work: Callable[[], T]) -> T:
        """Return the result for a state; `work` is done where it is not there yet."""
        with self._lock:
            known = self._newest.get(name)
            if known is not None and known[0] == state:
                future, mine = known[1], False
            else:
                future, mine = Future(), True
                self._newest.pop(name, None)
                self._newest[name] = (state, future)
                while len(self._newest) > NAMES_MOST:
                    del self._newest[next(iter(self._newest))]
        if not mine:
            return future.result()
        try:
            future.set_result(work())
        except BaseException as error:
            with self._lock:  # the next who asks tries again
                if self._newest.get(name) == (state, future):
                    del self._newest[name]
            future.set_exception(error)
        return future.result()
