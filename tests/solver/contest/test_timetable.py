"""The order of tastings against exhaustive search, walking judges, and at its largest."""

from __future__ import annotations

import itertools
import random
from collections import Counter

import pytest
from ortools.sat.python import cp_model

from solver.contest import timetable
from solver.contest.question import Choice, Question
from solver.contest.timetable import LEFT_OUT, solve_tastings

Goal = tuple[int, int, int, int, int]
MOVED = 3  # steps of chance
TELLING = {*range(8), 13, 19, 34}  # some, and those that have several bands, or leave entries out


def small(seed: int, *, on_the_day: bool = False) -> Question:
    rng = random.Random(seed)
    entries, slots = rng.randint(2, 4), rng.randint(3, 6)
    choices = [
        Choice(
            e,
            t,
            rng.choice((0, 0, 1, 2)),
            rng.randint(40, 60),
            rng.randint(1, 9),
            int(on_the_day and rng.random() < 0.7),
        )
        for e in range(entries)
        for t in range(slots)
        if rng.random() < 0.7
    ]
    return Question(entries, tuple(choices), span=rng.choice((1, 2)), lanes=rng.choice((1, 2)))


def goal(question: Question, chosen: tuple[Choice, ...]) -> Goal:
    suns, held = [c.sun for c in chosen], [c.held for c in chosen]
    return (
        question.entries - len(chosen),
        sum(c.unsure + MOVED * c.moved for c in chosen),
        max(suns, default=0) - min(suns, default=0),
        max(held, default=0),
        sum(held),
    )


def fits(question: Question, chosen: tuple[Choice, ...]) -> bool:
    open_at = Counter(t for c in chosen for t in range(c.at, c.at + question.span))
    return max(open_at.values(), default=0) <= question.lanes


def best(question: Question) -> Goal:
    """Return the best of all: every entry at each of its times, or not at all."""
    by_entry = [
        [None, *(c for c in question.choices if c.entry == e)] for e in range(question.entries)
    ]
    ways = (tuple(c for c in way if c is not None) for way in itertools.product(*by_entry))
    return min(goal(question, way) for way in ways if fits(question, way))


@pytest.mark.parametrize("block", [0, pytest.param(1, marks=pytest.mark.slow)])
def test_small_orders_are_as_good_as_the_best_of_all(block: int) -> None:
    for seed in TELLING if block == 0 else set(range(80)) - TELLING:
        question = small(seed)

        answer = solve_tastings(question)

        chosen = tuple(question.choices[k] for k in answer.chosen)
        assert fits(question, chosen), seed
        assert goal(question, chosen) == best(question), seed
        assert all(level.proven for level in answer.levels), seed
        assert tuple(level.value for level in answer.levels) == best(question), seed


def test_the_longest_held_counts_before_all_together() -> None:
    """Eight and eight minutes are better than four and nine."""
    rows = ((0, 0, 4), (1, 1, 9), (0, 1, 8), (1, 0, 8))
    choices = tuple(Choice(entry, at, 0, 50, held) for entry, at, held in rows)

    assert set(solve_tastings(Question(2, choices, span=1, lanes=1)).chosen) == {2, 3}


def test_on_the_day_a_move_must_make_it_surer_by_three_steps() -> None:
    """Told apart: how unsure all are, and how many move."""
    moved = 0
    for seed in range(12):
        question = small(seed, on_the_day=True)

        answer = solve_tastings(question)

        chosen = tuple(question.choices[k] for k in answer.chosen)
        assert goal(question, chosen) == best(question), seed
        values = {level.key: level.value for level in answer.levels}
        assert values["unsure"] == sum(c.unsure for c in chosen)
        assert values["moved"] == sum(c.moved for c in chosen)
        moved += values["moved"]
    assert moved


class Unsure:
    """A solver that found as good an answer, and knows less of what could be better."""

    def __init__(self, solver: cp_model.CpSolver) -> None:
        self.objective_value = solver.objective_value
        self.best_objective_bound = solver.best_objective_bound - 1
        self.boolean_value = solver.boolean_value


def test_what_is_not_proven_is_not_told_as_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = timetable._Model.solve

    def solve(model: timetable._Model, limit: float) -> Unsure:
        solver = whole(model, limit)
        assert solver is not None
        return Unsure(solver)

    sure = {level.key: level for level in solve_tastings(small(1)).levels}
    monkeypatch.setattr(timetable._Model, "solve", solve)
    unsure = {level.key: level for level in solve_tastings(small(1)).levels}

    assert all(level.proven for level in sure.values())
    assert {k for k, level in unsure.items() if level.proven} == {"difference"}
    assert {k: level.value for k, level in unsure.items()} == {
        k: level.value for k, level in sure.items()
    }
    assert unsure["held"].bound == unsure["held"].value - 1


def test_a_band_of_sun_is_narrowest_only_where_every_packing_was_answered(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(timetable, "PACK_LIMIT", 1e-5)

    answer = solve_tastings(large(span=8, lanes=8, slots=30))

    (difference,) = (level for level in answer.levels if level.key == "difference")
    assert difference.value > 0
    assert (difference.bound, difference.proven) == (0, False)


def large(*, span: int, lanes: int, slots: int) -> Question:
    rng = random.Random(40)
    choices = []
    for e in range(40):
        ready, long = rng.randrange(slots // 2), rng.randint(slots // 3, slots // 2)
        place = rng.randint(0, 8)
        choices += [
            Choice(e, t, 0, 150 + place + t // 6, t - ready + span)
            for t in range(ready, min(ready + long, slots - span))
        ]
    return Question(40, tuple(choices), span, lanes)


@pytest.mark.slow
@pytest.mark.parametrize(("span", "lanes", "slots"), [(1, 1, 60), (8, 8, 60)])
def test_forty_entries_are_all_tasted_and_it_is_proven(span: int, lanes: int, slots: int) -> None:
    answer = solve_tastings(large(span=span, lanes=lanes, slots=slots))

    assert len(answer.chosen) == 40
    first = {level.key: level for level in answer.levels}
    assert first["left-out"].value == 0
    assert first["left-out"].proven
    assert first["difference"].proven
    assert sum(c.unsure for c in large(span=span, lanes=lanes, slots=slots).choices) < LEFT_OUT
