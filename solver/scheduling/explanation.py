"""What was given up for what, read off the columns that were not taken."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from solver.notices import CostKey, Tradeoff
from solver.policy import SLOT_MIN
from solver.scheduling.columns import Candidate
from solver.scheduling.problem import Column
from solver.simulation.day import Day
from solver.solar.irradiance import at_minute

COSTS: tuple[CostKey, ...] = ("missed", "gas", "short", "stale")


def _cost(candidate: Candidate, key: CostKey) -> int:
    column = candidate.column
    return {
        "missed": column.missed,
        "gas": column.gas_min,
        "short": column.short_min,
        "stale": column.stale_min,
    }[key]


def tradeoffs(
    day: Day, candidates: Sequence[Candidate], chosen: Sequence[Candidate]
) -> Iterator[Tradeoff]:
    """Yield each cost that some dish pays, with what it is paid for."""
    of_batches: dict[frozenset[str], list[Candidate]] = defaultdict(list)
    for candidate in candidates:
        of_batches[frozenset(candidate.column.batch_ids)].append(candidate)
    for candidate in chosen:
        if candidate.in_progress is not None:
            continue
        rivals = of_batches[frozenset(candidate.column.batch_ids)]
        for n, key in enumerate(COSTS):
            if _cost(candidate, key):
                yield _tradeoff(day, candidate, rivals, chosen, level=n)


def _tradeoff(
    day: Day,
    candidate: Candidate,
    rivals: Sequence[Candidate],
    chosen: Sequence[Candidate],
    *,
    level: int,
) -> Tradeoff:
    key = COSTS[level]
    paid = _cost(candidate, key)
    dish_ids = _dishes(candidate)
    cheaper = [c for c in rivals if _cost(c, key) < paid]
    if not cheaper:
        return Tradeoff(kind="nothing-better", dish_ids=dish_ids, cost=key, cost_figure=paid)
    dearer = [k for c in cheaper for k in [_dearer(c, candidate, level)] if k is not None]
    if len(dearer) == len(cheaper):
        best = min(cheaper, key=lambda c: [_cost(c, k) for k in COSTS])
        other = _dearer(best, candidate, level)
        assert other is not None
        more = _cost(best, other) - _cost(candidate, other)
        return Tradeoff(
            kind="dearer-elsewhere",
            dish_ids=dish_ids,
            cost=key,
            cost_figure=paid,
            other=other,
            figures={"other_figure": more},
        )
    free = [c for c in cheaper if _dearer(c, candidate, level) is None]
    best = min(free, key=lambda c: [_cost(c, k) for k in (key, *COSTS)])
    rival = next((c for c in chosen if c is not candidate and _meet(best.column, c.column)), None)
    return Tradeoff(
        kind="cooker-taken" if rival else "hands-or-pots-taken",
        dish_ids=dish_ids,
        cost=key,
        cost_figure=paid,
        cooker_ids=(best.column.cooker_id,),
        rival_dish_ids=_dishes(rival) if rival else (),
        figures={"spared_figure": paid - _cost(best, key)},
        instants={"loaded_at": at_minute(day.sky, best.column.load_slot * SLOT_MIN)},
    )


def _dearer(other: Candidate, chosen: Candidate, level: int) -> CostKey | None:
    """Return the first cost above a level at which another candidate pays more, or None."""
    return next((k for k in COSTS[:level] if _cost(other, k) > _cost(chosen, k)), None)


def _dishes(candidate: Candidate) -> tuple[str, ...]:
    return tuple(dict.fromkeys(b.dish.id for b in candidate.batches))


def _meet(one: Column, other: Column) -> bool:
    return (
        one.cooker_id == other.cooker_id
        and one.occupies[0] < other.occupies[1]
        and other.occupies[0] < one.occupies[1]
    )
