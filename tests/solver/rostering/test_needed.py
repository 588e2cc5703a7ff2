"""How many people jobs need, what a walk takes and does, and what no crew can do."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from ortools.sat.python import cp_model

from events.table import changed
from solver.rostering import model
from solver.rostering.programme import Work, with_past
from solver.rostering.tasks import SunExposure, Task
from solver.rostering.turn_times import TurnTimes, _needed
from solver.rostering.turns import Trip, walks_of
from tests.solver.checking.hand_laid import EVENT, JOBS, PLAN, at
from tests.solver.rostering.test_roster import cooker, person
from tests.solver.scheduling.test_formulation import replanned
from tests.solver.scheduling.test_timed_load import day


def test_a_job_needs_all_of_its_people_in_each_of_its_slots() -> None:
    lift = Task(changed(JOBS[0], minutes=10, helper_ids=()), 110, ("mirrors", "lift", "lift"))
    load = Task(changed(JOBS[0], minutes=5, helper_ids=()), 111, ("lift",))

    needed = {slot: dict(people) for slot, people in _needed([lift, load]).items()}

    assert needed == {110: {"mirrors": 1, "lift": 2}, 111: {"mirrors": 1, "lift": 3}}


def test_a_walk_takes_a_slot_and_has_all_of_its_turns() -> None:
    cookers = (EVENT.cooker("mirror"), EVENT.cooker("box"))
    exposures = [SunExposure(cooker, 108, 130, 8) for cooker in cookers]

    (walk,) = walks_of(day().sky, exposures, [Trip(114, "ada", (0, 1))])

    assert (walk.id, walk.minutes, walk.helper_id) == ("walk-0930-ada", 5, "ada")
    assert walk.turn_ids == ("mirror-turn-0930", "box-turn-0930")


def test_of_as_few_walks_the_fewest_turns_come_before_the_latest() -> None:
    """By hand: B needs one turn in slot 5, A one more until 4. At 4 and 7 all but C need two."""
    boxes = [
        SunExposure(cooker(name, trained=False), start, 9, every)
        for name, start, every in (("a", 1, 3), ("b", 2, 3), ("c", 3, 4))
    ]

    rounds = TurnTimes([person("p")], [], boxes, None).solve(2.0, 0.2)

    assert [(r.slot, r.turned) for r in rounds or ()] == [(4, (0,)), (5, (0, 1, 2))]


def test_where_all_is_sought_at_once_a_walk_has_three_turns_at_most(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(model, "assign", lambda *_, **__: None)
    boxes = [SunExposure(cooker(f"x{k}", trained=False), 0, 5, 3) for k in range(4)]

    for many, walks in ((3, 1), (4, 2)):
        team = model.roster([person("a"), person("b")], [], boxes[:many])

        assert team is not None
        assert len(team.trips) == walks
        assert sorted(k for t in team.trips for k in t.exposures) == [*range(many)]


# --- what can't be done, and what nobody could settle


def without_a_crew(monkeypatch: pytest.MonkeyPatch, *, counted: bool = True) -> None:
    """Let the walks be counted out, or not; nobody is found for them by either model."""
    times = SimpleNamespace(solve=lambda *_: [], possible=lambda: counted)
    monkeypatch.setattr(model, "TurnTimes", lambda *_: times)
    monkeypatch.setattr(model, "assign", lambda *_, **__: None)
    joint = SimpleNamespace(solve=lambda *_: None, cp=None)
    monkeypatch.setattr(model, "_Joint", lambda *_: joint)


def test_where_neither_model_finds_a_crew_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    without_a_crew(monkeypatch)

    assert model.roster([], [], []) is None


@pytest.mark.parametrize(
    ("counted", "status", "possible"),
    [
        (True, cp_model.OPTIMAL, True),
        (True, cp_model.FEASIBLE, True),
        (True, cp_model.UNKNOWN, True),  # what isn't settled in time counts as possible
        (True, cp_model.INFEASIBLE, False),
        (False, cp_model.OPTIMAL, False),
    ],
)
def test_work_is_possible_unless_it_is_shown_not_to_be(
    monkeypatch: pytest.MonkeyPatch, counted: bool, status: object, possible: bool
) -> None:
    without_a_crew(monkeypatch, counted=counted)
    solver = SimpleNamespace(solve=lambda _: status)
    monkeypatch.setattr(model, "deterministic_solver", lambda _: solver)

    assert model.possible([], [], []) == possible


def test_what_is_past_stands_in_a_new_plan_once() -> None:
    """At eleven: what the new plan has itself is not told twice, what is to come is its own."""
    here = replanned(EVENT, 11 * 60)
    assert here.replan is not None
    known = Work(turns=PLAN.turns[:1], walks=(), jobs=JOBS[:1])

    found = with_past(here, here.replan, known)

    for rows, before in ((found.jobs, PLAN.jobs), (found.turns, PLAN.turns)):
        names = [row.id for row in rows]
        assert sorted(names) == sorted(row.id for row in before if row.at <= at("11:00"))
        assert len(names) < len(before)
