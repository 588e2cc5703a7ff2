"""Own cookers, with their measured figures: an organiser's, and the house's for every organiser."""

from __future__ import annotations

from collections.abc import Iterable

from events.errors import Busy
from events.model import Cooker
from events.storage.tables import OwnCooker
from service.application.context import Context

OWNED_MOST = 200  # cookers of one owner


class OwnCookerService:
    """Own cookers: shown, sent, taken from a file."""

    def __init__(self, context: Context) -> None:
        self._now, self._store = context.now, context.store.own_cookers

    def of(self, owners: Iterable[str]) -> list[OwnCooker]:
        """Return the own cookers that some owners see, one for each id, an organiser's own first.

        Each says where its figures come from.
        """
        return list({own.cooker.id: own for own in self._store.of(owners)}.values())

    def by_id(self, owners: Iterable[str]) -> dict[str, Cooker]:
        """Return the own cookers that some owners see, by id."""
        return {own.cooker.id: own.cooker for own in self.of(owners)}

    def save(self, cookers: list[Cooker], *, owner: str, source: str) -> None:
        """Store cookers as an owner's, each in the place of the owner's of its id."""
        there = {own.cooker.id for own in self._store.of([owner])}
        if len(there | {c.id for c in cookers}) > OWNED_MOST:
            raise Busy(f"{OWNED_MOST} own cookers are the most. Leave some out.")
        for cooker in cookers:
            self._store.save(cooker, owner=owner, source=source, now=self._now())
