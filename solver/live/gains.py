"""Why planning again is worth it, and what a plan made anew wins over the one in force."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from events.model import Event
from solver.live.status import DayStatus
from solver.plan import GainKind, Placement, Plan, Risk
from solver.policy import CHANGE_STEPS, MISS_STEP, SMALL_MIN
from solver.simulation.day_state import Absence
from solver.solar.irradiance import Sky, minute_of

NOISE_DISHES = CHANGE_STEPS * MISS_STEP  # what the goal asks of a moved pot, too


def gains(status: DayStatus, new: Plan, kept: Risk | None) -> Iterator[GainKind]:
    """Yield what a new plan wins beyond noise; nothing where the old one is as good.

    `kept` are the chances under the old plan; None where there is no forecast.
    """
    old = status.plan
    yield from needs(status)
    if _tastings_move(old, new):
        yield "tastings"
    if len({p.dish_id for p in new.placements}) > len({p.dish_id for p in old.placements}):
        yield "dishes"
    if kept is None or new.risk is None:
        if new.pot_changes:  # without a forecast the goal alone says so
            yield "timetable"
        return
    won = new.risk.dishes_on_time - kept.dishes_on_time
    if won >= NOISE_DISHES:
        yield "chance"
    if won <= -NOISE_DISHES:
        return
    if _late_min(old) - _late_min(new) >= SMALL_MIN:
        yield "sooner"
    if _gas_min(status.day.event, old) - _gas_min(status.day.event, new) >= SMALL_MIN:
        yield "gas"


def _tastings_move(old: Plan, new: Plan) -> bool:
    """Return whether tastings have other times: a move is only made where it makes them surer."""

    def times(plan: Plan) -> dict[str, tuple[datetime, datetime]]:
        tastings = plan.contest.tastings if plan.contest else ()
        return {t.entry_id: (t.at, t.loaded_at) for t in tastings}

    return times(old) != times(new)


def needs(status: DayStatus) -> Iterator[GainKind]:
    """Yield why a plan can't be followed any more: a cooker that is broken, hands that are away."""
    sky, plan = status.day.sky, status.plan
    waits = (p for p in plan.placements if p.id not in status.finished_ids)
    broken = status.unavailable
    shown = (g for g in (plan.talks.given if plan.talks else ()) if g.cooker_id in broken)
    if any(_is_to_come(sky, p, status.minute) and _uses(p, broken) for p in waits) or any(
        minute_of(sky, g.at) > status.minute for g in shown
    ):
        yield "cooker"
    absences = status.day.replan.absences if status.day.replan else ()
    if any(_has_work(sky, plan, absence, status.minute) for absence in absences):
        yield "people"


def _is_to_come(sky: Sky, p: Placement, minute: int) -> bool:
    return minute_of(sky, p.off_at or p.lifted_at) > minute


def _uses(p: Placement, broken: frozenset[str]) -> bool:
    return p.cooker_id in broken or p.then_cooker_id in broken


def _has_work(sky: Sky, plan: Plan, absence: Absence, minute: int) -> bool:
    """Return whether a plan has work to come for a helper while they are away."""
    times = [j.at for j in plan.jobs if absence.helper_id in j.helper_ids]
    times += [w.at for w in plan.walks if w.helper_id == absence.helper_id]
    start = max(absence.start, minute)
    return any(start <= minute_of(sky, at) < absence.end for at in times)


def _late_min(plan: Plan) -> float:
    """Return by how much pots are planned to be served after their time, in all."""
    return sum((p.served_at - p.promised_at).total_seconds() / 60 for p in plan.placements)


def _gas_min(event: Event, plan: Plan) -> float:
    """Return for how long pots stand on rings by a plan."""
    rings = {c.id for c in event.cookers if c.on_gas}
    alone = ((p.loaded_at, p.lifted_at) for p in plan.placements if p.cooker_id in rings)
    after = (
        (p.lifted_at, p.off_at or p.served_at) for p in plan.placements if p.then_cooker_id in rings
    )
    return sum((end - start).total_seconds() / 60 for start, end in (*alone, *after))
