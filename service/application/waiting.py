"""An answer that comes later, from a solver: what it will be read as, and how to wait for it."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import CancelledError, Future
from dataclasses import dataclass
from typing import Generic, TypeVar, cast

from events.errors import Busy

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)
LATER = "This is still being counted. Look again in a moment."


@dataclass(frozen=True)
class Waiting(Generic[T_co]):
    """An answer that a solver works at; `read` makes of its result what was asked for."""

    future: Future[object]
    read: Callable[[object], T_co]

    async def arrives(self, wait_s: float | None) -> bool:
        """Wait without holding a thread; return whether it came. None is as long as it takes."""
        if not self.future.done():
            # Not wait_for: giving up must not cancel what others wait for as well.
            later = asyncio.wrap_future(self.future)
            # What came of it is read below; unread, asyncio would write a file's words to the log.
            later.add_done_callback(lambda done: done.cancelled() or done.exception())
            await asyncio.wait({later}, timeout=wait_s)
        return self.future.done()

    def result(self, wait_s: float | None = 0.0) -> T_co:
        """Return the answer, or raise what came of it; Busy while it is not there."""
        try:
            return self.read(self.future.result(wait_s))
        except TimeoutError:
            raise Busy(LATER) from None
        except CancelledError:
            raise Busy("The service stops. Ask again when it is back.") from None


def waiting(future: Future[T]) -> Waiting[T]:
    """Return an answer that is taken as it comes."""
    return Waiting(cast("Future[object]", future), lambda result: cast("T", result))
