"""News of events, whichever process made them: what open pages wait for.

A press in this process is noticed at once (ChangeCounters); what other processes wrote is seen by
asking the database, one question for all events that somebody listens to.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from events.diary import EntryKind, StoredEntry
from service.application.context import Context
from service.application.plans import PlanService, revision_of
from solver.plan import EVERYBODY, Plan

# What changes the day for everybody, whoever pressed it.
FOR_ALL: frozenset[EntryKind] = frozenset(
    [
        *("cloud", "sun", "parked", "out-of-action", "gone", "to-burner", "undo"),
        *("hurt", "fire", "need-help"),
    ]
)


@dataclass(frozen=True)
class EventNews:
    """Which plan is in force, and the number of the diary's newest entry."""

    plan: str
    diary: int


class NewsService:
    """Where events stand."""

    def __init__(self, context: Context, plans: PlanService) -> None:
        self._store, self._plans = context.store, plans

    def of(self, names: Collection[str]) -> dict[str, EventNews]:
        """Return where some events stand; one that is not here is left out."""
        return {
            name: EventNews(
                revision_of(s.fingerprint, s.plan_state, replan_number=s.replan_number),
                s.diary_number,
            )
            for name, s in self._store.news.states(names).items()
        }

    def concerned(self, name: str, after: int, helper_ids: Iterable[str]) -> dict[str, int]:
        """Return for helpers the newest entry after one that concerns them, where one does."""
        entries = self._store.diary.entries(name, after=after)
        plan = self._plans.in_force(name).plan
        newest: dict[str, int] = {}
        for helper_id in helper_ids:
            work_ids = _work_of(plan, helper_id)
            for stored in entries:
                if _concerns(stored, helper_id, work_ids):
                    newest[helper_id] = stored.number
        return newest


def _concerns(stored: StoredEntry, helper_id: str, work_ids: frozenset[str]) -> bool:
    entry = stored.entry
    return entry.helper_id in (None, helper_id) or entry.kind in FOR_ALL or entry.job_id in work_ids


def _work_of(plan: Plan | None, helper_id: str) -> frozenset[str]:
    """Return the jobs, walks and turns that a helper shares in."""
    if plan is None:
        return frozenset()
    walks = [w for w in plan.walks if w.helper_id == helper_id]
    jobs = (j.id for j in plan.jobs if helper_id in j.helper_ids or j.kind in EVERYBODY)
    return frozenset((*jobs, *(w.id for w in walks), *(t for w in walks for t in w.turn_ids)))
