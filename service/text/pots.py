"""How the pots and the day stand, in words."""

from __future__ import annotations

from datetime import datetime

from events.model import Event
from service.text.formatting import clock, temp
from service.text.notices import danger_zone
from solver.live.pots import PotStatus
from solver.live.status import DayStatus


def order(status: DayStatus) -> str:
    """Return the one plain order of the moment, or nothing."""
    if status.parked:
        return "Gust: mirrors turned away, covered, laid down. Nobody in front of a bowl."
    if status.cloudy:
        return "Cloud: lids shut, keep aiming, wait."
    return ""


def off_heat(event: Event, pot: PotStatus) -> str:
    """Return since when a pot in hand is off the heat, and how warm it came off; else nothing."""
    if pot.off_heat_at is None or pot.off_heat_c is None:
        return ""
    since = clock(event, pot.off_heat_at)
    return f"off the heat since {since}, {temp(event, pot.off_heat_c)}"


def came_off(event: Event, at: datetime, core_c: float) -> str:
    """Return when a pot came off the heat, and how warm."""
    return f"off the heat at {clock(event, at)}, {temp(event, core_c)}"


def advice(event: Event, pot: PotStatus, *, has_place: bool) -> str:
    """Return what is to be done with a pot in hand."""
    spent = pot.clock_limit_min is not None and pot.clock_min > pot.clock_limit_min
    if spent:
        used = f"{pot.clock_min} of {pot.clock_limit_min} min"
        return f"Don’t serve it: {used} between {danger_zone(event)}."
    if pot.ready_at is None:
        return "Not done: it must cook on. Lid on" + ("." if has_place else "; ask where it goes.")
    if not pot.ready_now:
        return "Too cool to serve: heat it, and check with a probe."
    return "Check with a probe before you serve it."


def state(event: Event, pot: PotStatus) -> str:
    """Return whether a pot is ready, or when it will be."""
    if pot.stage == "in-hand":
        return "done" if pot.ready_at else "not done"
    if pot.stage == "lifted":
        return "done, kept warm"
    if pot.ready_now:
        return "ready"
    if pot.ready_at is None:
        return "not on this day, where it stands"
    ready = clock(event, pot.ready_at)
    if pot.fast_at is None or pot.cautious_at is None:
        return f"ready {ready}, or later"
    return f"ready {ready} ({clock(event, pot.fast_at)} to {clock(event, pot.cautious_at)})"
