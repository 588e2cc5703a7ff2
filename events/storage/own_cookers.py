"""Own cookers in the database, each with its owner: an event's organiser, or the house."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

import sqlalchemy as sa
from pydantic import ValidationError

from events.errors import FaultyEvent, Place
from events.model import Cooker
from events.reading.model_faults import faults_of
from events.storage import tables as t
from events.storage.database import Database
from events.storage.tables import HOUSE, OwnCooker


class OwnCookerRows:
    """Cookers with their measured figures, by owner and id."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def save(self, cooker: Cooker, *, owner: str, source: str, now: datetime) -> None:
        """Store a cooker as an owner's, in the place of an earlier one of its id.

        Raises FaultyEvent where it could not be read again.
        """
        body = cooker.model_dump_json()
        try:
            Cooker.model_validate_json(body)
        except ValidationError as error:
            faults = faults_of(error, Place("cooker", id=cooker.id), known=Cooker.model_fields)
            raise FaultyEvent(source, faults) from None
        with self._database.begin() as db:
            db.execute(sa.delete(t.own).where(t.own.c.owner == owner, t.own.c.id == cooker.id))
            db.execute(
                sa.insert(t.own).values(
                    owner=owner,
                    id=cooker.id,
                    saved_at=now.astimezone(UTC),
                    source=source,
                    body=body,
                )
            )

    def of(self, owners: Iterable[str]) -> list[OwnCooker]:
        """Return the cookers of some owners by id, the house's first, then as they were stored."""
        query = sa.select(t.own).where(t.own.c.owner.in_(set(owners)))
        order = (t.own.c.id, t.own.c.owner != HOUSE, t.own.c.saved_at)
        with self._database.connect() as db:
            rows = db.execute(query.order_by(*order)).all()
        return [OwnCooker(Cooker.model_validate_json(r.body), r.source, r.owner) for r in rows]
