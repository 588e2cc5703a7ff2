"""How often something of each event has changed: what open pages look at for news.

The counters live in the process; what other processes changed is seen in the database (news).
"""

from __future__ import annotations

from collections.abc import Callable


class ChangeCounters:
    """A count for each event, which only ever rises."""

    def __init__(self, tell: Callable[[str], None] = lambda _name: None) -> None:
        self._tell = tell  # other processes
        self._counts: dict[str, int] = {}

    def count(self, name: str) -> int:
        """Return how often something of an event has changed since the start."""
        return self._counts.get(name, 0)

    def notify(self, name: str) -> None:
        """Count a change of an event, here and elsewhere, so that open pages fetch themselves."""
        self.heard(name)
        self._tell(name)

    def heard(self, name: str) -> None:
        """Count a change of an event that another process made."""
        self._counts[name] = self.count(name) + 1
