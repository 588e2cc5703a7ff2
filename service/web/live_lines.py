"""The open lines of this process: each sleeps until its event has news, or a beat is due.

One task looks for all of them. Where many phones listen to one event their news are spread over a
second, so that they do not all fetch their pages in the same moment.
"""

from __future__ import annotations

import asyncio
import logging
import random
from collections.abc import AsyncGenerator, Callable
from dataclasses import dataclass, field

from service.application.news import EventNews
from service.application.services import Services

LOOK_S = 0.25  # a change made in this process is sent within this
ASK_S = 1.0  # so often the database is asked what others changed
BEAT_S = 12.0  # pages take a line for dead after thirty seconds
SPREAD_S = 0.8  # over so long the news are spread where a hundred listen or more
log = logging.getLogger("noonfare")


@dataclass(eq=False)
class Line:
    """An open page's line: for an event, and on a helper's page for what concerns them."""

    name: str
    helper_id: str | None
    asker: str
    news: EventNews
    changed: asyncio.Event = field(default_factory=asyncio.Event)


class LiveLines:
    """All lines of a process. Made in its event loop; the task ends with the last line."""

    def __init__(self, services: Services, closing: Callable[[], bool]) -> None:
        self._services, self._closing = services, closing
        self._lines: dict[str, set[Line]] = {}
        self._counts: dict[str, int] = {}
        self._stood: dict[str, EventNews] = {}
        self._task: asyncio.Task[None] | None = None

    def count(self, asker: str | None = None) -> int:
        """Return how many lines are open, in all or of one asker."""
        lines = (line for some in self._lines.values() for line in some)
        return sum(asker is None or line.asker == asker for line in lines)

    async def news(self, line: Line) -> AsyncGenerator[EventNews | None, None]:
        """Yield where an event stands, then each change; None where a beat is due."""
        self._open(line)
        try:
            yield line.news
            while not self._closing():
                try:
                    async with asyncio.timeout(BEAT_S * random.uniform(0.8, 1.0)):
                        await line.changed.wait()
                except TimeoutError:
                    yield None
                    continue
                line.changed.clear()
                if not self._closing():
                    yield line.news
        finally:
            self._close(line)

    async def ended(self) -> None:
        """Wait until nothing looks for news: a question to the database is not left in the air."""
        if self._task is not None:
            await self._task

    def _open(self, line: Line) -> None:
        self._lines.setdefault(line.name, set()).add(line)
        self._stood.setdefault(line.name, line.news)
        if self._task is None or self._task.done():
            self._task = asyncio.create_task(self._watch())

    def _close(self, line: Line) -> None:
        some = self._lines.get(line.name, set())
        some.discard(line)
        if not some:
            self._lines.pop(line.name, None)
            self._stood.pop(line.name, None)
            self._counts.pop(line.name, None)

    async def _watch(self) -> None:
        """Look for news until nobody listens."""
        asked_s = 0.0
        while self._lines and not self._closing():
            await asyncio.sleep(LOOK_S)
            asked_s += LOOK_S
            names = list(self._lines) if asked_s >= ASK_S else self._changed_here()
            if asked_s >= ASK_S:
                asked_s = 0.0
            if not names:
                continue
            try:
                await self._tell(names)
            except Exception:  # a locked database: the next look comes soon
                log.warning("news could not be read", exc_info=True)
        for some in self._lines.values():
            for line in some:
                line.changed.set()

    def _changed_here(self) -> list[str]:
        counts = {name: self._services.changes.count(name) for name in self._lines}
        changed = [n for n, count in counts.items() if count != self._counts.get(n, 0)]
        self._counts |= {name: counts[name] for name in changed}
        return changed

    async def _tell(self, names: list[str]) -> None:
        """Have the lines of some events wake where there is news for them."""
        states = await asyncio.to_thread(self._services.news.of, names)
        for name, now in states.items():
            before = self._stood.get(name)
            if before is None or now == before:
                continue
            self._stood[name] = now
            lines = list(self._lines.get(name, ()))
            concerned: dict[str, int] = {}
            if now.diary > before.diary:
                helpers = {line.helper_id for line in lines if line.helper_id is not None}
                concerned = await asyncio.to_thread(
                    self._services.news.concerned, name, before.diary, helpers
                )
            self._wake(lines, now, concerned)

    def _wake(self, lines: list[Line], now: EventNews, concerned: dict[str, int]) -> None:
        loop, spread_s = asyncio.get_running_loop(), SPREAD_S * min(1.0, len(lines) / 100)
        for line in lines:
            diary = now.diary
            if line.helper_id is not None:
                diary = concerned.get(line.helper_id, line.news.diary)
            news = EventNews(now.plan, diary)
            if news != line.news:
                line.news = news
                loop.call_later(random.uniform(0.0, spread_s), line.changed.set)
