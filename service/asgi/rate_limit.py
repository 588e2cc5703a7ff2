"""How much may be asked in a minute: by key where there is one, else by address.

Buckets fill by the minute. A key counts once it has opened something, so that made-up keys have no
buckets of their own; a farm's phones behind one router are as many keys as phones.
"""

from __future__ import annotations

import time
from collections import OrderedDict
from collections.abc import Callable
from typing import Literal

REMEMBERED_MOST = 20_000  # buckets and keys
Kind = Literal["read", "write", "link"]
PARTS: dict[Kind, int] = {"read": 1, "write": 3, "link": 4}  # of the limit for reading


class Limits:
    """Buckets by who asks and kind of request; all in memory, all forgotten at a restart."""

    def __init__(self, a_minute: int, *, clock: Callable[[], float] = time.monotonic) -> None:
        self._a_minute, self._clock = a_minute, clock
        self._left: OrderedDict[tuple[str, Kind], tuple[float, float]] = OrderedDict()
        self._trusted: OrderedDict[str, None] = OrderedDict()

    def trust(self, key: str) -> None:
        """Count a key by itself from now on: it has opened something."""
        self._trusted[key] = None
        self._trusted.move_to_end(key)
        if len(self._trusted) > REMEMBERED_MOST:
            self._trusted.popitem(last=False)

    def asker(self, address: str, key: str) -> str:
        """Return who is counted: the key if it is known, else the address or its network."""
        if key in self._trusted:
            return key
        # A network of IPv6 is one house; its addresses are endless.
        return ":".join(address.split(":")[:4]) if ":" in address else address

    def allows(self, asker: str, method: str, path: str) -> bool:
        """Take one from a bucket; False where it is empty."""
        reads = method in ("GET", "HEAD")
        kind: Kind = "link" if path.startswith("/l/") else "read" if reads else "write"
        size = self._a_minute / PARTS[kind]
        now = self._clock()
        left, at = self._left.get((asker, kind), (size, now))
        left = min(size, left + (now - at) * size / 60)
        self._left[(asker, kind)] = (max(left - 1, 0.0), now)
        self._left.move_to_end((asker, kind))
        if len(self._left) > REMEMBERED_MOST:
            self._left.popitem(last=False)
        return left >= 1
