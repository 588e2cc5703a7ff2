"""What would help, in sentences: each change, and what it brings."""

from __future__ import annotations

from events.model import Event
from service.text.formatting import hour, joined, lower_first
from solver.feasibility.changes import (
    AddCooker,
    AddHelper,
    BeginEarlier,
    DoneNearer,
    EatLater,
    EatSooner,
    EventChange,
    KeepOut,
    LeaveOut,
    MakeLess,
    MakeLessOfAll,
    MorePots,
    UseGas,
)
from solver.feasibility.improvements import Improvement
from solver.feasibility.outcomes import Fall


def change(event: Event, what: EventChange) -> str:
    """Return what to do."""
    if isinstance(what, EatLater | EatSooner):
        return f"Eat {event.meal(what.meal_id).name} at {hour(event, what.start)}"
    if isinstance(what, MakeLess):
        return f"Make {what.portions} portions of {event.dish(what.dish_id).name}"
    if isinstance(what, MorePots):
        return f"Cook {event.dish(what.dish_id).name} in {what.pots} pots, less in each"
    if isinstance(what, BeginEarlier):
        return f"Begin at {hour(event, what.opens)}, all helpers too"
    if isinstance(what, AddHelper):
        helper = event.helper(what.like_helper_id).name
        return f"Find one more helper who may do what {helper} may"
    if isinstance(what, AddCooker):
        return f"Bring one more cooker like {event.cooker(what.like_cooker_id).name}"
    if isinstance(what, LeaveOut):
        return f"Leave out {event.dish(what.dish_id).name}"
    if isinstance(what, KeepOut):
        cookers = joined([event.cooker(c).name for c in what.cooker_ids])
        return f"Keep {event.dish(what.dish_id).name} out of {cookers}"
    if isinstance(what, DoneNearer):
        name = event.dish(what.dish_id).name
        return f"Have {name} ready at most {what.most_min} min before it is eaten"
    if isinstance(what, MakeLessOfAll):
        return f"Make {what.pct} % of every dish"
    if isinstance(what, UseGas):
        return "Use gas wherever it makes a dish surer"
    rings = any(c.on_gas for c in event.cookers)
    return "Bring one more gas ring" if rings else "Bring a gas ring"


def effect(event: Event, improvement: Improvement) -> str:
    """Return what a change brings its dish; and which meal is less sure for it, if one is."""
    dish = event.dish(improvement.dish_id).name
    was, now = improvement.was_of_100, improvement.of_100
    if isinstance(improvement.change, LeaveOut):
        said = f"All others: {now} of 100 skies, now {was}"
    elif improvement.off_gas and not improvement.newly_placed:
        said = f"{dish} is cooked by the sun, not on gas"
    elif not improvement.newly_placed:
        said = f"{dish}: {was} to {now} of 100 skies"
    elif now is None:
        said = f"{dish} is placed"
    else:
        said = f"{dish} is placed, {now} of 100 skies"
    return f"{said}; {less_sure(event, improvement.fall)}" if improvement.fall else said


def less_sure(event: Event, fall: Fall) -> str:
    """Return by how much a meal is less sure after a change."""
    meal = lower_first(event.meal(fall.meal_id).name)
    return f"but {meal} is less sure: {fall.of_100} of 100, now {fall.was_of_100}"
