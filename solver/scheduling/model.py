"""The timetable's rules as a CP-SAT model: set packing, one boolean for each column.

One function for each rule, called from `RULES`, which reads as the specification. Capacities are
linear sums in each slot; slots in which the same columns meet share one row.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from ortools.sat.python import cp_model

from solver.scheduling.problem import Problem
from solver.thermal.energy_balance import Ints

Span = tuple[int, int, int, int]  # start, end, coefficient, column index


@dataclass
class Model:
    """The model under construction, with its variables."""

    problem: Problem
    cp: cp_model.CpModel
    take: dict[int, cp_model.IntVar]
    placed: dict[str, cp_model.IntVar]
    batch: Ints  # by column index, the number of its first batch
    splits: dict[str, list[cp_model.IntVar]] = field(default_factory=dict)  # by dish, if several
    rows: list[tuple[list[int], list[int], int]] = field(default_factory=list)  # sums and limits

    def at_most(self, columns: Ints, coefficients: Ints, limit: int) -> None:
        """Add sum(coefficient · column) <= limit; a column may come several times."""
        summed = np.bincount(columns, weights=coefficients).astype(np.int64)
        which = np.flatnonzero(summed)
        weights = summed[which]
        # A batch takes one column only: the row is left out where it can't bind.
        most = np.zeros(len(self.batch), dtype=np.int64)
        np.maximum.at(most, self.batch[which], weights)
        if most.sum() > limit:
            row = which.tolist(), weights.tolist(), limit
            total = cp_model.LinearExpr.weighted_sum([self.take[k] for k in row[0]], row[1])
            self.cp.add(total <= limit)
            self.rows.append(row)

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
    numbers: dict[str, int] = {}
    batch = [numbers.setdefault(c.batch_ids[0], len(numbers)) for c in problem.columns]
    model = Model(problem, cp, take, placed, np.asarray(batch, dtype=np.int64))
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


def _rows(spans: Sequence[Span]) -> Iterator[tuple[Ints, Ints]]:
    """Yield the sums that must be bounded, as columns and coefficients.

    Spans that meet all meet where the last of them starts, so only starts need a row; and a
    start needs none where the next comes before any end, for then the next row holds it too.
    """
    start, end, coefficient, column = np.asarray(spans, dtype=np.int64).T
    ends = np.unique(end)
    for at, following in itertools.pairwise([*np.unique(start).tolist(), 10**9]):
        if np.any((at < ends) & (ends <= following)):
            meet = (start <= at) & (at < end)
            yield column[meet], coefficient[meet]


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
    spans: dict[str, list[Span]] = defaultdict(list)
    for k in model.take:
        o = model.problem.columns[k]
        several = len(o.batch_ids) if o.route == "burner" else 1
        spans[o.cooker_id].append((*o.occupies, several, k))
        if o.then_cooker_id and o.then_occupies:
            spans[o.then_cooker_id].append((*o.then_occupies, len(o.batch_ids), k))
    for cooker, own in spans.items():
        for columns, coefficients in _rows(own):
            model.at_most(columns, coefficients, model.problem.cooker_capacity[cooker])


def pots_are_stock(model: Model) -> None:
    """No more pots of a kind are in use, washing included, than there are."""
    spans: dict[str, list[Span]] = defaultdict(list)
    for k in model.take:
        o = model.problem.columns[k]
        for pot in dict.fromkeys(o.pot_ids):
            spans[pot].append((*o.pots_busy, o.pot_ids.count(pot), k))
    for pot, own in spans.items():
        for columns, coefficients in _rows(own):
            model.at_most(columns, coefficients, model.problem.pot_count[pot])


def people_are_enough(model: Model) -> None:
    """For every set of abilities: the people needed are no more than those who have any of them."""
    q = model.problem
    work: dict[int, list[tuple[str | None, int, int]]] = defaultdict(list)
    for k in model.take:
        for need in q.columns[k].needs:
            work[need.slot].append((need.ability, need.people, k))
    groups: dict[tuple[frozenset[str | None], tuple[bool, ...]], list[_Group]] = {}
    for slot, jobs in work.items():
        kinds, free = frozenset(a for a, _, _ in jobs), tuple(p.free[slot] for p in q.people)
        if (kinds, free) not in groups:
            groups[kinds, free] = _groups(q, kinds, free)
        for all_kinds, able in groups[kinds, free]:
            terms = [(k, n) for a, n, k in jobs if a in all_kinds]
            columns, people = np.asarray(terms, dtype=np.int64).T
            model.at_most(columns, people, able)


_Group = tuple[set[str | None], int]  # kinds of work, and how many people can do any of it


def _groups(q: Problem, kinds: frozenset[str | None], free: tuple[bool, ...]) -> list[_Group]:
    """Return for every set of people who are the only ones for some work, all such work."""
    rows: dict[frozenset[int], set[str | None]] = {}
    for size in range(1, len(kinds) + 1):
        for group in itertools.combinations(sorted(kinds, key=str), size):
            able = frozenset(
                n
                for n, p in enumerate(q.people)
                if free[n] and any(a is None or a in p.abilities for a in group)
            )
            rows.setdefault(able, set()).update(group)
    return [(all_kinds, len(able)) for able, all_kinds in rows.items()]


def a_walk_fits_every_interval(model: Model) -> None:
    """In every window of a mirror's interval a trained helper has a slot free for the walk."""
    q = model.problem
    lit = sorted(
        {s for k in model.take if q.columns[k].watched for s in range(*q.columns[k].occupies)}
    )
    if not lit:
        return
    needs = [
        (n.slot, k, n.people, n.ability == "mirrors")
        for k in model.take
        for n in q.columns[k].needs
    ]
    work = np.asarray(sorted(needs, key=lambda n: n[0]), dtype=np.int64).reshape(-1, 4)
    free = np.asarray([[p.free[s] for s in range(q.slots)] for p in q.people], dtype=np.bool_)
    free = free.reshape(-1, q.slots)
    trained = np.asarray(["mirrors" in p.abilities for p in q.people], dtype=np.bool_)
    whose = ((work[work[:, 3] > 0], free[trained].sum(0)), (work, free.sum(0)))
    for first in lit:
        end = min(first + q.walk_window_slots, q.slots)
        # Where all are trained, all work is counted, once.
        rows = {int(hands[first:end].sum()) - 1: jobs for jobs, hands in whose}
        if whose[0][1][first]:
            for limit, jobs in rows.items():
                begin, past = np.searchsorted(jobs[:, 0], [first, end])
                model.at_most(jobs[begin:past, 1], jobs[begin:past, 2], limit)


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
