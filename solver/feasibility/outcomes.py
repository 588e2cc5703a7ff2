"""What a plan comes to in few figures, by which a change that was tried is judged."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

from events.model import Event
from solver.plan import Plan

WHOLE_GAIN_LEAST = 5  # points of a hundred that the least sure meal must gain: the step of chances
DISH_GAIN_LEAST = 10  # or one dish
PLACED_LOSS_MOST = 10  # that a meal may lose for one more dish (judgement): more is no help
WHOLE_LOSS_MOST = 20  # and for however many


class Outcome(BaseModel):
    """A plan's figures that a change is judged by."""

    model_config = ConfigDict(frozen=True)

    placed_ids: frozenset[str]
    meal_of_100: dict[str, int]  # empty without a forecast
    dish_of_100: dict[str, int]
    warm_min: dict[str, float]  # by dish, where it is lukewarm too long
    unsaved_ids: frozenset[str]  # for which a poor day finds no ring
    on_gas_ids: frozenset[str] = frozenset()  # dishes of which some is on gas
    dry_ids: frozenset[str] = frozenset()  # dishes that would boil dry

    @property
    def of_100(self) -> int | None:
        """Return the chance of the least sure meal; None without a forecast."""
        return min(self.meal_of_100.values(), default=None)


# Of a change that can't be planned.
NOTHING = Outcome(
    placed_ids=frozenset(), meal_of_100={}, dish_of_100={}, warm_min={}, unsaved_ids=frozenset()
)


def outcome_of(plan: Plan) -> Outcome:
    """Return what a plan comes to."""
    warm: dict[str, float] = {}
    for warning in plan.warnings:
        if warning.kind in ("do-not-serve", "warm-long"):
            for dish_id in warning.dish_ids:
                warm[dish_id] = max(warm.get(dish_id, 0), warning.figures.get("warm_min", 0))
    return Outcome(
        placed_ids=frozenset(p.dish_id for p in plan.placements),
        meal_of_100={m.meal_id: m.of_100 for m in plan.risk.meals} if plan.risk else {},
        dish_of_100={c.dish_id: c.of_100 for c in plan.risk.dishes} if plan.risk else {},
        warm_min=warm,
        unsaved_ids=_warned(plan, "too-few-rings"),
        on_gas_ids=frozenset(p.dish_id for p in plan.placements if "burner" in p.route),
        dry_ids=_warned(plan, "boils-dry"),
    )


def is_gas_day(event: Event, plan: Plan) -> bool:
    """Return whether there are sun cookers, and the plan uses none of them."""
    suns = {c.id for c in event.cookers if c.on_sun}
    used = {p.cooker_id for p in plan.placements}
    return bool(suns and used) and not suns & used


def weakest(plan: Plan) -> str | None:
    """Return the dish without which all others are clearly surer; None where there is none."""
    if plan.risk is None or not plan.risk.without or len(plan.risk.dishes) < 2:
        return None
    first = plan.risk.without[0]
    return first.dish_id if first.of_100 >= plan.risk.all_of_100 + DISH_GAIN_LEAST else None


class Fall(BaseModel):
    """A meal that is less sure after a change than before it."""

    model_config = ConfigDict(frozen=True)

    meal_id: str
    was_of_100: int
    of_100: int

    @property
    def points(self) -> int:
        """Return by how much it is less sure."""
        return self.was_of_100 - self.of_100


def fall_of(before: Outcome, after: Outcome) -> Fall | None:
    """Return the meal that loses most of its chance, or None where none loses any."""
    falls = [
        Fall(meal_id=m, was_of_100=was, of_100=after.meal_of_100[m])
        for m, was in before.meal_of_100.items()
        if m in after.meal_of_100 and after.meal_of_100[m] < was
    ]
    return max(falls, key=lambda fall: fall.points, default=None)


def bearable(fall: Fall | None, dishes: int) -> bool:
    """Return whether a chance lost is no more than so many more dishes are worth."""
    return fall is None or fall.points <= min(PLACED_LOSS_MOST * dishes, WHOLE_LOSS_MOST)


def no_worse(before: Outcome, after: Outcome) -> bool:
    """Return whether a plan keeps all dishes, and no meal is less sure."""
    return before.placed_ids <= after.placed_ids and fall_of(before, after) is None


def _warned(plan: Plan, kind: str) -> frozenset[str]:
    """Return the dishes that a warning of one kind names."""
    return frozenset(d for w in plan.warnings if w.kind == kind for d in w.dish_ids)
