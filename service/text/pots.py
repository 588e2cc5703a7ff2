"""How the pots and the day stand, in words."""

from __future__ import annotations

from events.model import Event
from service.text.formatting import clock
from solver.live.pots import PotStatus
from solver.live.status import DayStatus


def order(status: DayStatus) -> str:
    """Return the one plain order of the moment, or nothing."""
    if status.parked:
        return "Gust: mirrors turned away, covered, laid down. Nobody in front of a bowl."
    if status.cloudy:
        return "Cloud: lids shut, keep aiming, wait."
    return ""


def state(event: Event, pot: PotStatus) -> str:
    """Return whether a pot is ready, or when it will be."""
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
