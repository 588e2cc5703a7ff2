"""Columns that are left out by their bound: none of them is in an answer that is as good."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest

from solver.scheduling import lexicographic
from solver.scheduling.lexicographic import solve
from solver.scheduling.model import Row, rows_of
from solver.scheduling.problem import DishDemand
from solver.scheduling.relaxation import relax
from tests.solver.scheduling.test_timetable import (
    allowed,
    column,
    problem,
    random_problem,
    score,
)

SEEDS = range(25)


@pytest.mark.parametrize("seed", SEEDS)
def test_no_answer_with_a_column_is_better_than_its_bound(seed: int) -> None:
    """Against every choice of columns that keeps the rows, and costs without a pattern."""
    rows = rows_of(q := random_problem(seed), range(len(random_problem(seed).columns)))
    costs = np.random.default_rng(seed).integers(0, 60, rows.size)
    costs[list(rows.placed.values())] -= 90
    least = np.full(rows.size, np.inf)
    by_dish = [[k for k, c in enumerate(q.columns) if c.batch_ids == (d.id,)] for d in q.dishes]
    for choice in itertools.product(*([None, *ways] for ways in by_dish)):
        x = rows.values([k for k in choice if k is not None])
        if all(
            (row.least is None or row.least <= x[row.variables] @ row.weights)
            and (row.most is None or x[row.variables] @ row.weights <= row.most)
            for row in rows.rows
        ):
            least = np.where(x > 0, np.minimum(least, x @ costs), least)

    relaxed = relax(rows.rows, costs)

    assert relaxed is not None
    assert np.all(relaxed.bound + relaxed.raises - relaxed.error <= least)
    assert relaxed.bound > costs.clip(max=0).sum()  # more than that all is placed for nothing


def test_a_bound_is_by_hand_what_it_must_be() -> None:
    """Two of three at most, each worth 10, 8 and 7: without the last 18 are won, with it 17."""
    row = Row(np.arange(3), np.ones(3, dtype=np.int64), most=2)

    relaxed = relax([row], np.asarray([-10, -8, -7]))

    assert relaxed is not None
    assert relaxed.bound == pytest.approx(-18)
    assert 0 <= relaxed.raises[2] <= 1 + 1e-6
    both = relax(
        [row, Row(np.asarray([0, 2]), np.ones(2, dtype=np.int64), None, least=2)], -row.weights
    )
    assert both is not None
    assert both.bound == pytest.approx(-2)


@pytest.mark.parametrize("seed", SEEDS)
def test_levels_are_the_same_with_and_without_the_relaxation(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    q = random_problem(seed)
    cut = [frozenset(solve(q).chosen[:2])]
    plain, plain_cut = solve(q), solve(q, no_goods=cut)

    for few in (0, 1, 4):
        monkeypatch.setattr(lexicographic, "FEW", few)

        assert solve(q).levels == plain.levels
        assert solve(q, no_goods=cut).levels == plain_cut.levels


@pytest.mark.parametrize("seed", SEEDS)
def test_bounds_hold_where_only_some_columns_are_searched(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of answers as good in the levels before, none is better than a bound, by trying all."""
    q = random_problem(seed)
    by_dish = [[c for c in q.columns if c.batch_ids == (d.id,)] for d in q.dishes]
    picks = itertools.product(*([None, *own] for own in by_dish))
    choices = [[c for c in pick if c is not None] for pick in picks]
    scores = [score(q, chosen) for chosen in choices if allowed(q, chosen)]
    monkeypatch.setattr(lexicographic, "FEW", 1)

    for many in (1, 2, 4):
        monkeypatch.setattr(lexicographic, "MANY", many)
        worth, *rest = solve(q).levels
        as_good = [s for s in scores if -s[0] >= worth.value]
        assert max(-s[0] for s in scores) <= worth.bound
        for at, level in enumerate(rest, 1):
            assert min(s[at] for s in as_good) >= level.bound
            as_good = [s for s in as_good if s[at] <= level.value]


def test_where_the_columns_that_look_best_do_not_fit_others_are_found(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Three loads of two slots each, pairwise at odds in a cooker: a half of each looks best."""
    monkeypatch.setattr(lexicographic, "FEW", 1)
    at_odds = [column(n, "c", s, s + 2, missed=0) for n, s in (("a", 0), ("b", 1), ("c", 1))]
    dear = [
        replace(w, cooker_id="k", occupies=(s, s + 2), missed=9)
        for w, s in zip(at_odds, (0, 4, 8), strict=True)
    ]
    q = problem([*at_odds, *dear], dishes=tuple(DishDemand(n, 5, (n,)) for n in "abc"))

    answer = solve(q)

    assert {q.columns[k].batch_ids[0] for k in answer.chosen} == {"a", "b", "c"}
    assert [level.value for level in answer.levels[:2]] == [96, 18]
    assert all(level.proven for level in answer.levels)
