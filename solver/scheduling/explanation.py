"""Why the plan is as it is: what was given up for what, read off the options not taken."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from solver.policy import SLOT_MIN
from solver.scheduling.batches import clock
from solver.scheduling.columns import Candidate
from solver.scheduling.problem import Column
from solver.simulation.durations import Day

COSTS = (
    ("late_min", "late under a poor sky"),
    ("gas_min", "on gas"),
    ("short_min", "short of the wanted margin"),
    ("stale_min", "held beyond fresh"),
)


def reasons(day: Day, ways: Sequence[Candidate], chosen: Sequence[Candidate]) -> Iterator[str]:
    """Yield a sentence for each cost that some dish pays, with what it is paid for."""
    names = {c.id: c.name for c in day.event.cookers}
    for way in chosen:
        if way.in_progress is not None:
            continue
        for n, (cost, words) in enumerate(COSTS):
            paid = getattr(way.column, cost)
            if not paid:
                continue
            mine = {b.id for b in way.batches}
            others = [
                w
                for w in ways
                if {b.id for b in w.batches} == mine and getattr(w.column, cost) < paid
            ]
            food = " and ".join(dict.fromkeys(b.dish.name for b in way.batches))
            yield f"{food}: {paid} min {words}{_because(day, names, way, others, chosen, n)}."


def _because(
    day: Day,
    names: dict[str, str],
    way: Candidate,
    others: list[Candidate],
    chosen: Sequence[Candidate],
    level: int,
) -> str:
    if not others:
        return "; no cooker and no start does better"
    cost = COSTS[level][0]
    dearer = [
        w
        for w in others
        if any(getattr(w.column, c) > getattr(way.column, c) for c, _ in COSTS[:level])
    ]
    if len(dearer) == len(others):
        best = min(others, key=lambda w: [getattr(w.column, c) for c, _ in COSTS])
        saved = next(
            (c, words)
            for c, words in COSTS[:level]
            if getattr(best.column, c) > getattr(way.column, c)
        )
        more = getattr(best.column, saved[0]) - getattr(way.column, saved[0])
        return f", or else it would be {more} min {saved[1]}"
    free = [w for w in others if w not in dearer]
    best = min(free, key=lambda w: [getattr(w.column, c) for c, _ in (COSTS[level], *COSTS)])
    start = clock(day, best.column.load_slot * SLOT_MIN)
    where = f"{names[best.column.cooker_id]} at {start}"
    rival = next((c for c in chosen if c is not way and _meet(best.column, c.column)), None)
    less = getattr(way.column, cost) - getattr(best.column, cost)
    if rival is None:
        return f"; {where} would spare {less} of them, but pots or hands are taken then"
    food = " and ".join(dict.fromkeys(b.dish.name for b in rival.batches))
    return f"; {where} would spare {less} of them, but {food} has that cooker then"


def _meet(one: Column, other: Column) -> bool:
    return (
        one.cooker_id == other.cooker_id
        and one.occupies[0] < other.occupies[1]
        and other.occupies[0] < one.occupies[1]
    )
