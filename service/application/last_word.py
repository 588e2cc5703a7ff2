"""Of presses and undoings of one job, the last by the clock holds, however they come in.

Phones without a signal send hours later. A job's press is known by its job, and by how often it was
undone before: that is the number behind. A phone that has not heard of an undoing, or of a press,
sends the number that it knows; here it gets the one that it means. A later press that was heard of
as one with an earlier one falls with it when the earlier is undone: the job is asked for again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from events.diary import SKEW_MOST, Entry, StoredEntry, happened_at
from events.table import changed

ID_MOST = 64


def as_meant(entries: Sequence[StoredEntry], entry: Entry, now: datetime) -> list[Entry]:
    """Return what to append for a press or an undoing that comes in: mostly itself alone."""
    about = entry.undoes if entry.kind == "undo" else entry.id if entry.job_id else None
    if about is None:
        return [entry]
    job, at = _Job.of(about, entries), happened_at(entry, now)
    return _undoing(entry, at, job) if entry.kind == "undo" else [_press(entry, at, job)]


def _press(entry: Entry, at: datetime, job: _Job) -> Entry:
    if not job.undoings:
        return entry
    last, undone_at = max(job.undoings), max(job.undoings.values())
    knew = _split(entry.id)[1] > last  # of the undoing: then clocks say too little
    stands = undone_at < at or (knew and undone_at <= at + SKEW_MOST)
    return changed(entry, id=job.name(last + 1 if stands else last))


def _undoing(entry: Entry, at: datetime, job: _Job) -> list[Entry]:
    sent_before = next((u for u in job.undone_by if _is_same(u, entry)), None)
    if sent_before is not None:
        return [sent_before]
    standing = max((n for n in job.presses if n not in job.undoings), default=None)
    if standing is None:  # what it is about was undone before, or is still on its way
        return [entry]
    press, name = job.presses[standing], job.name(standing)
    meant = entry if entry.undoes == name else changed(entry, id=f"{name}-u", undoes=name)
    if press.happened_at <= at + SKEW_MOST:
        return [meant]
    # Somebody pressed after it, and was heard of first: their press goes on under the next number.
    anew = {"id": job.name(standing + 1), "at": press.happened_at, "sent_at": None}
    return [changed(press.entry, **anew), meant]


@dataclass(frozen=True)
class _Job:
    """What came in about a job so far, by number: presses, and when each was undone last."""

    base: str
    names: dict[int, str]
    presses: dict[int, StoredEntry]
    undoings: dict[int, datetime]
    undone_by: list[Entry]

    @classmethod
    def of(cls, about: str, entries: Sequence[StoredEntry]) -> _Job:
        """Return what came in about the same job as an id."""
        base = _split(about)[0]
        job = cls(base, {}, {}, {}, [])
        for stored in entries:
            entry = stored.entry
            ident = entry.undoes if entry.kind == "undo" else entry.id
            if ident is None or not ident.startswith(base) or _split(ident)[0] != base:
                continue
            number = _split(ident)[1]
            job.names[number] = ident
            if entry.kind == "undo":
                before = job.undoings.get(number, stored.happened_at)
                job.undoings[number] = max(before, stored.happened_at)
                job.undone_by.append(entry)
            else:
                job.presses[number] = stored
        return job

    def name(self, number: int) -> str:
        """Return the id of the press with a number."""
        return self.names.get(number, f"{self.base[: ID_MOST - 8]}-{number}")


def _is_same(stored: Entry, sent: Entry) -> bool:
    """Return whether an undoing was stored before, under its own number or one it was given."""
    moved = _split(stored.undoes or "")[1] > _split(sent.undoes or "")[1]
    return stored.at == sent.at and (moved or stored.id == sent.id)


def _split(ident: str) -> tuple[str, int]:
    """Return an id without its number, and its number; 0 where it has none."""
    base, _, number = ident.rpartition("-")
    counts = number.isascii() and number.isdecimal() and len(number) < 5
    return (base, int(number)) if base and counts and str(int(number)) == number else (ident, 0)
