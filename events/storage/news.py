"""Where events stand, in one question for many: which plan is in force, how long the diary is."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa

from events.storage import tables as t
from events.storage.database import Database
from events.storage.tables import PlanState


@dataclass(frozen=True)
class EventState:
    """What an open page looks at for news: of the event's present version."""

    fingerprint: str
    plan_state: PlanState
    replan_number: int  # of the re-plan in force; 0 is the event's own plan
    diary_number: int  # of the newest entry; 0 where there is none
    version: int
    made_at: datetime | None  # the event's own plan


class NewsRows:
    """The newest of everything, without reading everything."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def states(self, names: Collection[str]) -> dict[str, EventState]:
        """Return where some events stand; one that is not here is left out."""
        with self._database.connect() as db:
            rows = db.execute(_STATES, {"names": list(names)}).all()
        return {
            r.id: EventState(
                fingerprint=r.fingerprint,
                plan_state=r.plan or "asked",
                replan_number=r.replan or 0,
                diary_number=r.diary or 0,
                version=r.version,
                made_at=r.made_at,
            )
            for r in rows
        }


def _states() -> sa.Select[tuple[object, ...]]:
    of_version = (t.plan.c.event_id == t.event.c.id, t.plan.c.version == t.event.c.version)
    replans = (
        t.replan.c.event_id == t.event.c.id,
        t.replan.c.version == t.event.c.version,
        t.replan.c.taken_at.is_not(None),
    )
    entries = t.diary.c.event_id == t.event.c.id
    return sa.select(
        t.event.c.id,
        t.event.c.fingerprint,
        t.event.c.version,
        sa.select(t.plan.c.made_at).where(*of_version).scalar_subquery().label("made_at"),
        sa.select(t.plan.c.state).where(*of_version).scalar_subquery().label("plan"),
        sa.select(sa.func.max(t.replan.c.number)).where(*replans).scalar_subquery().label("replan"),
        sa.select(sa.func.max(t.diary.c.number)).where(entries).scalar_subquery().label("diary"),
    ).where(t.event.c.id.in_(sa.bindparam("names", expanding=True)))


_STATES = _states()  # asked by every page: made once
