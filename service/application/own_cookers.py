"""This house's own cookers, with their measured figures, for every event."""

from __future__ import annotations

from events.model import Cooker
from events.storage.tables import OwnCooker
from service.application.context import Context


class OwnCookerService:
    """Own cookers: shown, sent, taken from a file."""

    def __init__(self, context: Context) -> None:
        self._now, self._store = context.now, context.store.own_cookers

    def all(self) -> list[OwnCooker]:
        """Return own cookers, each with where its figures come from."""
        return self._store.all()

    def by_id(self) -> dict[str, Cooker]:
        """Return own cookers by id."""
        return {own.cooker.id: own.cooker for own in self._store.all()}

    def save(self, cookers: list[Cooker], *, source: str) -> None:
        """Store cookers, each in the place of the one of its id."""
        for cooker in cookers:
            self._store.save(cooker, source=source, now=self._now())
