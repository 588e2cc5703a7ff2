"""What planning again changes, against the plan before: for the pots, and for each helper."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from events.model import Event
from events.table import changed
from solver.plan import FoodPart, Job, Placement, Plan, PotChange, Walk, WorkChange
from solver.policy import SMALL_MIN

SMALL = timedelta(minutes=SMALL_MIN)


def pot_changes(old: Plan, new: Plan) -> list[PotChange]:
    """Return which pots are new, go elsewhere, or are given up, in the order of the new plan."""
    before = {p.id: p for p in old.placements}
    changes = [
        _new_pot(p) if p.id not in before else _moved_pot(before[p.id], p, new)
        for p in new.placements
    ]
    placed = {p.dish_id for p in new.placements}
    refused = {u.dish_id for u in new.unplaced}
    given_up = dict.fromkeys(p.dish_id for p in old.placements if p.dish_id not in placed)
    return [
        *(c for c in changes if c is not None),
        *(
            PotChange(kind="given-up", food=FoodPart(dish_id=d, batch=1, batches=1))
            for d in given_up
            if d in refused
        ),
    ]


def _new_pot(p: Placement) -> PotChange:
    return PotChange(kind="new", food=_food(p), cooker_id=p.cooker_id, at=p.loaded_at)


def _moved_pot(was: Placement, p: Placement, new: Plan) -> PotChange | None:
    """Return what is different for a pot; the greatest difference only."""
    has_begun = p.id in new.started_ids
    if not has_begun and (was.cooker_id, was.loaded_at) != (p.cooker_id, p.loaded_at):
        return PotChange(
            kind="moved",
            food=_food(p),
            cooker_id=p.cooker_id,
            at=p.loaded_at,
            was_cooker_id=was.cooker_id,
            was_at=was.loaded_at,
        )
    if p.then_cooker_id and p.then_cooker_id != was.then_cooker_id:
        return PotChange(
            kind="second-cooker",
            food=_food(p),
            cooker_id=p.then_cooker_id,
            at=p.lifted_at,
            was_cooker_id=p.cooker_id,
        )
    if p.served_at > p.promised_at:
        return PotChange(kind="late", food=_food(p), at=p.served_at, was_at=p.promised_at)
    if abs(p.lifted_at - was.lifted_at) >= SMALL:
        return PotChange(
            kind="lifted",
            food=_food(p),
            cooker_id=p.cooker_id,
            at=p.lifted_at,
            was_at=was.lifted_at,
        )
    return None


def work_changes(event: Event, old: Plan, new: Plan) -> list[WorkChange]:
    """Return each helper's new work and what is not theirs any more, in order of time."""
    since = new.replanned_at
    assert since is not None
    changes: list[WorkChange] = []
    for helper in event.helpers:
        was = sorted(_work(old, helper.id, since), key=lambda w: (w.at, w.job, w.cooker_ids))
        now = sorted(_work(new, helper.id, since), key=lambda w: (w.at, w.job, w.cooker_ids))
        lost = [w for w in was if not any(_is_same(w, x) for x in now)]
        of_one = [changed(w, kind="dropped") for w in lost]
        of_one += [w for w in now if not any(_is_same(w, x) for x in was)]
        changes += sorted(of_one, key=lambda w: w.at)
    return changes


def _is_same(one: WorkChange, other: WorkChange) -> bool:
    """Return whether two are the same task at nearly the same time."""
    return abs(one.at - other.at) < SMALL and one == changed(other, at=one.at)


def _work(plan: Plan, helper_id: str, since: datetime) -> Iterator[WorkChange]:
    """Yield one helper's jobs and walks after an instant."""
    for job in plan.jobs:
        if helper_id in job.helper_ids and job.at > since:
            yield _job(plan, job, helper_id)
    for walk in plan.walks:
        if walk.helper_id == helper_id and walk.at > since:
            yield _walk(plan, walk)


def _job(plan: Plan, job: Job, helper_id: str) -> WorkChange:
    foods = {p.id: _food(p) for p in plan.placements}
    return WorkChange(
        kind="new",
        helper_id=helper_id,
        at=job.at,
        job=job.kind,
        foods=(
            (FoodPart(dish_id=job.dish_id, batch=1, batches=1),)
            if job.dish_id
            else tuple(foods[i] for i in job.placement_ids if i in foods)
        ),
        cooker_ids=(job.cooker_id,) if job.cooker_id else (),
        talk_id=job.talk_id,
        meal_id=job.meal_id,
    )


def _walk(plan: Plan, walk: Walk) -> WorkChange:
    cooker_of = {t.id: t.cooker_id for t in plan.turns}
    cookers = sorted(cooker_of[t] for t in walk.turn_ids)
    return WorkChange(
        kind="new", helper_id=walk.helper_id, at=walk.at, job="turn", cooker_ids=tuple(cookers)
    )


def _food(p: Placement) -> FoodPart:
    return FoodPart(dish_id=p.dish_id, batch=p.batch, batches=p.batches)
