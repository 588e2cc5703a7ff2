"""Which dishes found no place, and why; what the replay refutes is left out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from events.model import Event
from events.table import changed
from solver.notices import Refusal
from solver.plan import Placement, Unplaced
from solver.scheduling.batches import usable_members
from solver.scheduling.columns import Candidate
from solver.scheduling.enumeration import CandidateSet
from solver.simulation.day import Day

AROUND_MIN = 30  # starts so near one that the replay refutes are left out with it


def unplaced(
    day: Day, candidates: CandidateSet, placements: Sequence[Placement]
) -> Iterator[Unplaced]:
    """Yield the dishes that have a batch with no place; what is eaten is not looked for."""
    placed = {p.id for p in placements}
    eaten: set[str] = set()
    if day.replan is None:
        placed |= {p.dish_id for p in placements}
    else:
        gone = day.replan.finished_ids
        eaten = {p.dish_id for p in day.replan.plan.placements if p.id in gone}
    for dish in day.event.dishes:
        splits = _splits(candidates, dish.id)
        whole = any({*batch_ids} <= placed for batch_ids in splits)
        if dish.id in placed or whole or (dish.id in eaten and not candidates.splits.get(dish.id)):
            continue
        yield Unplaced(
            dish_id=dish.id, reasons=tuple(_reasons(day.event, candidates, placements, dish.id))
        )


def without(
    day: Day, candidates: CandidateSet, refuted: Sequence[tuple[Candidate, Refusal]]
) -> CandidateSet:
    """Return the candidates less those that the replay refuted, and their like.

    A dish that has none left in a cooker is refused there for the replay's reason.
    """
    kept: list[Candidate] = []
    lost: list[tuple[Candidate, Refusal]] = []
    for candidate in candidates.candidates:
        why = next((why for other, why in refuted if alike(day, candidate, other)), None)
        if why is None:
            kept.append(candidate)
        else:
            lost.append((candidate, why))
    left = {(b.dish.id, c.column.cooker_id) for c in kept for b in c.batches}
    refusals = {dish_id: dict(by_cooker) for dish_id, by_cooker in candidates.refusals.items()}
    for candidate, why in lost:
        cooker_id = candidate.column.cooker_id
        for dish_id in {b.dish.id for b in candidate.batches}:
            if (dish_id, cooker_id) not in left:
                equal = usable_members(day, cooker_id)
                refusals.setdefault(dish_id, {}).update(dict.fromkeys(equal, why))
    return replace(candidates, candidates=tuple(kept), refusals=refusals)


def alike(day: Day, candidate: Candidate, other: Candidate) -> bool:
    """Return whether two are the same dishes in equal cookers in the same hour."""
    return (
        candidate.in_progress is None
        and other.column.cooker_id in usable_members(day, candidate.column.cooker_id)
        and candidate.column.then_cooker_id == other.column.then_cooker_id
        and {b.dish.id for b in candidate.batches} == {b.dish.id for b in other.batches}
        and abs(candidate.load.start - other.load.start) <= AROUND_MIN
    )


def _splits(candidates: CandidateSet, dish_id: str) -> list[tuple[str, ...]]:
    """Return the batch ids of every way a dish was cut."""
    cuts = (candidates.splits.get(dish_id, ()), candidates.alternatives.get(dish_id, ()))
    return [tuple(b.id for b in batches) for batches in cuts if batches]


def _reasons(
    event: Event, candidates: CandidateSet, placements: Sequence[Placement], dish_id: str
) -> Iterator[Refusal]:
    for cooker_id, refusal in candidates.refusals.get(dish_id, {}).items():
        yield changed(refusal, cooker_id=cooker_id)
    cookers = {
        c.column.cooker_id
        for c in candidates.candidates
        if any(b.dish.id == dish_id for b in c.batches)
    }
    short = _short_of_pots(event, candidates, dish_id)
    if short is not None:
        yield short
    elif cookers:
        names = tuple(c.id for c in event.cookers if c.id in cookers)
        there = (p.dish_id for p in placements if p.cooker_id in cookers)
        others = tuple(dict.fromkeys(d for d in there if d != dish_id))
        batches = candidates.splits[dish_id]
        if others:
            yield Refusal(kind="taken", cooker_ids=names, dish_ids=others)
        elif len(batches) == 1:
            yield Refusal(kind="nobody-free", cooker_ids=names)
        else:
            figures = {"needed_count": float(len(batches))}
            yield Refusal(kind="batches-collide", cooker_ids=names, figures=figures)


def _short_of_pots(event: Event, candidates: CandidateSet, dish_id: str) -> Refusal | None:
    """Return the refusal of a dish of which every split needs more pots than exist, or None."""
    refusal: Refusal | None = None
    for batch_ids in _splits(candidates, dish_id):
        kinds = {
            pot_id
            for c in candidates.candidates
            if set(batch_ids).intersection(c.column.batch_ids)
            for pot_id in c.column.pot_ids
        }
        pots = [p for p in event.pots if p.id in kinds]
        stock = sum(p.count for p in pots)
        if not pots:
            continue
        if stock >= len(batch_ids):
            return None
        refusal = refusal or Refusal(
            kind="too-few-pots",
            pot_ids=tuple(p.id for p in pots),
            figures={"needed_count": len(batch_ids), "stock_count": stock},
        )
    return refusal
