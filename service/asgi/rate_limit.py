"""How much one address may ask: a bucket that fills by the minute, smallest for links."""

from __future__ import annotations

import time
from collections.abc import Callable

ADDRESSES_MOST = 20_000  # remembered at once


class Limits:
    """Buckets by address and kind of request; all in memory, all forgotten at a restart."""

    def __init__(self, a_minute: int, *, clock: Callable[[], float] = time.monotonic) -> None:
        self._a_minute, self._clock = a_minute, clock
        self._left: dict[tuple[str, str], tuple[float, float]] = {}

    def allows(self, address: str, method: str, path: str) -> bool:
        """Take one from a bucket; False where it is empty (writes: a third, links: a fortieth)."""
        reads = method in ("GET", "HEAD")
        kind = "door" if path.startswith("/l/") else "read" if reads else "write"
        size = self._a_minute / {"door": 40, "read": 1, "write": 3}[kind]
        now = self._clock()
        left, at = self._left.get((address, kind), (size, now))
        left = min(size, left + (now - at) * size / 60)
        if len(self._left) >= ADDRESSES_MOST:
            self._left.clear()
        self._left[(address, kind)] = (max(left - 1, 0.0), now)
        return left >= 1
