"""What planning again starts from, read off the plan before, the diary and the loads."""

from __future__ import annotations

from solver.live.diary_index import DiaryIndex
from solver.live.in_hand import PotInHand
from solver.live.load_status import LoadStatus
from solver.plan import Plan
from solver.simulation.day import Day
from solver.simulation.day_state import PlannedUse, Preheating, ReplanState
from solver.solar.irradiance import minute_of


def replan_state(
    day: Day,
    plan: Plan,
    diary: DiaryIndex,
    loads: tuple[LoadStatus, ...],
    in_hand: tuple[PotInHand, ...],
    now: int,
) -> ReplanState:
    """Return what planning again starts from.

    Pots in hand are loaded anew, as warm as they are.
    """
    started = diary.finished_ids | {p.id for load in loads for p in load.placements}
    warm_c = {h.placement.id: round(h.core_c, 1) for h in in_hand}
    # What counts from loading on, counts again.
    spent_min = {
        h.placement.id: max(0.0, h.clock_min - (day.event.dish(h.placement.dish_id).out_min or 0))
        for h in in_hand
    }
    pool_of = {m: representative for representative, ms in day.pools.items() for m in ms}
    return ReplanState(
        plan=plan,
        minute=now,
        in_progress=tuple(load.in_progress for load in loads),
        warm_c=warm_c,
        spent_min=spent_min,
        finished_ids=diary.finished_ids,
        unavailable=frozenset(diary.out_of_action),
        absences=diary.absences,
        aimed_at=_aimed_at(day, plan, diary, now),
        preheating=_preheating(day, plan, diary, started, now),
        representatives={c.id: pool_of.get(c.id, c.id) for c in day.event.cookers},
        planned_uses={
            p.id: PlannedUse(
                representative=pool_of.get(p.cooker_id, p.cooker_id),
                load=minute_of(day.sky, p.loaded_at),
                lift=minute_of(day.sky, p.lifted_at),
            )
            for p in plan.placements
        },
    )


def _aimed_at(day: Day, plan: Plan, diary: DiaryIndex, now: int) -> dict[str, int]:
    """Return, by cooker, the minute at which it was last aimed: by the diary, else as planned."""
    aimed = dict(diary.aimed)
    for turn in plan.turns:
        at = minute_of(day.sky, turn.at)
        if at <= now and turn.cooker_id not in diary.aimed:
            aimed[turn.cooker_id] = max(at, aimed.get(turn.cooker_id, 0))
    return aimed


def _preheating(
    day: Day, plan: Plan, diary: DiaryIndex, started: frozenset[str], now: int
) -> dict[str, Preheating]:
    """Return the cookers that stand empty on the sun by the plan, and are in use."""
    preheating = {}
    for p in plan.placements:
        if p.preheat_at is None or p.id in started:
            continue
        start = minute_of(day.sky, p.preheat_at)
        out_of_use = p.cooker_id in diary.out_of_action or p.cooker_id in diary.parked
        if start <= now and not out_of_use:
            preheating[p.cooker_id] = Preheating(start, minute_of(day.sky, p.loaded_at) - start)
    return preheating
