"""What would help, in sentences: each change, and what it brings."""

from __future__ import annotations

from events.model import Event
from service.text.formatting import hour
from solver.feasibility.improvements import (
    AddCooker,
    AddHelper,
    BeginEarlier,
    EatLater,
    EatSooner,
    EventChange,
    Improvement,
    MakeLess,
    MakeLessOfAll,
    UseGas,
)


def change(event: Event, what: EventChange) -> str:
    """Return what to do."""
    if isinstance(what, EatLater | EatSooner):
        return f"Eat {event.meal(what.meal_id).name} at {hour(event, what.start)}"
    if isinstance(what, MakeLess):
        return f"Make {what.portions} portions of {event.dish(what.dish_id).name}"
    if isinstance(what, BeginEarlier):
        return f"Begin at {hour(event, what.opens)}, all helpers too"
    if isinstance(what, AddHelper):
        helper = event.helper(what.like_helper_id).name
        return f"Find one more helper who may do what {helper} may"
    if isinstance(what, AddCooker):
        return f"Bring one more cooker like {event.cooker(what.like_cooker_id).name}"
    if isinstance(what, MakeLessOfAll):
        return f"Make {what.pct} % of every dish"
    if isinstance(what, UseGas):
        return "Use gas wherever it makes a dish surer"
    rings = any(c.on_gas for c in event.cookers)
    return "Bring one more gas ring" if rings else "Bring a gas ring"


def effect(event: Event, improvement: Improvement) -> str:
    """Return what a change brings its dish."""
    dish = event.dish(improvement.dish_id).name
    if not improvement.newly_placed:
        return f"{dish}: {improvement.was_of_100} to {improvement.of_100} of 100 skies"
    if improvement.of_100 is None:
        return f"{dish} is placed"
    return f"{dish} is placed, {improvement.of_100} of 100 skies"
