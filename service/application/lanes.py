"""Work that waits for a solver: re-plans of a day in progress first, then plans, then advice.

Within a lane whoever was served least lately is next: first by who asked, then by event. So one
client's forty events do not keep another's waiting.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from itertools import count
from threading import Condition
from typing import Generic, Protocol, TypeVar

REMEMBERED_MOST = 10_000  # who was served when


class Lane(IntEnum):
    """What goes first."""

    REPLAN = 0  # a day in progress: people stand at hot pots
    PLAN = 1
    ADVICE = 2  # estimates, the year, what would help, what if


ALL_LANES = frozenset(Lane)


@dataclass(frozen=True)
class Order:
    """What a piece of work is for: its lane, its event, who asked."""

    lane: Lane = Lane.ADVICE
    event_id: str = ""
    origin: str = ""


class Ordered(Protocol):
    """Anything that has an order."""

    @property
    def order(self) -> Order:
        """Return what it is for."""


T = TypeVar("T", bound=Ordered)


def gives_way(mine: T, running: Sequence[T], waiting: Sequence[Order]) -> bool:
    """Return whether work that runs is put back for somebody who waits and comes first.

    Advice gives way to plans, the newest to each. Who has several plans made at once gives the
    newest back to somebody who has none. `running` has all that runs, the oldest first.
    """
    if mine.order.lane == Lane.ADVICE:
        first = sum(order.lane < Lane.ADVICE for order in waiting)
        advice = [other for other in running if other.order.lane == Lane.ADVICE]
        return mine in advice[max(0, len(advice) - first) :]
    if mine.order.lane != Lane.PLAN:
        return False
    plans = [other for other in running if other.order.lane == Lane.PLAN]
    served = {other.order.origin for other in plans}
    own = [other for other in plans if other.order.origin == mine.order.origin]
    return (
        len(own) > 1
        and own[-1] is mine
        and any(order.lane == Lane.PLAN and order.origin not in served for order in waiting)
    )


@dataclass
class _Turns:
    """When each was served last; who never was comes first."""

    last: OrderedDict[str, int] = field(default_factory=OrderedDict)

    def of(self, who: str) -> int:
        return self.last.get(who, 0)

    def serve(self, who: str, turn: int) -> None:
        self.last[who] = turn
        self.last.move_to_end(who)
        if len(self.last) > REMEMBERED_MOST:
            self.last.popitem(last=False)


class Lanes(Generic[T]):
    """A queue that threads put into and take from."""

    def __init__(self) -> None:
        self._changed = Condition()
        self._waiting: dict[int, T] = {}
        self._number, self._turn = count(), count(1)
        self._origins, self._events = _Turns(), _Turns()
        self._closed = False

    def put(self, item: T) -> None:
        """Add an item."""
        with self._changed:
            self._waiting[next(self._number)] = item
            self._changed.notify_all()

    def take(self, lanes: frozenset[Lane] = ALL_LANES) -> T | None:
        """Wait for the next item of some lanes and take it; None once the queue is closed."""
        with self._changed:
            while not self._closed:
                number = min(self._of(lanes), key=self._precedence, default=None)
                if number is not None:
                    item, turn = self._waiting.pop(number), next(self._turn)
                    self._origins.serve(item.order.origin, turn)
                    self._events.serve(item.order.event_id, turn)
                    return item
                self._changed.wait()
            return None

    def remove(self, item: T) -> bool:
        """Take out an item that waits; False where it does not."""
        with self._changed:
            number = next((n for n, other in self._waiting.items() if other is item), None)
            return number is not None and self._waiting.pop(number) is item

    def waiting(self) -> list[T]:
        """Return what waits, the longest first."""
        with self._changed:
            return list(self._waiting.values())

    def close(self) -> list[T]:
        """Let nobody take any more; return what waited."""
        with self._changed:
            self._closed = True
            left = list(self._waiting.values())
            self._waiting.clear()
            self._changed.notify_all()
            return left

    def _of(self, lanes: frozenset[Lane]) -> Iterator[int]:
        return (n for n, item in self._waiting.items() if item.order.lane in lanes)

    def _precedence(self, number: int) -> tuple[int, int, int, int]:
        order = self._waiting[number].order
        origin, event = self._origins.of(order.origin), self._events.of(order.event_id)
        return order.lane, origin, event, number
