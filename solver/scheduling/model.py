"""The timetable's rules as sums: set packing, one variable of 0 or 1 for each column.

One function for each rule, called from `RULES`, which reads as the specification. Capacities are
linear sums in each slot; slots in which the same columns meet share one row. The relaxation and
the solver are both built from these rows.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from solver.scheduling.problem import Problem
from solver.thermal.energy_balance import Array, Ints

Span = tuple[int, int, int, int]  # start, end, coefficient, column index


@dataclass(frozen=True)
class Row:
    """least <= Σ weight · variable <= most; None where there is no such limit."""

    variables: Ints
    weights: Ints
    most: int | None
    least: int | None = None


@dataclass
class Rows:
    """The rows under construction, over a pool of columns.

    Variables are numbered: columns by their index, then whether each dish is placed, then its ways
    to be cut, where it has several.
    """

    problem: Problem
    pool: Collection[int]
    batch: Ints  # by column index, the number of its first batch
    placed: Mapping[str, int]  # by dish, its variable
    splits: Mapping[str, Sequence[int]]  # by dish of several ways to be cut, theirs
    rows: list[Row] = field(default_factory=list)

    @property
    def size(self) -> int:
        """How many variables are numbered, those of columns outside of the pool among them."""
        return len(self.batch) + len(self.placed) + sum(map(len, self.splits.values()))

    def add(self, terms: Mapping[int, int], *, least: int | None, most: int | None) -> None:
        """Add least <= sum(weight · variable) <= most."""
        variables = np.fromiter(terms.keys(), dtype=np.int64, count=len(terms))
        weights = np.fromiter(terms.values(), dtype=np.int64, count=len(terms))
        self.rows.append(Row(variables, weights, most, least))

    def at_most(self, columns: Ints, coefficients: Ints, limit: int) -> None:
        """Add sum(coefficient · column) <= limit; a column may come several times."""
        summed = np.bincount(columns, weights=coefficients).astype(np.int64)
        which = np.flatnonzero(summed)
        weights = summed[which]
        # A batch takes one column only: the row is left out where it can't bind.
        most = np.zeros(len(self.batch), dtype=np.int64)
        np.maximum.at(most, self.batch[which], weights)
        if most.sum() > limit:
            self.rows.append(Row(which, weights, limit))

    def of(self, pool: Collection[int]) -> Rows:
        """Return the rows over fewer columns."""
        kept = np.zeros(self.size, dtype=np.bool_)
        kept[list(pool)] = True
        kept[len(self.batch) :] = True
        fewer = Rows(self.problem, pool, self.batch, self.placed, self.splits)
        for row in self.rows:
            some = kept[row.variables]
            if some.any():
                part = Row(row.variables[some], row.weights[some], row.most, row.least)
                fewer.rows.append(part)
        return fewer

    def values(self, chosen: Iterable[int]) -> Array:
        """Return every variable's value where these columns are chosen."""
        values = np.zeros(self.size)
        values[list(chosen)] = 1.0
        covered = {b for k in chosen for b in self.problem.columns[k].batch_ids}
        for dish in self.problem.dishes:
            whole = [covered.issuperset(split) for split in dish.splits()]
            values[self.placed[dish.id]] = any(whole)
            for variable, is_whole in zip(self.splits.get(dish.id, ()), whole, strict=False):
                values[variable] = is_whole
        return values


def rows_of(problem: Problem, pool: Collection[int]) -> Rows:
    """Return the rows of every rule, for columns of a pool: what is in it can be watched."""
    numbers: dict[str, int] = {}
    batch = [numbers.setdefault(c.batch_ids[0], len(numbers)) for c in problem.columns]
    count = itertools.count(len(batch))
    placed = {d.id: next(count) for d in problem.dishes}
    splits = {d.id: [next(count) for _ in d.splits()] for d in problem.dishes if d.alternatives}
    rows = Rows(problem, pool, np.asarray(batch, dtype=np.int64), placed, splits)
    for rule in RULES:
        rule(rows)
    return rows


def watchable(problem: Problem) -> list[int]:
    """Return the columns with a trained adult there in every slot in which they are watched."""
    trained = [p.free for p in problem.people if p.adult and "mirrors" in p.abilities]
    alone = np.cumsum([0, *(not any(free) for free in zip(*trained, strict=True))])
    if not trained:
        alone = np.arange(problem.slots + 1)
    unwatched: list[int] = alone.tolist()
    return [
        k
        for k, column in enumerate(problem.columns)
        if column.watched is None or unwatched[column.occupies[0]] == unwatched[column.occupies[1]]
    ]


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


def each_batch_once(rows: Rows) -> None:
    """A dish is placed when each batch of one split takes exactly one column; else none does."""
    by_batch: dict[str, list[int]] = defaultdict(list)
    for k in rows.pool:
        for batch in rows.problem.columns[k].batch_ids:
            by_batch[batch].append(k)
    for dish in rows.problem.dishes:
        splits, placed = dish.splits(), rows.placed[dish.id]
        taken = rows.splits.get(dish.id, [placed])
        if len(splits) > 1:
            rows.add({**dict.fromkeys(taken, 1), placed: -1}, least=0, most=0)
        for split, whole in zip(splits, taken, strict=True):
            for batch in split:
                rows.add({**dict.fromkeys(by_batch[batch], 1), whole: -1}, least=0, most=0)


def cookers_hold_what_they_can(rows: Rows) -> None:
    """A sun cooker holds one load at a time; burners and insulated boxes their number of pots."""
    spans: dict[str, list[Span]] = defaultdict(list)
    for k in rows.pool:
        o = rows.problem.columns[k]
        several = len(o.batch_ids) if o.route == "burner" else 1
        spans[o.cooker_id].append((*o.occupies, several, k))
        if o.then_cooker_id and o.then_occupies:
            spans[o.then_cooker_id].append((*o.then_occupies, len(o.batch_ids), k))
    for cooker, own in spans.items():
        for columns, coefficients in _rows(own):
            rows.at_most(columns, coefficients, rows.problem.cooker_capacity[cooker])


def pots_are_stock(rows: Rows) -> None:
    """No more pots of a kind are in use, washing included, than there are."""
    spans: dict[str, list[Span]] = defaultdict(list)
    for k in rows.pool:
        o = rows.problem.columns[k]
        for pot in dict.fromkeys(o.pot_ids):
            spans[pot].append((*o.pots_busy, o.pot_ids.count(pot), k))
    for pot, own in spans.items():
        for columns, coefficients in _rows(own):
            rows.at_most(columns, coefficients, rows.problem.pot_count[pot])


def people_are_enough(rows: Rows) -> None:
    """For every set of abilities: the people needed are no more than those who have any of them."""
    q = rows.problem
    work: dict[int, list[tuple[str | None, int, int]]] = defaultdict(list)
    for k in rows.pool:
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
            rows.at_most(columns, people, able)


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


def a_walk_fits_every_interval(rows: Rows) -> None:
    """In every window of a mirror's interval a trained helper has a slot free for the walk."""
    q = rows.problem
    lit = sorted(
        {s for k in rows.pool if q.columns[k].watched for s in range(*q.columns[k].occupies)}
    )
    if not lit:
        return
    needs = [
        (n.slot, k, n.people, n.ability == "mirrors") for k in rows.pool for n in q.columns[k].needs
    ]
    work = np.asarray(needs, dtype=np.int64).reshape(-1, 4)
    work = work[np.argsort(work[:, 0], kind="stable")]
    free = np.asarray([[p.free[s] for s in range(q.slots)] for p in q.people], dtype=np.bool_)
    free = free.reshape(-1, q.slots)
    trained = np.asarray(["mirrors" in p.abilities for p in q.people], dtype=np.bool_)
    whose = ((work[work[:, 3] > 0], free[trained].sum(0)), (work, free.sum(0)))
    for first in lit:
        end = min(first + q.walk_window_slots, q.slots)
        # Where all are trained, all work is counted, once.
        limits = {int(hands[first:end].sum()) - 1: jobs for jobs, hands in whose}
        for limit, jobs in limits.items():
            begin, past = np.searchsorted(jobs[:, 0], [first, end])
            rows.at_most(jobs[begin:past, 1], jobs[begin:past, 2], limit)


def talks_get_their_dish(rows: Rows) -> None:
    """A dish that a talk shows is placed only in a way that shows it."""
    pool = set(rows.pool)
    for talk in rows.problem.talks:
        fit = sorted(talk.column_indexes & pool)
        if talk.dish_id in rows.placed:
            placed = rows.placed[talk.dish_id]
            rows.add({**dict.fromkeys(fit, 1), placed: -1}, least=0, most=None)


RULES: list[Callable[[Rows], None]] = [
    each_batch_once,
    cookers_hold_what_they_can,
    pots_are_stock,
    people_are_enough,
    a_walk_fits_every_interval,
    talks_get_their_dish,
]
