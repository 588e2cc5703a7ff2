"""What doors may ask of an event alone, stored or not: the solver's answers that come at once.

A plan and a season take seconds: only the command waits for them here.
"""

from __future__ import annotations

from functools import lru_cache

from events.model import Event
from service.application.price import require_plannable
from solver.feasibility import capacity
from solver.feasibility.dish_matrix import dish_matrix
from solver.feasibility.season import season, usual_of_100
from solver.feasibility.siting import siting
from solver.plan import Window
from solver.planning.pipeline import make_plan
from solver.risk.decision import crew_from, decide, tasks_before
from solver.solar.windows import station_stretches, windows
from solver.thermal.readings import fit, litre_test
from solver.thermal.water_test import water_test

__all__ = [
    "crew_from",
    "decide",
    "dish_matrix",
    "fit",
    "litre_test",
    "make_plan",
    "season",
    "siting",
    "station_stretches",
    "sun_windows",
    "takes",
    "tasks_before",
    "usual",
    "water_test",
]
USUAL_MOST = 100  # dishes times cookers: some half a second


def takes(event: Event) -> capacity.Takes:
    """Return what an event's cookers take by its meals at most; raises TooLarge."""
    require_plannable(event)
    return _takes(event.model_dump_json())


@lru_cache(maxsize=64)
def _takes(event_json: str) -> capacity.Takes:
    return capacity.takes(Event.model_validate_json(event_json))


def usual(event: Event) -> int | None:
    """Return how likely all is in time under the month's usual cloud; None where nobody can say.

    A page waits for it: a large event is not asked.
    """
    if len(event.dishes) * len(event.cookers) > USUAL_MOST:
        return None
    return _usual(event.model_dump_json())


@lru_cache(maxsize=256)
def _usual(event_json: str) -> int | None:
    return usual_of_100(Event.model_validate_json(event_json))


def sun_windows(event: Event) -> tuple[Window, ...]:
    """Return the stretches of usable sun of the site and of each sun cooker."""
    return _sun_windows(event.model_dump_json())


@lru_cache(maxsize=64)
def _sun_windows(event_json: str) -> tuple[Window, ...]:
    return windows(Event.model_validate_json(event_json))
