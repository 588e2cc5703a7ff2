"""An earlier plan with an event that was changed since: which parts still apply, what must stay."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from events.errors import Fault, FaultyEvent, Place
from events.model import Event
from events.table import changed
from solver.plan import Job, Placement, Plan


def reconcile(event: Event, plan: Plan, now: datetime) -> Plan:
    """Return a plan without what its event no longer has; pots that still wait stay to be placed.

    Raises FaultyEvent where the event has lost something that food is in, or was in, today.
    """
    in_use = [p for p in plan.placements if p.loaded_at <= now]
    in_use += [h.placement for h in plan.in_hand]
    faults = [f for p in in_use for f in _faults(event, p)]
    if faults:
        raise FaultyEvent("the changed event", faults)
    cookers, dishes = {c.id for c in event.cookers}, {d.id for d in event.dishes}
    placements = tuple(p for p in plan.placements if p.dish_id in dishes)
    turns = tuple(t for t in plan.turns if t.cooker_id in cookers)
    ids = {t.id for t in turns}
    walks = (changed(w, turn_ids=tuple(t for t in w.turn_ids if t in ids)) for w in plan.walks)
    return changed(
        plan,
        placements=placements,
        unplaced=tuple(u for u in plan.unplaced if u.dish_id in dishes),
        turns=turns,
        walks=tuple(w for w in walks if w.turn_ids),
        jobs=_jobs(event, plan, {p.id for p in placements}),
    )


def _jobs(event: Event, plan: Plan, placement_ids: set[str]) -> tuple[Job, ...]:
    """Return the jobs whose cooker, talk, meal and pots the event still has, some pots at least."""
    cookers = {c.id for c in event.cookers} | {None}
    occasions = {t.id for t in event.talks} | {m.id for m in event.meals} | {None}
    return tuple(
        changed(j, placement_ids=tuple(i for i in j.placement_ids if i in placement_ids))
        for j in plan.jobs
        if j.cooker_id in cookers and {j.talk_id, j.meal_id} <= occasions
        if not j.placement_ids or placement_ids.intersection(j.placement_ids)
    )


def is_possible(event: Event, p: Placement) -> bool:
    """Return whether the event still has the dish, the cookers and the pot of a placement."""
    return next(_faults(event, p), None) is None


def _faults(event: Event, p: Placement) -> Iterator[Fault]:
    """Yield what a placement needs and the event has no more."""
    since = p.loaded_at.astimezone(event.zone).time()
    cookers = {c.id for c in event.cookers}
    for name in (p.cooker_id, p.then_cooker_id):
        if name is not None and name not in cookers:
            yield Place("cooker").fault(name, "", "cooker-has-food", dish=p.dish_id, since=since)
    if p.pot_id not in {k.id for k in event.pots}:
        yield Place("pot").fault(p.pot_id, "", "pot-has-food", dish=p.dish_id, since=since)
    if p.dish_id not in {d.id for d in event.dishes}:
        yield Place("dish").fault(p.dish_id, "", "dish-is-cooking", since=since)
