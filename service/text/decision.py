"""Go, fewer dishes or a gas day, in sentences."""

from __future__ import annotations

from markupsafe import Markup, escape

from events.model import Event
from service.text.formatting import day_clock, mass
from solver.plan import GasDay
from solver.risk.decision import Deadline, GoDecision, GoStep

HEADING = {
    "go": "Go.",
    "fewer-dishes": "Go, with fewer dishes on the sun.",
    "gas-day": "Plan on gas.",
    None: "No forecast yet.",
}
LOOK = {
    "first-look": "First look at the forecast: shopping, and gas if it may be needed",
    "second-look": "Second look: go, fewer dishes, or a gas day",
    "last-look": "Last look: what goes on gas first",
}
_STEP = {
    "gas": "{dish}: to the gas ring first. All others then: {chance}.",
    "replace": "{dish}: replace it by {instead}. All others then: {chance}.",
    "leave-out": "{dish}: leave it out. All others then: {chance}.",
}


def heading(decision: GoDecision) -> str:
    """Return the decision as a heading."""
    return HEADING[decision.outcome]


def step(event: Event, change: GoStep) -> Markup:
    """Return what to do with one dish, and how safe all the others are then."""
    dish = event.dish(change.dish_id).name
    return Markup(_STEP[change.remedy]).format(
        dish=_food(dish),
        instead=change.instead,
        chance=Markup("<b>{} of 100</b>").format(change.of_100),
    )


def gas_day(event: Event, day: GasDay) -> Markup:
    """Return how many rings and how much gas the whole menu takes, and what no ring does."""
    one_ring = "<b>{rings} ring</b> at once, <b>{gas}</b> of gas."
    more = "<b>{rings} rings</b> at once, <b>{gas}</b> of gas."
    said = Markup(one_ring if day.rings == 1 else more).format(
        rings=day.rings, gas=mass(event, day.gas_kg)
    )
    rings = sum(c.on_gas for c in event.cookers)
    if rings < day.rings:
        said += Markup(" You have {}.").format(rings or "none")
    if not day.not_on_gas:
        return said
    dishes = ", ".join(event.dish(d).name for d in day.not_on_gas)
    return said + Markup(" Not on a ring: {}.").format(dishes)


def deadline(event: Event, due: Deadline) -> Markup:
    """Return by when something must be decided, and what."""
    at = Markup("<b>{}</b>").format(day_clock(event, due.at))
    if due.kind != "task":
        return at + Markup(' <span class="soft">{}</span>').format(LOOK[due.kind])
    dish = event.dish(due.dish_id or "").name
    return at + Markup(' <span class="soft">{}: {}</span>').format(_food(dish), due.task)


def _food(name: str) -> Markup:
    return Markup('<span class="food">{}</span>').format(escape(name))
