"""An earlier plan beside an event that was changed since: what it still says, what may not go."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from events.errors import Fault, FaultyEvent
from events.model import Event, changed
from solver.plan import Placement, Plan


def reconcile(event: Event, plan: Plan, now: datetime) -> Plan:
    """Return a plan without what its event no longer has; pots that still wait stay to be placed.

    Raises FaultyEvent where the event has lost something that food is in, or was in, today.
    """
    faults = [f for p in plan.placements if p.loaded_at <= now for f in _faults(event, p)]
    if faults:
        raise FaultyEvent("the changed event", faults)
    cookers, dishes = {c.id for c in event.cookers}, {d.id for d in event.dishes}
    others = {t.id for t in event.talks} | {m.id for m in event.meals} | {None}
    placements = tuple(p for p in plan.placements if p.dish_id in dishes)
    ids = {p.id for p in placements}
    turns = tuple(t for t in plan.turns if t.cooker_id in cookers)
    kept = {t.id for t in turns}
    walks = (changed(w, turn_ids=tuple(t for t in w.turn_ids if t in kept)) for w in plan.walks)
    jobs = (
        changed(j, placement_ids=tuple(i for i in j.placement_ids if i in ids))
        for j in plan.jobs
        if j.cooker_id in cookers | {None} and {j.talk_id, j.meal_id} <= others
        if not j.placement_ids or ids.intersection(j.placement_ids)
    )
    return changed(
        plan,
        placements=placements,
        unplaced=tuple(u for u in plan.unplaced if u.dish_id in dishes),
        turns=turns,
        walks=tuple(w for w in walks if w.turn_ids),
        jobs=tuple(jobs),
    )


def stands_in(event: Event, p: Placement) -> bool:
    """Return whether the event has the cookers and the pot of a placement."""
    return not list(_faults(event, p))


def _faults(event: Event, p: Placement) -> Iterator[Fault]:
    at = p.loaded_at.astimezone(event.zone)
    for kind, name, rows, instead in (
        ("cooker", p.cooker_id, event.cookers, " and press “out of action” for it"),
        ("cooker", p.then_cooker_id, event.cookers, " and press “out of action” for it"),
        ("pot", p.pot_id, event.pots, ""),
        ("dish", p.dish_id, event.dishes, " and press “thrown away” for it"),
    ):
        if name is not None and name not in {r.id for r in rows}:
            yield Fault(
                f"[[{kind}]]",
                name,
                "not there",
                f"{'it' if kind == 'dish' else p.dish_id} has been cooking "
                f"{'' if kind == 'dish' else 'in it '}since {at:%H:%M} today",
                f"Put {name} back{instead}.",
            )
