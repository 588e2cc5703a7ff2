"""Rotas of one or two groups and stops, so small that each rule decides them alone.

A visit takes two slots and a walk one, unless it is said; only some starts show something.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from ortools.sat.python import cp_model

from solver.rounds import model
from solver.rounds.model import can_be, solve_rota
from solver.rounds.problem import GroupRound, RotaProblem, RotaSolution, StopVisits

Seen = set[int] | None  # the starts that show something; None: all do


def stop(seen: Seen = None, *, slots: int = 2, ready: int = 0) -> StopVisits:
    unseen = frozenset(range(24)) - seen if seen is not None else frozenset[int]()
    return StopVisits("s", slots, ready, unseen)


def group(start: int, end: int, *stops: int, pace: int = 0) -> GroupRound:
    return GroupRound("g", start, end, stops or (0,), pace)


def problem(
    groups: tuple[GroupRound, ...],
    *stops: StopVisits,
    walks: tuple[int, ...] = (1,),
    **more: object,
) -> RotaProblem:
    """Return a rota of these; `walks` are the slots between any two stops, by pace."""
    of_pace = tuple(tuple(tuple(w for _ in stops) for _ in stops) for w in walks)
    row: dict[str, object] = {"closed": frozenset(), "pause": 0, "pause_starts": (0, 0)}
    row |= {"bell": False, "fixed": {}, "before": {}, "walk_least": 1}
    return RotaProblem(groups, stops, of_pace, **{**row, **more})  # type: ignore[arg-type]


def solved(given: RotaProblem) -> RotaSolution:
    found = solve_rota(given)
    assert found is not None
    assert all(level.proven for level in found.levels)
    return found


def unseen(given: RotaProblem) -> int:
    """Return how many visits see nothing, at the best."""
    return {level.key: level.value for level in solved(given).levels}["unseen"]


def end(given: RotaProblem) -> int:
    """Return the slot by which the last group is done, at the best."""
    return {level.key: level.value for level in solved(given).levels}["end"] // 5


@pytest.mark.parametrize(("start", "seen"), [(2, False), (3, True), (6, True), (7, False)])
def test_a_visit_lies_within_its_groups_hours(start: int, seen: bool) -> None:
    assert unseen(problem((group(3, 8),), stop({start}))) == (not seen)


@pytest.mark.parametrize(("closed", "seen"), [(3, True), (4, False), (5, False), (6, True)])
def test_no_slot_of_a_visit_is_closed(closed: int, seen: bool) -> None:
    given = problem((group(0, 12),), stop({4}), closed=frozenset({closed}))

    assert unseen(given) == (not seen)


@pytest.mark.parametrize(
    ("hours", "between", "slots", "start", "seen"),
    [
        ((4, 12), (2, 5), 1, 4, False),  # no pause before the group is there
        ((0, 12), (4, 5), 1, 4, False),  # four and five: in the visit, six is too late
        ((0, 12), (4, 5), 1, 2, True),  # from two to three, walking at four, resting at five
        ((0, 12), (4, 4), 1, 2, False),
        ((0, 6), (2, 5), 2, 2, False),  # the pause ends with the group's hours
        ((0, 7), (2, 5), 2, 2, True),
        ((0, 12), (4, 4), 2, 5, False),  # all of a pause is one
        ((0, 12), (4, 4), 2, 6, True),
    ],
)
def test_a_pause_is_whole_in_its_time_and_in_no_visit(
    hours: tuple[int, int], between: tuple[int, int], slots: int, start: int, seen: bool
) -> None:
    given = problem((group(*hours),), stop({start}), pause=slots, pause_starts=between)

    assert unseen(given) == (not seen)


def test_no_slot_of_a_pause_is_closed() -> None:
    given = problem((group(0, 12),), stop(), pause=2, pause_starts=(4, 5))

    assert can_be(replace(given, closed=frozenset({4})))
    assert not can_be(replace(given, closed=frozenset({5})))


def test_each_group_walks_at_its_own_pace() -> None:
    """Two visits and their walk: five slots for the quick, seven for the slow."""
    for pace, slots in ((0, 5), (1, 7)):
        given = problem((group(0, 12, 0, 1, pace=pace),), stop(), stop(), walks=(1, 3))
        assert end(given) == slots


def test_a_pause_on_the_way_is_no_part_of_the_walk() -> None:
    """Two slots of visit, three of walk and two of pause, and two of visit."""
    given = problem((group(0, 12, 0, 1),), stop(), stop(), walks=(3,), pause=2, pause_starts=(3, 3))

    assert end(given) == 9
    assert solved(given).pauses == {0: 3}


def test_a_stop_has_its_minutes_between_two_groups() -> None:
    for ready, slots in ((0, 4), (1, 5), (3, 7)):
        assert end(problem((group(0, 12),) * 2, stop(ready=ready))) == slots


# --- groups that are not alike keep no order


def test_a_group_that_comes_later_is_not_asked_to_be_first() -> None:
    assert end(problem((group(4, 12), group(0, 12)), stop())) == 6
    assert can_be(problem((group(0, 12), group(0, 3)), stop()))


def test_a_group_with_other_stops_is_not_asked_to_be_first() -> None:
    """What the first sees is at its second stop, at once; so it comes to the other one later."""
    given = problem((group(0, 12, 0, 1), group(0, 12, 0)), stop(), stop({0}))

    assert (unseen(given), end(given)) == (0, 5)


def test_a_slower_group_is_not_asked_to_be_first() -> None:
    given = problem(
        (group(0, 8, 0, 1, pace=1), group(0, 8, 0, 1)), stop({3, 5}), stop(), walks=(1, 3)
    )

    assert unseen(given) == 0


def test_in_the_midst_of_the_day_groups_go_on_in_the_order_they_had() -> None:
    two = problem((group(0, 12),) * 2, stop())

    assert solved(replace(two, fixed={(1, 0): 0})).visits == {(1, 0): 0, (0, 0): 2}
    before = {(1, 0): 0, (0, 0): 3}
    assert solved(replace(two, before=before)).visits == before


def test_a_visit_that_has_begun_is_where_it_is_whatever_it_shows() -> None:
    """It began when another talk was planned, and shows nothing: it is not moved."""
    given = problem((group(0, 12),), stop({6}), closed=frozenset({1}), fixed={(0, 0): 1})

    assert solved(given).visits == {(0, 0): 1}
    assert unseen(given) == 1


# --- levels


def test_at_a_bell_the_longest_visit_is_waited_for() -> None:
    given = problem((group(0, 12, 0, 1),), stop(slots=1), stop({2, 3}, slots=3))

    assert end(given) == 5
    assert end(replace(given, bell=True)) == 6


def test_what_is_moved_is_counted_before_what_is_seen() -> None:
    given = problem((group(0, 12, 0, 1),), stop({8}), stop())
    again = solved(replace(given, before={(0, 0): 0, (0, 1): 4}))
    levels = {level.key: level.value for level in again.levels}

    assert levels["moved"] == 0
    assert levels["unseen"] == 1
    # From now on its hours are over at three: one of the two has to move.
    shorter = problem((group(2, 12, 0, 1),), stop(), stop(), before={(0, 0): 0, (0, 1): 4})
    assert {level.key: level.value for level in solved(shorter).levels}["moved"] == 1


def test_waiting_is_what_is_neither_a_visit_nor_the_shortest_walk() -> None:
    """Seen at nought and at six: two visits, a slot of walk, and three of waiting."""
    given = problem((group(0, 12, 0, 1),), stop({0}), stop({6}))
    levels = {level.key: level.value for level in solved(given).levels}

    assert levels == {"unseen": 0, "end": 40, "waiting": 15}


class Unsure:
    """A solver that found as good an answer, and knows less of what could be better."""

    def __init__(self, solver: cp_model.CpSolver) -> None:
        self.objective_value = solver.objective_value
        self.best_objective_bound = solver.best_objective_bound - 1
        self.boolean_value = solver.boolean_value


def test_what_is_not_proven_is_not_told_as_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    given = problem((group(0, 12, 0, 1),), stop({0}), stop({6}))
    whole = model._solved
    sure = {level.key: level for level in solved(given).levels}

    def less(*asked: object) -> Unsure:
        solver = whole(*asked)  # type: ignore[arg-type]
        assert solver is not None
        return Unsure(solver)

    monkeypatch.setattr(model, "_solved", less)
    found = solve_rota(given)

    assert found is not None
    for level in found.levels:
        assert not level.proven
        assert level.value == sure[level.key].value
        assert level.bound == level.value - (1 if level.key == "unseen" else 5)


def test_what_is_not_found_quickly_is_sought_for_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(model, "QUICK_LIMIT", 1e-9)

    assert unseen(problem((group(0, 12, 0, 1),), stop({0}), stop({6}))) == 0


def test_where_there_is_no_rota_none_is_told() -> None:
    """Two visits of two slots do not fit into three."""
    for length, fits in ((3, False), (4, True)):
        given = problem((group(0, length),) * 2, stop())
        assert can_be(given) == fits
        assert (solve_rota(given) is not None) == fits
