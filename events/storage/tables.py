"""The tables as the database has them, and what a row of each is in memory.

A column with a `key` has a better name here than in databases that exist already.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any, Literal

import sqlalchemy as sa

from events.diary import Entry, StoredEntry, happened_at
from events.model import Cooker, Event

PlanState = Literal["asked", "done", "broken", "stopped"]
HOUSE = ""  # owner of the own cookers that every organiser sees
Role = Literal["organiser", "helper", "board"]

meta = sa.MetaData()
event = sa.Table(
    "event",
    meta,
    sa.Column("id", sa.String(64), primary_key=True),
    sa.Column("version", sa.Integer, nullable=False),
    sa.Column("title", sa.String(80), nullable=False),
    sa.Column("date", sa.Date, nullable=False),
    sa.Column("mark", sa.String(12), key="fingerprint", nullable=False),
    sa.Column("file", sa.Text, nullable=False),
    sa.Column("put_at", sa.DateTime(timezone=True), nullable=False),
)
plan = sa.Table(
    "plan",
    meta,
    sa.Column("event_id", sa.ForeignKey("event.id"), primary_key=True),
    sa.Column("version", sa.Integer, primary_key=True),
    sa.Column("state", sa.String(8), nullable=False),
    sa.Column("body", sa.Text, nullable=False),
    sa.Column("made_at", sa.DateTime(timezone=True)),
)

diary = sa.Table(
    "diary",
    meta,
    sa.Column("event_id", sa.ForeignKey("event.id"), primary_key=True),
    sa.Column("id", sa.String(64), primary_key=True),
    sa.Column("number", sa.Integer, nullable=False),
    sa.Column("heard_at", sa.DateTime(timezone=True), key="received_at", nullable=False),
    sa.Column("body", sa.Text, nullable=False),
)
link = sa.Table(
    "link",
    meta,
    sa.Column("digest", sa.String(64), primary_key=True),
    sa.Column("event_id", sa.ForeignKey("event.id"), nullable=False),
    sa.Column("role", sa.String(12), nullable=False),
    sa.Column("helper_id", sa.String(40)),
    sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
    sa.Column("revoked", sa.Boolean, nullable=False),
)


contest_record = sa.Table(
    "contest_record",
    meta,
    sa.Column("event_id", sa.ForeignKey("event.id"), primary_key=True),
    sa.Column("id", sa.String(64), primary_key=True),
    sa.Column("number", sa.Integer, nullable=False),
    sa.Column("received_at", sa.DateTime(timezone=True), nullable=False),
    sa.Column("kind", sa.String(16), nullable=False),
    sa.Column("body", sa.Text, nullable=False),
)
# A used code and a ballot share nothing: no time, no order, no address.
used_code = sa.Table(
    "used_code",
    meta,
    sa.Column("event_id", sa.ForeignKey("event.id"), primary_key=True),
    sa.Column("digest", sa.String(64), primary_key=True),
)
ballot = sa.Table(
    "ballot",
    meta,
    sa.Column("event_id", sa.ForeignKey("event.id"), primary_key=True),
    sa.Column("id", sa.String(64), primary_key=True),
    sa.Column("picks", sa.Text, nullable=False),
)


@dataclass(frozen=True)
class ContestRecord:
    """One thing that happened in a contest, appended: a sheet, the count closed or opened again."""

    id: str
    number: int
    received_at: datetime
    kind: str
    body: str


@dataclass(frozen=True)
class EventLine:
    """An event in a list: its row without its file; `version` counts its changes."""

    id: str
    version: int
    fingerprint: str
    title: str
    date: date


@dataclass(frozen=True)
class StoredEvent(EventLine):
    """An event and its row."""

    event: Event


@dataclass(frozen=True)
class StoredPlan:
    """A plan's row: `body` is its JSON when done, else what broke or why it was stopped."""

    event_id: str
    version: int
    state: PlanState
    body: str
    made_at: datetime | None


@dataclass(frozen=True)
class AskedPlan:
    """A plan still to be made: of which version of which event."""

    event_id: str
    version: int


@dataclass(frozen=True)
class OwnCooker:
    """A cooker of somebody's own, and where its figures come from.

    `owner` is the event whose organiser stored it; empty is the house.
    """

    cooker: Cooker
    source: str
    owner: str = HOUSE


@dataclass(frozen=True)
class Link:
    """Who may sign in by a link: its digest is stored, never the link."""

    digest: str
    event_id: str
    role: Role
    helper_id: str | None
    ends_at: datetime
    revoked: bool = False


def stored_entry(row: sa.Row[tuple[object, ...]]) -> StoredEntry:
    """Return an entry of the diary from its row."""
    entry = Entry.model_validate_json(row.body)
    received_at = row.received_at.replace(tzinfo=UTC)
    return StoredEntry(
        entry=entry,
        received_at=received_at,
        happened_at=happened_at(entry, received_at),
        number=row.number,
    )


def stored_link(row: sa.Row[tuple[object, ...]]) -> Link:
    """Return a link from its row."""
    ends_at = row.ends_at.replace(tzinfo=UTC)
    return Link(row.digest, row.event_id, row.role, row.helper_id, ends_at, row.revoked)


replan = sa.Table(
    "replan",
    meta,
    sa.Column("event_id", sa.ForeignKey("event.id"), primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True),
    sa.Column("version", sa.Integer, nullable=False),
    sa.Column("after", sa.Integer, nullable=False),
    sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
    sa.Column("taken_at", sa.DateTime(timezone=True)),
    sa.Column("body", sa.Text, nullable=False),
)
earlier = sa.Table(
    "earlier",
    meta,
    sa.Column("event_id", sa.ForeignKey("event.id"), primary_key=True),
    sa.Column("version", sa.Integer, primary_key=True),
    sa.Column("file", sa.Text, nullable=False),
)
own = sa.Table(
    "own_cooker",
    meta,
    sa.Column("owner", sa.String(64), primary_key=True),
    sa.Column("id", sa.String(40), primary_key=True),
    sa.Column("kept_at", sa.DateTime(timezone=True), key="saved_at", nullable=False),
    sa.Column("source", sa.String(200), nullable=False),
    sa.Column("body", sa.Text, nullable=False),
)


@dataclass(frozen=True)
class Replan:
    """A plan made anew in the middle of a day: an offer, and in force once it is taken.

    `after` is the replan that was in force when it was made; 0 is the event's own plan.
    """

    event_id: str
    number: int
    version: int
    after: int
    made_at: datetime
    taken_at: datetime | None
    body: str


def stored_replan(row: sa.Row[tuple[object, ...]]) -> Replan:
    """Return a replan from its row."""
    taken_at = row.taken_at and row.taken_at.replace(tzinfo=UTC)
    made_at = row.made_at.replace(tzinfo=UTC)
    return Replan(row.event_id, row.number, row.version, row.after, made_at, taken_at, row.body)


WorkState = Literal["asked", "running", "done", "failed", "stopped"]
work = sa.Table(
    "work",
    meta,
    sa.Column("key", sa.String(64), primary_key=True),
    sa.Column("kind", sa.String(40), nullable=False),
    sa.Column("payload", sa.Text, nullable=False),
    sa.Column("lane", sa.Integer, nullable=False),
    sa.Column("event_id", sa.String(64), nullable=False),
    sa.Column("origin", sa.String(80), nullable=False),
    sa.Column("state", sa.String(8), nullable=False),
    sa.Column("tries", sa.Integer, nullable=False),
    sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
    sa.Column("began_at", sa.DateTime(timezone=True)),
    sa.Column("result", sa.Text, nullable=False),
    sa.Column("stage", sa.String(16)),
)


@dataclass(frozen=True)
class OpenWork:
    """How a piece of work stands that waits (`began_at` is None) or runs, without its payload."""

    key: str
    lane: int
    event_id: str
    origin: str
    asked_at: datetime
    began_at: datetime | None
    stage: str | None  # of a plan that runs


@dataclass(frozen=True)
class Work:
    """A piece of work as it is stored: what it is, whose, how it stands, what came of it."""

    key: str
    kind: str
    payload: str
    lane: int
    event_id: str
    origin: str
    state: WorkState
    tries: int
    asked_at: datetime
    began_at: datetime | None
    result: str
    stage: str | None = None


def stored_work(row: sa.Row[tuple[object, ...]]) -> Work:
    """Return a piece of work from its row."""
    return Work(**_with_times(row))


def open_work(row: sa.Row[tuple[object, ...]]) -> OpenWork:
    """Return how a piece of work stands from its row."""
    return OpenWork(**_with_times(row))


def _with_times(row: sa.Row[tuple[object, ...]]) -> dict[str, Any]:
    began_at = row.began_at and row.began_at.replace(tzinfo=UTC)
    return {**row._mapping, "asked_at": row.asked_at.replace(tzinfo=UTC), "began_at": began_at}
