"""The only place that speaks to the database, a part for each kind of row."""

from __future__ import annotations

from pathlib import Path

from events.storage.contest import ContestRows
from events.storage.database import Database
from events.storage.diary import DiaryRows
from events.storage.events import EventRows
from events.storage.links import LinkRows
from events.storage.news import NewsRows
from events.storage.own_cookers import OwnCookerRows
from events.storage.plans import PlanRows
from events.storage.work import WorkRows


class Store:
    """An open database. Close it when done."""

    def __init__(self, url: str) -> None:
        self._database = Database(url)
        self.events = EventRows(self._database)
        self.plans = PlanRows(self._database)
        self.diary = DiaryRows(self._database)
        self.own_cookers = OwnCookerRows(self._database)
        self.links = LinkRows(self._database)
        self.contest = ContestRows(self._database)
        self.news = NewsRows(self._database)
        self.work = WorkRows(self._database)

    def close(self) -> None:
        """Give the connections back."""
        self._database.close()

    def tell(self, word: str) -> None:
        """Tell every process on the same server a word."""
        self._database.tell(word)

    def backup(self, file: Path) -> None:
        """Write a consistent copy of a SQLite database, while it is in use."""
        self._database.backup(file)
