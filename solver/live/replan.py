"""Planning again in the middle of the day: loads in progress go on, and all learn what changed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from events.diary import StoredEntry
from events.model import Event
from events.table import changed
from solver.live.gains import gains
from solver.live.plan_diff import pot_changes, work_changes
from solver.live.reconcile import is_possible, reconcile
from solver.live.status import DayStatus, day_status
from solver.plan import Plan
from solver.planning.pipeline import plan_day
from solver.risk.monte_carlo import simulate


def replan(event: Event, plan: Plan, entries: Sequence[StoredEntry], now: datetime) -> Plan:
    """Return the checked plan of the rest of the day, and what it changes for whom.

    Nobody's work changes without need: after dishes, lateness and gas, fewest pots go elsewhere
    than planned, and fewest jobs change hands; no minute of margin is worth a moved pot.
    """
    return replan_from(day_status(event, reconcile(event, plan, now), entries, now))


def replan_from(status: DayStatus) -> Plan:
    """Return the new plan from where the day stands."""
    event, old = status.day.event, status.plan
    new = plan_day(status.day)
    comparable = new.risk is not None and all(is_possible(event, p) for p in old.placements)
    kept = simulate(status.day, old) if comparable else None
    new = changed(
        new,
        pot_changes=tuple(pot_changes(old, new)),
        work_changes=tuple(work_changes(event, old, new)),
        if_kept=kept.meals if kept else (),
        in_hand=tuple(h.came_off for h in status.in_hand),
    )
    return changed(new, gains=tuple(gains(status, new, kept)))
