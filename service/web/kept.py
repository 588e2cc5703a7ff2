"""The line that says that a form was saved, and what became of the plan by it."""

from __future__ import annotations

from dataclasses import dataclass

from events.errors import NotFound
from service.application.services import Services
from service.web.context import PageContext
from solver.plan import Plan


@dataclass(frozen=True)
class Kept:
    """The newest plan beside the one before; all None while it is not made."""

    number: int
    placed: int | None
    dishes: int
    placed_before: int | None  # None where there was none before, or no fewer are placed now


def kept(context: PageContext, services: Services) -> Kept:
    """Return how many dishes the newest version's plan places, and where fewer than before."""
    number, dishes = context.stored.version, len(context.stored.event.dishes)
    if context.plan is None or context.standing:
        return Kept(number, None, dishes, None)
    placed = _placed(context.plan)
    try:
        before = _placed(services.plans.previous(context.name).plan)
    except NotFound:
        before = 0
    return Kept(number, placed, dishes, before if before > placed else None)


def _placed(plan: Plan) -> int:
    return len({p.dish_id for p in plan.placements})
