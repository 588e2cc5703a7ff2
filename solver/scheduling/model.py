"""The timetable's rules as a CP-SAT model: set packing, one boolean for each column.

One function for each rule, called from `RULES`, which reads as the specification. Capacities are
linear sums in each slot; slots in which the same columns meet share one row.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from solver.scheduling.problem import Problem

Terms = list[tuple[int, int]]  # (coefficient, column index)


@dataclass
class Model:
    """The model under construction, with its variables."""

    problem: Problem
    cp: cp_model.CpModel
    take: dict[int, cp_model.IntVar]
    placed: dict[str, cp_model.IntVar]
    first: dict[int, str]  # each column's first batch
    splits: dict[str, list[cp_model.IntVar]] = field(default_factory=dict)  # by dish, if several
    rows: list[tuple[dict[int, int], int]] = field(default_factory=list)  # sums and their limits

    def at_most(self, terms: Iterable[tuple[int, int]], limit: int) -> None:
        """Add sum(coefficient · column) <= limit."""
        weights: dict[int, int] = {}
        for c, k in terms:
            if k in self.take:
                weights[k] = weights.get(k, 0) + c
        # A batch takes one column only: the row is left out where it can't bind.
        most: dict[str, int] = {}
        for k, c in weights.items():
            batch = self.first[k]
            if c > most.get(batch, 0):
                most[batch] = c
        if sum(most.values()) > limit:
            total = cp_model.LinearExpr.weighted_sum(
                [self.take[k] for k in weights], list(weights.values())
            )
            self.cp.add(total <= limit)
            self.rows.append((weights, limit))

    def hint(self, chosen: Iterable[int]) -> None:
        """Tell the solver where to begin: columns that keep every rule."""
        took = set(chosen)
        covered = {b for k in took for b in self.problem.columns[k].batch_ids}
        for k, var in self.take.items():
            self.cp.add_hint(var, k in took)
        for dish in self.problem.dishes:
            whole = [covered.issuperset(split) for split in dish.splits()]
            self.cp.add_hint(self.placed[dish.id], any(whole))
            for var, is_whole in zip(self.splits.get(dish.id, ()), whole, strict=False):
                self.cp.add_hint(var, is_whole)


def build(problem: Problem, pool: Iterable[int]) -> Model:
    """Return the model with every rule, for options of a pool, without a goal."""
    cp = cp_model.CpModel()
    take = {k: cp.new_bool_var("") for k in pool}
    placed = {d.id: cp.new_bool_var("") for d in problem.dishes}
    model = Model(problem, cp, take, placed, {k: problem.columns[k].batch_ids[0] for k in take})
    for rule in RULES:
        rule(model)
    return model


def watchable(problem: Problem, k: int) -> bool:
    """Return whether a trained adult is there in every slot in which the column needs watching."""
    column = problem.columns[k]
    if column.watched is None:
        return True
    return all(
        any(p.adult and "mirrors" in p.abilities and p.free[s] for p in problem.people)
        for s in range(*column.occupies)
    )


def _rows(spans: list[tuple[int, int, int, int]]) -> list[Terms]:
    """Return the sums that must be bounded, for spans of (start, end, coefficient, column).

    Spans that meet all meet where the last of them starts, so only starts need a row; and a
    start needs none where the next comes before any end, for then the next row holds it too.
    """
    starts, ends = sorted({s for s, *_ in spans}), sorted({e for _, e, *_ in spans})
    return [
        [(c, k) for s, e, c, k in spans if s <= start < e]
        for start, following in itertools.pairwise([*starts, 10**9])
        if any(start < e <= following for e in ends)
    ]


def each_batch_once(model: Model) -> None:
    """A dish is placed when each batch of one split takes exactly one column; else none does."""
    by_batch: dict[str, list[int]] = defaultdict(list)
    for k in model.take:
        for batch in model.problem.columns[k].batch_ids:
            by_batch[batch].append(k)
    for dish in model.problem.dishes:
        splits = dish.splits()
        taken = [model.placed[dish.id]]
        if len(splits) > 1:
            taken = model.splits[dish.id] = [model.cp.new_bool_var("") for _ in splits]
            model.cp.add(cp_model.LinearExpr.sum(taken) == model.placed[dish.id])
        for split, whole in zip(splits, taken, strict=True):
            for batch in split:
                times = cp_model.LinearExpr.sum([model.take[k] for k in by_batch[batch]])
                model.cp.add(times == whole)


def cookers_hold_what_they_can(model: Model) -> None:
    """A sun cooker holds one load at a time; burners and insulated boxes their number of pots."""
    spans: dict[str, list[tuple[int, int, int, int]]] = defaultdict(list)
    for k in model.take:
        o = model.problem.columns[k]
        several = len(o.batch_ids) if o.route == "burner" else 1
        spans[o.cooker_id].append((*o.occupies, several, k))
        if o.then_cooker_id and o.then_occupies:
            spans[o.then_cooker_id].append((*o.then_occupies, len(o.batch_ids), k))
    for cooker, own in spans.items():
        for terms in _rows(own):
            model.at_most(terms, model.problem.cooker_capacity[cooker])


def pots_are_stock(model: Model) -> None:
    """No more pots of a kind are in use, washing included, than there are."""
    spans: dict[str, list[tuple[int, int, int, int]]] = defaultdict(list)
    for k in model.take:
        o = model.problem.columns[k]
        for pot in set(o.pot_ids):
            spans[pot].append((*o.pots_busy, o.pot_ids.count(pot), k))
    for pot, own in spans.items():
        for terms in _rows(own):
            model.at_most(terms, model.problem.pot_count[pot])


def people_are_enough(model: Model) -> None:
    """For every set of abilities: the people needed are no more than those who have any of them."""
    q = model.problem
    work: dict[int, list[tuple[str | None, int, int]]] = defaultdict(list)
    for k in model.take:
        o = q.columns[k]
        for need in o.needs:
            work[need.slot].append((need.ability, need.people, k))
    for slot, jobs in work.items():
        kinds = sorted({a for a, _, _ in jobs}, key=str)
        rows: dict[frozenset[int], set[str | None]] = {}
        for size in range(1, len(kinds) + 1):
            for group in itertools.combinations(kinds, size):
                able = frozenset(
                    n
                    for n, p in enumerate(q.people)
                    if p.free[slot] and any(a is None or a in p.abilities for a in group)
                )
                rows.setdefault(able, set()).update(group)  # all that only these can do
        for able, all_kinds in rows.items():
            model.at_most(((n, k) for a, n, k in jobs if a in all_kinds), len(able))


def a_walk_fits_every_interval(model: Model) -> None:
    """In every window of a mirror's interval a trained helper has a slot free for the walk."""
    q = model.problem
    lit = sorted(
        {s for k in model.take if q.columns[k].watched for s in range(*q.columns[k].occupies)}
    )
    work: dict[int, Terms] = defaultdict(list)
    trained: dict[int, Terms] = defaultdict(list)
    for k in model.take:
        for need in q.columns[k].needs:
            work[need.slot].append((need.people, k))
            if need.ability == "mirrors":
                trained[need.slot].append((need.people, k))
    free = [sum("mirrors" in p.abilities and p.free[s] for p in q.people) for s in range(q.slots)]
    everybody = [sum(p.free[s] for p in q.people) for s in range(q.slots)]
    whose = ((trained, free), (work, everybody))
    for first in lit:
        window = range(first, min(first + q.walk_window_slots, q.slots))
        rows = {sum(hands[s] for s in window) - 1: jobs for jobs, hands in whose}
        for limit, jobs in rows.items():  # where all are trained, all work is counted, once
            if free[first]:
                model.at_most((t for s in window for t in jobs[s]), limit)


def talks_get_their_dish(model: Model) -> None:
    """A dish that a talk shows is placed only in a way that shows it."""
    for talk in model.problem.talks:
        fit = [model.take[k] for k in sorted(talk.column_indexes) if k in model.take]
        if talk.dish_id in model.placed:
            model.cp.add(sum(fit) >= model.placed[talk.dish_id])


RULES: list[Callable[[Model], None]] = [
    each_batch_once,
    cookers_hold_what_they_can,
    pots_are_stock,
    people_are_enough,
    a_walk_fits_every_interval,
    talks_get_their_dish,
]
