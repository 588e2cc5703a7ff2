"""A running day's parts as rows for templates: pots as they stand, cookers' strengths."""

from __future__ import annotations

from events.model import Event
from service.text import formatting
from service.text import pots as pot_text
from solver.live.pots import PotStatus
from solver.live.status import DayStatus
from solver.plan import Plan

LOST_MIN = 5  # less to spare than planned by more than this is shown as lost


def pot_row(event: Event, plan: Plan, pot: PotStatus) -> dict[str, object]:
    """Return a pot as it stands, beside what was planned for it."""
    placement = next(p for p in plan.placements if p.id == pot.placement_id)
    cooker = event.cooker(pot.cooker_id)
    lost = pot.spare_min is not None and pot.spare_min < placement.margin_min - LOST_MIN
    half_spent = pot.clock_limit_min is not None and pot.clock_min > pot.clock_limit_min / 2
    return {
        "it": pot,
        "dish": event.dish(pot.dish_id).name + formatting.part(placement),
        "cooker": cooker.name,
        "kind": cooker.kind,
        "planned_min": placement.margin_min,
        "lost": lost,
        "state": pot_text.state(event, pot),
        "bad": pot.spare_min is not None and pot.spare_min < 0,
        "unsure": pot.stage == "cooking" and (pot.sure_min is None or pot.sure_min < 0),
        "clock_bad": half_spent,
    }


def strength_rows(event: Event, status: DayStatus) -> list[dict[str, object]]:
    """Return every sun cooker with what readings say of its strength."""
    return [
        {
            "name": event.cooker(s.cooker_id).name,
            "pct": round(100 * s.strength),
            "low": round(100 * s.low),
            "high": round(100 * s.high),
            "readings": s.readings,
            "out": s.cooker_id in status.unavailable,
            "parked": s.cooker_id in status.parked,
        }
        for s in status.strengths
    ]
