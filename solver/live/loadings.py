"""Which loads of a plan were loaded, and when: by the diary, else as planned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from events.food_rules import rules_of
from events.model import Dish
from events.table import changed
from solver.live.diary_index import DiaryIndex
from solver.plan import Placement, Plan
from solver.simulation.day import Day
from solver.solar.irradiance import minute_of
from solver.thermal.energy_balance import Load


@dataclass(frozen=True)
class Loading:
    """When a batch was loaded (minute of the day), and whether that is only assumed."""

    minute: int
    assumed: bool  # nobody pressed "loaded"


def loadings(day: Day, plan: Plan, diary: DiaryIndex, now: int) -> dict[str, Loading]:
    """Return the loading of each batch that does not wait any more.

    If nobody pressed, we assume the plan was followed, unless the cooker was out of use by then or
    the one who was to load it had said to be late.
    """
    by_batch = {p.id: _loading(day, plan, diary, p, now) for p in plan.placements}
    return {name: loading for name, loading in by_batch.items() if loading is not None}


def _loading(day: Day, plan: Plan, diary: DiaryIndex, p: Placement, now: int) -> Loading | None:
    if p.id in diary.loaded:
        return Loading(diary.loaded[p.id], assumed=False)
    planned = minute_of(day.sky, p.loaded_at)
    if p.id in plan.started_ids:
        return Loading(planned, assumed=False)
    job = next((j for j in plan.jobs if j.kind == "load" and p.id in j.placement_ids), None)
    helpers = job.helper_ids if job is not None else ()
    if any(a.helper_id in helpers and a.start <= planned < a.end for a in diary.absences):
        return None
    out_of_use = (diary.out_of_action.get(p.cooker_id), diary.parked.get(p.cooker_id))
    if planned > now or any(since is not None and since <= planned for since in out_of_use):
        return None
    return Loading(planned, assumed=True)


def load_of(day: Day, placements: Sequence[Placement]) -> Load:
    """Return what was put into a cooker together, and for how long that stood empty before."""
    first = placements[0]
    empty = (first.loaded_at - first.preheat_at).total_seconds() / 60 if first.preheat_at else 0
    return Load(
        tuple(_as_loaded(day.event.dish(p.dish_id), p) for p in placements),
        tuple(p.mass_kg for p in placements),
        tuple(day.event.pot(p.pot_id) for p in placements),
        int(empty),
        rules_of(day.event).reheat_c,
    )


def _as_loaded(dish: Dish, p: Placement) -> Dish:
    """Return the dish as warm as it was when it was put in: a pot may come from another cooker."""
    return changed(dish, start_c=p.curve[0].core_c) if p.curve else dish
