"""Plans in the database: one for each version of an event, and those made anew on the day."""

from __future__ import annotations

from datetime import UTC, datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from events.errors import Busy, NotFound, StaleVersion
from events.storage import tables as t
from events.storage.database import Database
from events.storage.events import find_event, require_event
from events.storage.tables import AskedPlan, PlanState, Replan, StoredPlan, stored_replan


class PlanRows:
    """Plans by event and version: asked, done or broken; re-plans offered and taken."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def get(self, name: str, version: int) -> StoredPlan:
        """Return the plan of one version of an event; raises NotFound."""
        with self._database.connect() as db:
            row = db.execute(sa.select(t.plan).where(_plan_key(name, version))).first()
        if row is None:
            raise NotFound(kind="no-plan", name=name, version=version)
        return _stored_plan(row)

    def last_done(self, name: str, *, before: int) -> StoredPlan | None:
        """Return the newest plan of the versions before one, if any was made."""
        query = sa.select(t.plan).where(
            t.plan.c.event_id == name, t.plan.c.version < before, t.plan.c.state == "done"
        )
        with self._database.connect() as db:
            row = db.execute(query.order_by(t.plan.c.version.desc())).first()
        return _stored_plan(row) if row else None

    def newest_done(self, name: str, *, most: int) -> list[StoredPlan]:
        """Return the plans that were made for an event's newest versions, the newest first."""
        query = sa.select(t.plan).where(t.plan.c.event_id == name, t.plan.c.state == "done")
        with self._database.connect() as db:
            rows = db.execute(query.order_by(t.plan.c.version.desc()).limit(most)).all()
        return [_stored_plan(row) for row in rows]

    def save(self, name: str, version: int, *, state: PlanState, body: str, now: datetime) -> None:
        """Store what became of an asked plan; one that is done already stays as it is."""
        asked = sa.and_(_plan_key(name, version), t.plan.c.state == "asked")
        with self._database.begin() as db:
            db.execute(sa.update(t.plan).where(asked).values(state=state, body=body, made_at=now))

    def bodies_in_order(self, name: str) -> list[str]:
        """Return every plan of an event that was ever in force, the oldest first."""
        own = sa.select(t.plan.c.version, sa.literal(0).label("number"), t.plan.c.body).where(
            t.plan.c.event_id == name, t.plan.c.state == "done"
        )
        anew = sa.select(t.replan.c.version, t.replan.c.number, t.replan.c.body).where(
            t.replan.c.event_id == name, t.replan.c.taken_at.is_not(None)
        )
        with self._database.connect() as db:
            rows = [*db.execute(own), *db.execute(anew)]
        return [row.body for row in sorted(rows, key=lambda row: (row.version, row.number))]

    def asked(self) -> list[AskedPlan]:
        """Return the plans still to be made."""
        query = sa.select(t.plan.c.event_id, t.plan.c.version).where(t.plan.c.state == "asked")
        with self._database.connect() as db:
            return [AskedPlan(r.event_id, r.version) for r in db.execute(query)]

    def ask_again(self, name: str, version: int) -> bool:
        """Have a plan made anew that today's program can't read; False if it is asked already.

        A re-plan that was in force was made from that plan, or can't be read either: it goes out
        of force.
        """
        with self._database.begin() as db:
            asked = db.execute(
                sa.update(t.plan)
                .where(_plan_key(name, version), t.plan.c.state == "done")
                .values(state="asked", body="", made_at=None)
            )
            db.execute(sa.update(t.replan).where(_in_force(name, version)).values(taken_at=None))
        return asked.rowcount == 1

    def ask_after_failure(self, name: str, version: int) -> bool:
        """Have a plan made anew that failed or was stopped; False where it is not so."""
        failed = t.plan.c.state.in_(("broken", "stopped"))
        with self._database.begin() as db:
            asked = db.execute(
                sa.update(t.plan)
                .where(_plan_key(name, version), failed)
                .values(state="asked", body="", made_at=None)
            )
        return asked.rowcount == 1

    def save_offer(
        self, name: str, *, version: int, after: int, body: str, now: datetime
    ) -> Replan:
        """Store a re-plan, not yet in force; raises Busy where many are offered at once."""

        def insert(db: Connection) -> Replan:
            require_event(db, name, locked=True)
            last = sa.select(sa.func.coalesce(sa.func.max(t.replan.c.number), 0))
            number = db.execute(last.where(t.replan.c.event_id == name)).scalar_one() + 1
            offer = Replan(name, number, version, after, now.astimezone(UTC), None, body)
            db.execute(sa.insert(t.replan).values(**vars(offer)))
            return offer

        return self._database.retried(insert, Busy(kind="many-replans", name=name))

    def replan(self, name: str, number: int) -> Replan:
        """Return a re-plan, offered or taken; raises NotFound."""
        with self._database.connect() as db:
            return _find_replan(db, name, number)

    def replan_in_force(self, name: str, version: int) -> Replan | None:
        """Return the re-plan of this version that was taken last, if one was."""
        query = sa.select(t.replan).where(_in_force(name, version))
        with self._database.connect() as db:
            row = db.execute(query.order_by(t.replan.c.number.desc())).first()
        return stored_replan(row) if row else None

    def take(self, name: str, number: int, *, now: datetime) -> Replan:
        """Put a re-plan in force; raises StaleVersion where another was taken since it was made."""
        with self._database.begin() as db:
            event, offer = find_event(db, name, locked=True), _find_replan(db, name, number)
            if offer.taken_at is not None:
                return offer
            present = sa.select(t.event.c.version).where(t.event.c.id == name)
            # All of it in the one statement: SQLite has no lock that holds from reading to writing.
            done = db.execute(
                sa.update(t.replan)
                .where(
                    t.replan.c.event_id == name,
                    t.replan.c.number == number,
                    t.replan.c.taken_at.is_(None),
                    present.scalar_subquery() == offer.version,
                    _last_taken(name, offer.version) == offer.after,
                )
                .values(taken_at=now.astimezone(UTC))
            )
            if done.rowcount != 1:
                raise StaleVersion(name, event.fingerprint)
            return _find_replan(db, name, number)


def _stored_plan(row: sa.Row[tuple[object, ...]]) -> StoredPlan:
    made_at = row.made_at and row.made_at.replace(tzinfo=UTC)  # SQLite keeps no zone
    return StoredPlan(row.event_id, row.version, row.state, row.body, made_at)


def _find_replan(db: Connection, name: str, number: int) -> Replan:
    same = sa.and_(t.replan.c.event_id == name, t.replan.c.number == number)
    row = db.execute(sa.select(t.replan).where(same)).first()
    if row is None:
        raise NotFound(kind="no-replan", name=name, number=number)
    return stored_replan(row)


def _plan_key(name: str, version: int) -> sa.ColumnElement[bool]:
    return sa.and_(t.plan.c.event_id == name, t.plan.c.version == version)


def _last_taken(name: str, version: int) -> sa.ScalarSelect[int]:
    """Return the number of the re-plan in force, as part of another statement; 0 is none."""
    other = t.replan.alias()
    return (
        sa.select(sa.func.coalesce(sa.func.max(other.c.number), 0))
        .where(other.c.event_id == name, other.c.version == version, other.c.taken_at.is_not(None))
        .scalar_subquery()
    )


def _in_force(name: str, version: int) -> sa.ColumnElement[bool]:
    return sa.and_(
        t.replan.c.event_id == name,
        t.replan.c.version == version,
        t.replan.c.taken_at.is_not(None),
    )
