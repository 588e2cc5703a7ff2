"""The diary: presses written down, and how each stands to the plan in force."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, replace
from threading import Lock

from events.diary import Entry, StoredEntry, effective_entries
from events.errors import WHOLE_FILE, FaultyEvent
from events.fault_kinds import FaultKind
from events.model import Event
from service.application.context import Context
from service.application.last_word import as_meant
from service.application.plans import PlanInForce, PlanService

SHOWN_MOST = 50  # events whose diary is remembered as it is shown


@dataclass(frozen=True)
class DiaryEntry:
    """An entry of the diary as people see it."""

    stored: StoredEntry
    food: str
    conflict: str  # how it contradicts the newest plan, if it does
    undone: bool


class DiaryService:
    """What was pressed on an event's day, in order."""

    def __init__(self, context: Context, plans: PlanService) -> None:
        self._context, self._store, self._plans = context, context.store.diary, plans
        self._lock = Lock()
        self._shown: OrderedDict[str, _Shown] = OrderedDict()

    def write_down(self, name: str, entry: Entry) -> DiaryEntry:
        """Append a press to the diary; what it names must be in the event."""
        event = self._context.store.events.get(name).event
        self._must_be_in(event, entry)
        if entry.kind == "probed" and entry.core_c is None:
            raise _incomplete("core_c", "", "reading-needs-figure")
        if entry.kind == "undo" and not entry.undoes:
            raise _incomplete("undoes", "", "undo-needs-entry")
        now = self._context.now()
        for meant in as_meant(self._store.entries(name), entry, now):
            stored = self._store.append(name, meant, now=now)
        self._context.changes.notify(name)
        shown = _Shown(self._plans.in_force(name))
        shown.add([stored])
        return shown.lines[0]

    @staticmethod
    def _must_be_in(event: Event, entry: Entry) -> None:
        """Raise FaultyEvent where an entry names somebody or something that the event has not."""
        for key, named, rows in (
            ("helper_id", entry.helper_id, event.helpers),
            ("cooker_id", entry.cooker_id, event.cookers),
        ):
            if named is not None and named not in {row.id for row in rows}:
                raise _incomplete(key, f"“{named}”", "not-in-event")

    def entries(self, name: str, *, after: int = 0) -> list[DiaryEntry]:
        """Return what was written down, in order, with what contradicts the plan."""
        stored, in_force = self._store.entries(name), self._plans.in_force(name)
        with self._lock:
            shown = self._shown.get(name)
            if shown is None or not shown.continues(stored, in_force.revision):
                shown = self._shown[name] = _Shown(in_force)
            shown.add(stored[len(shown.lines) :])
            self._shown.move_to_end(name)
            while len(self._shown) > SHOWN_MOST:
                self._shown.popitem(last=False)
            # Numbers count from 1 without a gap.
            return shown.lines[after:]

    def effective_entries(self, name: str) -> list[StoredEntry]:
        """Return the entries that still count."""
        return effective_entries(self._store.entries(name))

    def last_number(self, name: str) -> int:
        """Return the number of the newest entry; 0 where there is none."""
        return self._store.last_number(name)


def _incomplete(key: str, value: str, kind: FaultKind) -> FaultyEvent:
    return FaultyEvent("the press", [WHOLE_FILE.fault(key, value, kind)])


class _Shown:
    """A diary as people see it under one plan, which grows with the diary."""

    def __init__(self, in_force: PlanInForce) -> None:
        self.revision, self._plan = in_force.revision, in_force.plan
        plan, names = in_force.plan, {d.id: d.name for d in in_force.event.dishes}
        self._foods = {p.id: names[p.dish_id] for p in plan.placements} if plan else {}
        self._work_ids = set[str]()
        if plan:
            self._work_ids = {j.id for j in plan.jobs} | {w.id for w in plan.walks}
            # Each cooker of a walk has its own press.
            self._work_ids |= {t.id for t in plan.turns}
            self._work_ids |= {v.id for v in plan.rota.visits} if plan.rota else set()
        self.lines: list[DiaryEntry] = []
        self._at: dict[str, int] = {}
        self._undone = set[str | None]()

    def add(self, entries: list[StoredEntry]) -> None:
        """Take in further entries, in order."""
        for stored in entries:
            entry = stored.entry
            self._at[entry.id] = len(self.lines)
            self.lines.append(self._line(stored, undone=entry.id in self._undone))
            if entry.kind == "undo":
                self._undone.add(entry.undoes)
                at = self._at.get(entry.undoes or "")
                if at is not None:
                    self.lines[at] = replace(self.lines[at], undone=True)

    def continues(self, entries: list[StoredEntry], revision: str) -> bool:
        """Return whether these entries begin with those taken in, under the same plan."""
        known = len(self.lines)
        return self.revision == revision and (
            known == 0 or (len(entries) >= known and entries[known - 1] is self.lines[-1].stored)
        )

    def _line(self, stored: StoredEntry, *, undone: bool) -> DiaryEntry:
        entry, conflict = stored.entry, ""
        if self._plan and entry.plan and entry.plan != self.revision:
            if entry.placement_id and entry.placement_id not in self._foods:
                conflict = "this pot is not in the newest plan"
            elif entry.job_id and entry.job_id not in self._work_ids:
                conflict = "this job is not in the newest plan"
        return DiaryEntry(stored, self._foods.get(entry.placement_id or "", ""), conflict, undone)
