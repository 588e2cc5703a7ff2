"""The diary: presses written down, and how each stands to the plan in force."""

from __future__ import annotations

from dataclasses import dataclass

from events.diary import Entry, StoredEntry, effective_entries
from events.errors import WHOLE_FILE, FaultyEvent
from service.application.context import Context
from service.application.plans import PlanInForce, PlanService


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

    def write_down(self, name: str, entry: Entry) -> DiaryEntry:
        """Append a press to the diary; what it names must be in the event."""
        event = self._context.store.events.get(name).event
        if entry.helper_id is not None:
            event.helper(entry.helper_id)
        if entry.cooker_id is not None:
            event.cooker(entry.cooker_id)
        if entry.kind == "probed" and entry.core_c is None:
            raise _incomplete("core_c", "a reading needs it", "Write what the probe shows.")
        if entry.kind == "undo" and not entry.undoes:
            raise _incomplete("undoes", "an undo needs it", "Say which entry was a mistake.")
        stored = self._store.append(name, entry, now=self._context.now())
        self._context.changes.notify(name)
        return _as_people_see([stored], self._plans.in_force(name))[0]

    def entries(self, name: str, *, after: int = 0) -> list[DiaryEntry]:
        """Return what was written down, in order, with what contradicts the plan."""
        stored = self._store.entries(name, after=after)
        return _as_people_see(stored, self._plans.in_force(name))

    def effective_entries(self, name: str) -> list[StoredEntry]:
        """Return the entries that still count."""
        return effective_entries(self._store.entries(name))

    def last_number(self, name: str) -> int:
        """Return the number of the newest entry; 0 where there is none."""
        return self._store.last_number(name)


def _incomplete(key: str, limit: str, remedy: str) -> FaultyEvent:
    return FaultyEvent("the press", [WHOLE_FILE.fault(key, "", limit, remedy)])


def _as_people_see(entries: list[StoredEntry], in_force: PlanInForce) -> list[DiaryEntry]:
    plan, event = in_force.plan, in_force.event
    undone = {s.entry.undoes for s in entries if s.entry.kind == "undo"}
    dish_ids = {p.id: p.dish_id for p in plan.placements} if plan else {}
    work_ids = set[str]()
    if plan:
        work_ids = {j.id for j in plan.jobs} | {w.id for w in plan.walks}
        work_ids |= {t.id for t in plan.turns}  # each cooker of a walk has its own press
    names = {d.id: d.name for d in event.dishes}
    lines: list[DiaryEntry] = []
    for stored in entries:
        entry, conflict = stored.entry, ""
        if plan and entry.plan and entry.plan != in_force.revision:
            if entry.placement_id and entry.placement_id not in dish_ids:
                conflict = "this pot is not in the newest plan"
            elif entry.job_id and entry.job_id not in work_ids:
                conflict = "this job is not in the newest plan"
        food = names.get(dish_ids.get(entry.placement_id or "", ""), "")
        lines.append(DiaryEntry(stored, food, conflict, entry.id in undone))
    return lines
