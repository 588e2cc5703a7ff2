"""Each rule of the timetable at its edge: the last question that is still fine, and the next."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from ortools.sat.python import cp_model

from events.kinds import Ability
from solver.policy import CHANGE_STEPS
from solver.scheduling import lexicographic
from solver.scheduling.lexicographic import solve
from solver.scheduling.model import rows_of
from solver.scheduling.problem import Column, DishDemand, Need, Person, Problem, TalkDemand
from solver.scheduling.warm_start import greedy
from tests.solver.scheduling.test_timetable import SLOTS, column, problem


def person(*may: Ability, away: tuple[int, ...] = (), adult: bool = True) -> Person:
    return Person("p", frozenset(may), adult, tuple(s not in away for s in range(SLOTS)))


def placed(q: Problem) -> int:
    """Return how many columns fit together at best."""
    return len(solve(q).chosen)


def pair(one: dict[str, object], two: dict[str, object], **more: object) -> Problem:
    """Return the question of two columns, each in a cooker of its own, with a helper for each."""
    usual: dict[str, object] = {"people": (person("mirrors"), person("mirrors"))}
    a, b = (column(n, n, 0, 4, **v) for n, v in (("a", one), ("b", two)))
    return problem([a, b], **{**usual, **more})


def work(ability: Ability | None, *slots: int, people: int = 1) -> dict[str, object]:
    return {"needs": tuple(Need(s, ability, people) for s in slots)}


WATCHED: dict[str, object] = {"watched": "yard"}


# --- watching


@pytest.mark.parametrize(
    ("who", "fits"),
    [
        (person("mirrors"), True),
        (person("mirrors", away=(4,)), True),  # lifted by then
        (person("mirrors", away=(3,)), False),
        (person("mirrors", away=(0,)), False),
        (person("mirrors", adult=False), False),
        (person("lift", "burner"), False),
    ],
)
def test_a_mirror_is_watched_by_a_trained_adult_in_every_slot(who: Person, fits: bool) -> None:
    assert placed(problem([column("a", "c", 0, 4, watched="yard")], people=(who,))) == int(fits)
    assert placed(problem([column("a", "c", 0, 4)], people=(who,))) == 1


# --- capacity


def test_a_second_cooker_is_as_full_as_its_pots() -> None:
    """One place in the hay box: the second pot waits until the first has left it."""
    then = {"then_cooker_id": "hay", "then_occupies": (4, 8)}

    assert placed(pair(then, then)) == 1
    assert placed(pair(then, {**then, "then_occupies": (8, 10)})) == 2
    two = {**then, "batch_ids": ("b", "c"), "pot_ids": ("pot", "pot")}
    assert placed(pair({}, two, cooker_capacity={"a": 1, "b": 1, "hay": 1})) == 1
    assert placed(pair({}, two, cooker_capacity={"a": 1, "b": 1, "hay": 2})) == 2


@pytest.mark.parametrize(("route", "capacity", "fits"), [("sun", 1, 1), ("burner", 1, 0)])
def test_a_ring_counts_pots_and_a_sun_cooker_loads(route: str, capacity: int, fits: int) -> None:
    two = column("a", "c", 0, 4, route=route, batch_ids=("a", "b"), pot_ids=("pot", "pot"))
    assert placed(problem([two], cooker_capacity={"c": capacity})) == fits
    assert placed(problem([two], cooker_capacity={"c": 2})) == 1


def test_two_pots_of_a_kind_are_two_and_are_washed_before_they_are_used_again() -> None:
    two = {"batch_ids": ("b", "c"), "pot_ids": ("pot", "pot")}
    assert placed(pair({}, two, pot_count={"pot": 2})) == 1
    assert placed(pair({}, two, pot_count={"pot": 3})) == 2
    later = {"pots_busy": (5, 9)}
    assert placed(pair({"pots_busy": (0, 5)}, later, pot_count={"pot": 1})) == 2
    assert placed(pair({"pots_busy": (0, 6)}, later, pot_count={"pot": 1})) == 1


# --- people


@pytest.mark.parametrize(
    ("people", "fits"),
    [
        ((person("lift"), person("lift")), 2),
        ((person("lift"), person("lift", away=(2,))), 1),
        ((person("lift"), person("burner")), 1),
        ((person("lift"), person()), 1),
    ],
)
def test_work_of_one_slot_is_done_by_so_many_who_may(people: tuple[Person, ...], fits: int) -> None:
    assert placed(pair(work("lift", 2), work("lift", 2), people=people)) == fits


def test_work_for_anybody_and_work_for_some_need_people_for_both() -> None:
    """One who may lift can't do both; who may nothing does what needs nothing."""
    both = work("lift", 2), work(None, 2)

    assert placed(pair(*both, people=(person("lift"),))) == 1
    assert placed(pair(*both, people=(person("lift"), person()))) == 2
    assert placed(pair({}, work("lift", 2, people=2), people=(person("lift"), person()))) == 1


@pytest.mark.parametrize(
    ("busy", "fits"),
    [
        (work("mirrors", 0, 1, 2), 2),  # the fourth slot of the window is left for the walk
        (work("mirrors", 0, 1, 2, 3), 1),
        (work("lift", 0, 1, 2, 3), 1),  # whoever lifts can't walk either
        (work("mirrors", 1, 2, 3, 4), 1),  # a window begins in each slot in which it is lit
        (work("mirrors", 4, 5, 6, 7), 2),
    ],
)
def test_in_each_interval_of_a_mirror_somebody_trained_has_a_slot_for_the_walk(
    busy: dict[str, object], fits: int
) -> None:
    alone = (person("mirrors", "lift"),)
    assert placed(pair(WATCHED, busy, people=alone)) == fits
    assert placed(pair({}, busy, people=alone)) == 2
    assert placed(pair(WATCHED, busy, people=(*alone, *alone))) == 2


def test_others_that_are_free_do_not_turn_a_mirror() -> None:
    people = (person("mirrors"), person("lift"))

    assert placed(pair(WATCHED, work("mirrors", 0, 1, 2, 3), people=people)) == 1
    assert placed(pair(WATCHED, work("lift", 0, 1, 2, 3), people=people)) == 2


# --- talks, cuts, the goal


def test_a_dish_that_a_talk_shows_is_placed_so_that_it_shows_it() -> None:
    ways = [column("a", "c", 0, 3), column("a", "c", 3, 6, missed=5)]
    shown = problem(ways, talks=(TalkDemand("t", "a", frozenset({1})),))

    assert solve(problem(ways)).chosen == (0,)
    assert solve(shown).chosen == (1,)
    start = greedy(rows_of(shown, range(2)), cost=lambda k: k)
    assert start == ()  # the cheapest shows nothing: no answer rather than a wrong one


def test_what_was_tried_in_vain_leaves_its_room_to_others() -> None:
    """Of two pots of a dish only one finds a place; the next dish has it."""
    ways = [column("a-1", "c", 0, 3), column("a-2", "c", 0, 3), column("b", "c", 0, 3)]
    dishes = (DishDemand("a", 9, ("a-1", "a-2")), DishDemand("b", 1, ("b",)))
    q = problem(ways, dishes=dishes)

    assert greedy(rows_of(q, range(3)), cost=lambda k: k) == (2,)
    one = greedy(rows_of(problem(ways[:2]), range(2)), cost=lambda k: k)
    assert one == (0,)


COST = {"missed": "missed", "gas": "gas_min", "moved": "changed"}
COST |= {"short": "short_min", "stale": "stale_min", "work": "work_min"}


@pytest.mark.parametrize(("first", "second"), list(itertools.pairwise(COST)))
def test_each_level_of_the_goal_outweighs_the_next(first: str, second: str) -> None:
    """One of the first is worth a thousand of the second: `moved` counts with misses as well."""
    worse = column("a", "c", 0, 3, **{COST[first]: 1})
    better = column("a", "c", 3, 6, **{COST[second]: 1000})

    answer = solve(problem([worse, better]))

    wanted = (0,) if second == "moved" else (1,)
    assert answer.chosen == wanted
    assert all(level.proven for level in answer.levels)


@pytest.mark.parametrize(("saved", "stays"), [(CHANGE_STEPS - 1, True), (CHANGE_STEPS + 1, False)])
def test_a_pot_is_moved_for_more_than_three_steps_of_expected_misses(
    saved: int, stays: bool
) -> None:
    ways = [column("a", "c", 0, 3, missed=saved), column("a", "c", 3, 6, changed=1)]

    assert solve(problem(ways)).chosen == ((0,) if stays else (1,))


def test_one_dish_of_a_higher_priority_outweighs_one_of_the_next_lower() -> None:
    """Each step counts double: one of priority 6 is as much as two of priority 5."""
    ways = [column(n, "c", 0, 3) for n in "ab"]
    dishes = (DishDemand("a", 5, ("a",)), DishDemand("b", 6, ("b",)))

    answer = solve(problem(ways, dishes=dishes))

    assert answer.chosen == (1,)
    assert answer.levels[0].value == 64
    missed = [replace(w, missed=100) for w in ways]  # to be placed comes before all else
    assert solve(problem(missed, dishes=dishes)).chosen == (1,)


def test_a_level_that_costs_in_each_way_is_held_for_the_next() -> None:
    """Both ways miss something: the fewer misses stand, whatever the minutes say."""
    ways = [
        column("a", "c", 0, 3, missed=2, short_min=90, gas_min=5),
        column("a", "c", 3, 6, missed=3, short_min=0, gas_min=5),
        column("b", "k", 0, 3, missed=1, short_min=30, stale_min=7),
        column("b", "k", 3, 6, missed=1, short_min=30, stale_min=6),
    ]

    answer = solve(problem(ways))

    assert answer.chosen == (0, 3)
    told = {level.key: (level.value, level.bound) for level in answer.levels}
    assert told["missed"] == (3, 3)
    assert told["short"] == (120, 120)
    assert told["stale"] == (6, 6)


def test_a_levels_bound_is_what_the_levels_before_leave_of_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two misses weigh 6 each beside five minutes of gas: of a bound of 15 three are for gas."""

    class Tired:
        best_objective_bound = 15.0

        def solve(self, model: object) -> int:
            return int(cp_model.UNKNOWN)

    monkeypatch.setattr(lexicographic, "_solver", lambda limit, workers: Tired())

    levels = solve(problem([column("a", "c", 0, 3, missed=2, gas_min=5)])).levels

    told = [(level.key, level.value, level.bound, level.proven) for level in levels[:3]]
    assert told == [("placed", 32, 32, True), ("missed", 2, 2, True), ("gas", 5, 3, False)]


def test_of_a_cut_all_but_one_may_stand() -> None:
    ways: list[Column] = [column(n, n, 0, 3) for n in "abc"]

    cut = solve(problem(ways), no_goods=[frozenset({0, 2})])

    assert len(cut.chosen) == 2
    assert not {0, 2} <= set(cut.chosen)
