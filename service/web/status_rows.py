"""A running day's parts as rows for templates: pots as they stand, cookers' strengths."""

from __future__ import annotations

from events.model import Event
from service.application.services import Services
from service.text import formatting
from service.text import pots as pot_text
from service.web.context import PageContext
from solver.live.pots import PotStatus
from solver.live.status import DayStatus
from solver.plan import Placement, Plan

LOST_MIN = 5  # less to spare than planned by more than this is shown as lost


def pot_row(event: Event, plan: Plan, pot: PotStatus) -> dict[str, object]:
    """Return a pot as it stands, beside what was planned for it."""
    placement = _placement(plan, pot)
    cooker = event.cooker(pot.cooker_id)
    goes = _next_place(event, plan, pot)
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
        "off": pot_text.off_heat(event, pot),
        "advice": pot_text.advice(event, pot, has_place=bool(goes)) if pot.off_heat_at else "",
        "next": goes,
        "bad": pot.spare_min is not None and pot.spare_min < 0,
        "unsure": pot.stage == "cooking" and (pot.sure_min is None or pot.sure_min < 0),
        "clock_bad": half_spent,
    }


def in_hand_rows(context: PageContext, services: Services) -> list[dict[str, object]]:
    """Return the pots out of broken cookers, on the event's own day."""
    if context.plan is None or context.now is None:
        return []
    pots = services.live_day.in_hand(context.name)
    return [pot_row(context.event, context.plan, pot) for pot in pots]


def _placement(plan: Plan, pot: PotStatus) -> Placement:
    """Return a pot as it is placed; of one in hand, as it was in the cooker that broke."""
    known = [h.placement for h in plan.in_hand] if pot.off_heat_at else []
    return next(p for p in (*known, *plan.placements) if p.id == pot.placement_id)


def _next_place(event: Event, plan: Plan, pot: PotStatus) -> str:
    """Return where a pot in hand goes on by a plan that knew of it; nothing where none does."""
    knows = pot.placement_id in {h.placement.id for h in plan.in_hand}
    if pot.off_heat_at is None or not knows:
        return ""
    goes = next((p for p in plan.placements if p.id == pot.placement_id), None)
    if goes is None:
        return ""
    cooker, at = event.cooker(goes.cooker_id).name, formatting.clock(event, goes.loaded_at)
    return f"It goes on in {cooker} at {at}."


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
