"""The timetable's question as a mixed-integer program for HiGHS (through SciPy): another solver.

Written from the question alone; time-indexed rows for cookers, pots and people in every slot.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from scipy.optimize import LinearConstraint, milp
from scipy.sparse import csr_array

from solver.policy import weight
from solver.scheduling.problem import Problem

LEVELS = ("missed", "gas_min", "changed", "short_min", "stale_min", "work_min")


@dataclass(frozen=True)
class PeerAnswer:
    """Worth left out and the cost of each level; whether every level was proven in time."""

    missing: int
    costs: tuple[int, ...]
    proven: bool


class _Rows:
    def __init__(self, width: int) -> None:
        self.width = width
        self.data: list[tuple[dict[int, float], float, float]] = []

    def add(self, terms: dict[int, float], low: float, high: float) -> None:
        if terms:
            self.data.append((terms, low, high))

    def constraint(self) -> LinearConstraint:
        rows = [k for k, (t, _, _) in enumerate(self.data) for _ in t]
        columns = [c for t, _, _ in self.data for c in t]
        values = [v for t, _, _ in self.data for v in t.values()]
        shape = (len(self.data), self.width)
        table = csr_array((values, (rows, columns)), shape=shape)
        return LinearConstraint(table, [r[1] for r in self.data], [r[2] for r in self.data])


def _watchable(q: Problem, k: int) -> bool:
    o = q.columns[k]
    trained = [p for p in q.people if p.adult and "mirrors" in p.abilities]
    return o.watched is None or all(any(p.free[s] for p in trained) for s in range(*o.occupies))


def highs(q: Problem, *, seconds: float = 60.0) -> PeerAnswer:
    """Return the best there is, level by level, each level held for the next."""
    n = len(q.columns)
    dish_at = {d.id: n + k for k, d in enumerate(q.dishes)}
    rows = _Rows(n + len(q.dishes))
    fit = [_watchable(q, k) for k in range(n)]
    by_batch: dict[str, dict[int, float]] = {}
    for k, o in enumerate(q.columns):
        for b in o.batch_ids:
            by_batch.setdefault(b, {})[k] = 1.0
    for d in q.dishes:
        assert not d.alternatives, "one split a dish here"
        for b in d.batch_ids:
            rows.add(by_batch.get(b, {}) | {dish_at[d.id]: -1.0}, 0, 0)
    _capacities(q, rows)
    _people(q, rows)
    for talk in q.talks:
        if talk.dish_id in dish_at:
            shown = dict.fromkeys(talk.column_indexes, 1.0)
            rows.add(shown | {dish_at[talk.dish_id]: -1.0}, 0, np.inf)
    upper = np.concatenate([np.asarray(fit, dtype=float), np.ones(len(q.dishes))])
    able = {d.id for d in q.dishes if all(b in by_batch for b in d.batch_ids)}
    worth = np.zeros(rows.width)
    for d in q.dishes:
        worth[dish_at[d.id]] = -weight(d.priority) if d.id in able else 0
    total = sum(weight(d.priority) for d in q.dishes if d.id in able)
    costs: list[int] = []
    proven = True
    goals = [worth] + [
        np.asarray([float(getattr(o, c)) for o in q.columns] + [0.0] * len(q.dishes))
        for c in LEVELS
    ]
    for goal in goals:
        answer = milp(
            goal,
            integrality=np.ones(rows.width),
            bounds=(0, upper),  # type: ignore[arg-type]
            constraints=rows.constraint(),
            options={"time_limit": seconds, "mip_rel_gap": 0.0},
        )
        if answer.x is None:
            return PeerAnswer(0, tuple(costs), proven=False)
        proven &= answer.status == 0
        costs.append(round(float(answer.fun)))
        held = {k: float(v) for k, v in enumerate(goal) if v}
        rows.add(held, -np.inf, costs[-1] + 1e-6)
    return PeerAnswer(total + costs[0], tuple(costs[1:]), proven)


def _capacities(q: Problem, rows: _Rows) -> None:
    for slot in range(q.slots):
        use: dict[str, dict[int, float]] = {}
        pots: dict[str, dict[int, float]] = {}
        for k, o in enumerate(q.columns):
            if o.occupies[0] <= slot < o.occupies[1]:
                several = len(o.batch_ids) if o.route == "burner" else 1
                use.setdefault(o.cooker_id, {})[k] = float(several)
            then = o.then_occupies or (0, 0)
            if o.then_cooker_id and then[0] <= slot < then[1]:
                use.setdefault(o.then_cooker_id, {})[k] = float(len(o.batch_ids))
            if o.pots_busy[0] <= slot < o.pots_busy[1]:
                for pot in set(o.pot_ids):
                    pots.setdefault(pot, {})[k] = float(o.pot_ids.count(pot))
        for cooker, terms in use.items():
            rows.add(terms, -np.inf, q.cooker_capacity[cooker])
        for pot, terms in pots.items():
            rows.add(terms, -np.inf, q.pot_count[pot])


def _people(q: Problem, rows: _Rows) -> None:
    needs: dict[int, list[tuple[str | None, int, int]]] = {}
    for k, o in enumerate(q.columns):
        for need in o.needs:
            needs.setdefault(need.slot, []).append((need.ability, need.people, k))
    for slot, jobs in needs.items():
        kinds = sorted({a for a, _, _ in jobs}, key=str)
        for size in range(1, len(kinds) + 1):
            for group in itertools.combinations(kinds, size):
                free = sum(
                    p.free[slot] and any(a is None or a in p.abilities for a in group)
                    for p in q.people
                )
                terms: dict[int, float] = {}
                for a, people, k in jobs:
                    if a in group:
                        terms[k] = terms.get(k, 0.0) + people
                rows.add(terms, -np.inf, free)
    _walks(q, rows, needs)


def _walks(q: Problem, rows: _Rows, needs: dict[int, list[tuple[str | None, int, int]]]) -> None:
    lit = {s for o in q.columns if o.watched for s in range(*o.occupies)}
    everybody = [sum(p.free[s] for p in q.people) for s in range(q.slots)]
    able = [sum("mirrors" in p.abilities and p.free[s] for p in q.people) for s in range(q.slots)]
    for first in sorted(s for s in lit if able[s]):
        window = range(first, min(first + q.walk_window_slots, q.slots))
        for hands, only in ((everybody, None), (able, "mirrors")):
            terms: dict[int, float] = {}
            asked = [n for s in window for n in needs.get(s, []) if only in (None, n[0])]
            for _, people, k in asked:
                terms[k] = terms.get(k, 0.0) + people
            rows.add(terms, -np.inf, sum(hands[s] for s in window) - 1)
