"""How long plans took here, so that whoever waits for one is told an honest time."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

REMEMBERED_MOST = 500
ALIKE_FACTOR = 2.0  # a day whose price is within this is of the same size


@dataclass(frozen=True)
class TimedPlan:
    """A plan's price and what it took."""

    price: int
    took_s: float


class PlanTimes:
    """What the last plan of each event took in this process."""

    def __init__(self) -> None:
        self._last: OrderedDict[str, TimedPlan] = OrderedDict()

    def add(self, name: str, price: int, took_s: float) -> None:
        """Remember what a plan took."""
        self._last[name] = TimedPlan(price, took_s)
        self._last.move_to_end(name)
        if len(self._last) > REMEMBERED_MOST:
            self._last.popitem(last=False)

    def usual_s(self, name: str, price: int) -> float | None:
        """Return what an event's last plan took, or a day as large took; None where none did."""
        own = self._last.get(name)
        if own is not None:
            return own.took_s
        alike = [t for t in self._last.values() if _is_alike(t.price, price)]
        return min(alike, key=lambda t: abs(t.price - price)).took_s if alike else None


def _is_alike(one: int, other: int) -> bool:
    return max(one, other, 1) <= ALIKE_FACTOR * max(min(one, other), 1)
