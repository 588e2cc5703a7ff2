"""What a plan comes to in few figures, and whether a change that was tried made it better."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

from solver.feasibility.problems import Problem
from solver.plan import Plan

WHOLE_GAIN_LEAST = 5  # points of a hundred that the least sure meal must gain: the step of chances
DISH_GAIN_LEAST = 10  # or the problem's own dish
WARM_GAIN_MIN = 15  # or fewer minutes lukewarm


class Outcome(BaseModel):
    """A plan's figures that a change is judged by."""

    model_config = ConfigDict(frozen=True)

    placed_ids: frozenset[str]
    meal_of_100: dict[str, int]  # empty without a forecast
    dish_of_100: dict[str, int]
    warm_min: dict[str, float]  # by dish, where it is lukewarm too long
    unsaved_ids: frozenset[str]  # for which a poor day finds no ring

    @property
    def of_100(self) -> int | None:
        """Return the chance of the least sure meal; None without a forecast."""
        return min(self.meal_of_100.values(), default=None)


def outcome_of(plan: Plan) -> Outcome:
    """Return what a plan comes to."""
    warm: dict[str, float] = {}
    for warning in plan.warnings:
        if warning.kind in ("do-not-serve", "warm-long"):
            for dish_id in warning.dish_ids:
                warm[dish_id] = max(warm.get(dish_id, 0), warning.figures.get("warm_min", 0))
    few_rings = [w.dish_ids for w in plan.warnings if w.kind == "too-few-rings"]
    return Outcome(
        placed_ids=frozenset(p.dish_id for p in plan.placements),
        meal_of_100={m.meal_id: m.of_100 for m in plan.risk.meals} if plan.risk else {},
        dish_of_100={c.dish_id: c.of_100 for c in plan.risk.dishes} if plan.risk else {},
        warm_min=warm,
        unsaved_ids=frozenset().union(*few_rings),
    )


def helps(problem: Problem, before: Outcome, after: Outcome) -> bool:
    """Return whether a change is worth its trouble: something is better, nothing is much worse."""
    if not before.placed_ids <= after.placed_ids:
        return False
    if before.placed_ids < after.placed_ids:
        return True
    if _any_falls(before, after) or after.warm_min.keys() - before.warm_min.keys():
        return False
    if problem.kind == "warm-long":
        return _warm_min(problem, before) - _warm_min(problem, after) >= WARM_GAIN_MIN
    if problem.kind == "few-rings":
        return len(after.unsaved_ids) < len(before.unsaved_ids)
    gain = _whole(problem, after) - _whole(problem, before)
    own_gain = _least(problem, after) - _least(problem, before)
    return gain >= WHOLE_GAIN_LEAST or own_gain >= DISH_GAIN_LEAST


def no_worse(before: Outcome, after: Outcome) -> bool:
    """Return whether a plan keeps all dishes, and no meal is less sure."""
    return before.placed_ids <= after.placed_ids and not _any_falls(before, after)


def _any_falls(before: Outcome, after: Outcome) -> bool:
    return any(after.meal_of_100.get(m, 0) < of_100 for m, of_100 in before.meal_of_100.items())


def _whole(problem: Problem, outcome: Outcome) -> int:
    """Return the chance of the problem's own meal, or of the least sure one."""
    return outcome.meal_of_100.get(problem.meal_id or "", outcome.of_100 or 0)


def _warm_min(problem: Problem, outcome: Outcome) -> float:
    return sum(outcome.warm_min.get(d, 0) for d in problem.dish_ids)


def _least(problem: Problem, outcome: Outcome) -> int:
    return min((outcome.dish_of_100.get(d, 0) for d in problem.dish_ids), default=0)
