"""What really happened: entries of the day, appended, never rewritten.

An entry's id is made where it is pressed, so that the same press sent twice counts once. It
carries the phone's time and the server's; an undo is a further entry.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, StringConstraints

from events.quantities import within

EntryKind = Literal[
    "aimed",
    "loaded",
    "stirred",
    "lid-opened",
    "probed",
    "done",
    "lifted",
    "served",
    "held",
    "discarded",
    "cloud",
    "sun",
    "late",
    "out-of-action",
    "parked",
    "gone",
    "to-burner",
    "hurt",  # somebody is hurt
    "fire",
    "need-help",
    "note",
    "seen",  # a phone has shown the plan
    "read-changes",  # a helper has read what is new for them in the plan
    "undo",
]
ShortText = Annotated[str, StringConstraints(max_length=80)]
SKEW_MOST = timedelta(minutes=2)  # a phone's clock that is off by more is corrected
CLOUD_MIN = 30  # a cloud of which nobody said how long it looks
REST_OF_DAY_MIN = 24 * 60


# A phone whose clock was lost begins at 1970; what is outside these is no clock's.
PhoneTime = Annotated[
    AwareDatetime, Field(ge=datetime(1970, 1, 1, tzinfo=UTC), lt=datetime(2200, 1, 1, tzinfo=UTC))
]


class Entry(BaseModel):
    """One thing that happened, as it was pressed."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{8,64}$")] = Field(
        examples=["k3Jd82hQ"]
    )
    kind: EntryKind = Field(examples=["aimed"])
    at: PhoneTime = Field(examples=["2026-11-28T08:36:10Z"], description="the phone's time")
    sent_at: PhoneTime | None = Field(
        default=None, description="the phone's time when it was sent; tells how its clock is off"
    )
    plan: ShortText = Field(default="", description="revision of the plan it was pressed on")
    helper_id: ShortText | None = None
    cooker_id: ShortText | None = None
    placement_id: ShortText | None = None
    job_id: ShortText | None = Field(default=None, description="the job or walk that is done by it")
    core_c: Annotated[float, within("food_c")] | None = None
    minutes: Annotated[int, Field(ge=0, le=REST_OF_DAY_MIN)] | None = Field(
        default=None,
        description="how late a helper is; how long a cloud looks: 1440 is the rest of the day",
    )
    note: Annotated[str, StringConstraints(max_length=500)] = ""
    undoes: ShortText | None = Field(default=None, description="id of the entry that was a mistake")


class StoredEntry(BaseModel):
    """An entry as it is stored: with the server's time, and its own time put right."""

    model_config = ConfigDict(frozen=True)

    entry: Entry
    received_at: datetime
    happened_at: datetime
    number: int  # in the order in which the server received them


def happened_at(entry: Entry, received_at: datetime) -> datetime:
    """Return when an entry happened by the server's clock.

    A phone whose clock is off by more than two minutes, as its sending time tells, is corrected;
    nothing happens after it was received.
    """
    at = entry.at
    if entry.sent_at is not None and abs(received_at - entry.sent_at) > SKEW_MOST:
        at = entry.at + (received_at - entry.sent_at)
    return min(at, received_at)


def effective_entries(entries: list[StoredEntry]) -> list[StoredEntry]:
    """Return the entries that still count: undone ones and the undoings left out."""
    undone = {k.entry.undoes for k in entries if k.entry.kind == "undo"}
    return [k for k in entries if k.entry.kind != "undo" and k.entry.id not in undone]


@dataclass(frozen=True)
class Cloud:
    """A cloud that somebody reported, until it should be over or somebody saw the sun again."""

    starts_at: datetime
    ends_at: datetime

    @property
    def for_the_day(self) -> bool:
        """Whether it was reported for the rest of the day."""
        return self.ends_at - self.starts_at >= timedelta(minutes=REST_OF_DAY_MIN)


def clouds(entries: Sequence[StoredEntry]) -> tuple[Cloud, ...]:
    """Return the clouds of the entries that count, in time order; the newest report holds."""
    seen: list[Cloud] = []
    for stored in sorted(entries, key=lambda k: (k.happened_at, k.number)):
        at, entry = stored.happened_at, stored.entry
        if entry.kind not in ("cloud", "sun"):
            continue
        if seen and seen[-1].ends_at > at:
            seen[-1] = Cloud(seen[-1].starts_at, at)
        if entry.kind == "cloud":
            lasts_min = CLOUD_MIN if entry.minutes is None else entry.minutes
            seen.append(Cloud(at, at + timedelta(minutes=lasts_min)))
    return tuple(seen)


def cloud_over(seen: Sequence[Cloud], at: datetime) -> Cloud | None:
    """Return the cloud that is over the sun at a moment, if one is."""
    return next((c for c in seen if c.starts_at <= at < c.ends_at), None)
