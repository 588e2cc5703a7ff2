"""The table of minutes: every dish, cooker and start, or why not."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

import numpy as np
from pydantic import BaseModel, ConfigDict

from events.model import Event
from solver.notices import Refusal
from solver.scheduling.enumeration import CandidateSet, enumerate_candidates
from solver.simulation.day import Day, make_day
from solver.simulation.query import DurationEstimate
from solver.solar.irradiance import at_minute
from solver.thermal.energy_balance import Array


class Estimate(BaseModel):
    """Minutes from loading to done for one dish's batch in one cooker at one start."""

    model_config = ConfigDict(frozen=True)

    dish_id: str
    cooker_id: str
    loaded_at: datetime
    batch_kg: float
    fast_min: int | None
    expected_min: int | None
    cautious_min: int | None
    refusal: Refusal | None


def estimates(event: Event) -> list[Estimate]:
    """Return the table of minutes: every dish, cooker and start, or why not."""
    day = make_day(event)
    candidates = enumerate_candidates(day)
    return [*_possible(day, candidates), *_refused(day, candidates)]


def _possible(day: Day, candidates: CandidateSet) -> Iterator[Estimate]:
    by_pair: dict[tuple[str, str], DurationEstimate] = {}
    for pots in candidates.lone_pots:  # of several pot sizes, the table shows the smallest
        dish_id, cooker_id = pots.batches[0].dish.id, pots.durations.query.cooker.id
        if cooker_id not in candidates.refusals.get(dish_id, {}):
            by_pair.setdefault((dish_id, cooker_id), pots.durations)
    for (_, pool), durations in by_pair.items():
        for member in day.pools.get(pool, (pool,)):
            for k in range(len(durations.query.starts)):
                yield _estimate(day, durations, k, member)


def _refused(day: Day, candidates: CandidateSet) -> Iterator[Estimate]:
    for dish_id, by_cooker in candidates.refusals.items():
        for cooker_id, refusal in by_cooker.items():
            yield Estimate(
                dish_id=dish_id,
                cooker_id=cooker_id,
                loaded_at=day.sky.start_at,
                batch_kg=candidates.splits[dish_id][0].mass_kg,
                fast_min=None,
                expected_min=None,
                cautious_min=None,
                refusal=refusal,
            )


def _estimate(day: Day, durations: DurationEstimate, k: int, cooker_id: str) -> Estimate:
    def whole(values: Array) -> int | None:
        return int(np.ceil(values[0, k])) if np.isfinite(values[0, k]) else None

    load = durations.query.load
    return Estimate(
        dish_id=load.dishes[0].id,
        cooker_id=cooker_id,
        loaded_at=at_minute(day.sky, int(durations.query.starts[k])),
        batch_kg=load.masses_kg[0],
        fast_min=whole(durations.fast_min),
        expected_min=whole(durations.expected_min),
        cautious_min=whole(durations.cautious_min),
        refusal=None,
    )
