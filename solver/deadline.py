"""How long solves may still take, where somebody waits: what is best by then is the answer.

An answer that is not cut short is the same each time; one that is, depends on the machine. The
clock is the caller's: nothing here reads one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

LEAST_S = 4.0  # that every solve gets: a later stage has to find an answer, not the best
SecondsLeft = Callable[[], float]
_seconds_left: ContextVar[SecondsLeft] = ContextVar("seconds_left", default=lambda: math.inf)


@contextmanager
def within(seconds_left: SecondsLeft) -> Iterator[None]:
    """Have the solves inside end, one after the other, when no seconds are left."""
    token = _seconds_left.set(seconds_left)
    try:
        yield
    finally:
        _seconds_left.reset(token)


def solve_seconds() -> float:
    """Return how long a solve that begins now may take."""
    return max(LEAST_S, _seconds_left.get()())


def is_over() -> bool:
    """Return whether no time is left to improve an answer."""
    return _seconds_left.get()() <= 0
