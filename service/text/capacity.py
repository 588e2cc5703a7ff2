"""What the cookers take beside what there is to cook, before a plan is made."""

from __future__ import annotations

from events.model import Event
from service.text.formatting import hour, mass


def takes_line(event: Event, takes_kg: float) -> str:
    """Return how much the cookers take by the first meal; what to do where the food is more."""
    food_kg = sum(d.mass_kg for d in event.dishes)
    by = hour(event, min(m.start for m in event.meals))
    if takes_kg <= 0:
        return f"None of your cookers has any of this ready by {by}, even on a clear day."
    takes = f"Your cookers take about {mass(event, takes_kg)} at most by {by} on a clear day"
    if food_kg <= takes_kg:
        return f"{takes}."
    return (
        f"{takes}; this is {mass(event, food_kg)}. Make fewer portions, bring more cookers or gas "
        "rings, or eat later."
    )
