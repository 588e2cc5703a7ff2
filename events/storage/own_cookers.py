"""This house's own cookers in the database, for every event."""

from __future__ import annotations

from datetime import UTC, datetime

import sqlalchemy as sa
from pydantic import ValidationError

from events.errors import FaultyEvent, Place
from events.model import Cooker
from events.reading.model_faults import faults_of
from events.storage import tables as t
from events.storage.database import Database
from events.storage.tables import OwnCooker


class OwnCookerRows:
    """Cookers with their measured figures, by id."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def save(self, cooker: Cooker, *, source: str, now: datetime) -> None:
        """Store a cooker as this house's own, in the place of an earlier one of its id.

        Raises FaultyEvent where it could not be read again.
        """
        body = cooker.model_dump_json()
        try:
            Cooker.model_validate_json(body)
        except ValidationError as error:
            faults = faults_of(error, Place("cooker", id=cooker.id), known=Cooker.model_fields)
            raise FaultyEvent(source, faults) from None
        with self._database.begin() as db:
            db.execute(sa.delete(t.own).where(t.own.c.id == cooker.id))
            db.execute(
                sa.insert(t.own).values(
                    id=cooker.id,
                    saved_at=now.astimezone(UTC),
                    source=source,
                    body=body,
                )
            )

    def all(self) -> list[OwnCooker]:
        """Return this house's own cookers, each with where its figures come from."""
        with self._database.connect() as db:
            rows = db.execute(sa.select(t.own).order_by(t.own.c.id)).all()
        return [OwnCooker(Cooker.model_validate_json(r.body), r.source) for r in rows]
