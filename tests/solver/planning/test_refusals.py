"""What the replay refutes is left out, with what is like it; where nothing is left, it says why."""

from __future__ import annotations

from dataclasses import replace
from datetime import time

import pytest

from events.errors import PlanBroken
from events.model import Break, Helper
from events.table import changed
from solver.notices import Refusal
from solver.planning.pipeline import _never, _not_again, make_plan
from solver.planning.refusals import AROUND_MIN, alike, without
from solver.scheduling.columns import Candidate
from solver.scheduling.enumeration import CandidateSet, enumerate_candidates
from solver.simulation.day import Day, make_day
from tests.conftest import sample_event
from tests.solver.planning import test_dangers
from tests.solver.planning.test_dangers import CLEAR

COLD = Refusal(kind="goes-cold", figures={"reached_c": 50.0, "limit_c": 63.0})


@pytest.fixture(scope="module")
def day() -> Day:
    return make_day(sample_event("harvest-lunch"))


@pytest.fixture(scope="module")
def candidates(day: Day) -> CandidateSet:
    return enumerate_candidates(day)


def of(candidates: CandidateSet, dish_id: str, cooker_id: str) -> list[Candidate]:
    """Return a dish's candidates on its own in a cooker."""
    return [
        c
        for c in candidates.candidates
        if c.column.cooker_id == cooker_id and {b.dish.id for b in c.batches} == {dish_id}
    ]


def test_a_start_is_left_out_with_those_around_it_and_no_other(
    day: Day, candidates: CandidateSet
) -> None:
    refuted = next(c for c in of(candidates, "rice", "box-1") if c.second is None)

    left = without(day, candidates, [(refuted, COLD)])

    gone = {id(c) for c in candidates.candidates} - {id(c) for c in left.candidates}
    near = [
        c
        for c in of(candidates, "rice", "box-1")
        if c.second is None and abs(c.load.start - refuted.load.start) <= AROUND_MIN
    ]
    assert gone == {id(c) for c in near}
    assert 1 <= len(near) < len(of(candidates, "rice", "box-1"))
    assert left.refusals == candidates.refusals


def test_what_is_refuted_from_every_start_is_refused_in_equal_cookers(
    day: Day, candidates: CandidateSet
) -> None:
    """Box 1 and box 2 are alike, and stand in the candidates as the first of the two."""
    cooked = {"rice"}
    refuted = [(c, COLD) for c in candidates.candidates if cooked & {b.dish.id for b in c.batches}]

    left = without(day, candidates, refuted)

    assert of(candidates, "rice", "box-1")
    assert not any(b.dish.id == "rice" for c in left.candidates for b in c.batches)
    assert left.refusals["rice"]["box-1"] == left.refusals["rice"]["box-2"] == COLD
    assert "box-1" not in candidates.refusals.get("rice", {})


def test_what_is_in_progress_is_never_left_out(day: Day, candidates: CandidateSet) -> None:
    begun = replace(of(candidates, "rice", "box-1")[0], in_progress=object())  # type: ignore[arg-type]
    some = replace(candidates, candidates=(begun,))

    assert without(day, some, [(begun, COLD)]).candidates == (begun,)


def test_where_nobody_can_turn_what_they_could_load_a_dish_is_left_out() -> None:
    """The one helper is away from eight until five to one: each start of the box needs a turn.

    One event of the wild ones (`tests.long wild`) had no plan at all: thirty trials were too few.
    """
    event = test_dangers.day('like = "rice"\nportions = 8', cooker="box-better", weather=CLEAR)
    away = (Break(at=time(8), minutes=240), Break(at=time(12), minutes=75))
    event = changed(event, helpers=(changed(event.helpers[0], breaks=away),))

    plan = make_plan(event)

    assert not plan.placements
    (refused,) = plan.unplaced
    assert "nobody-free" in {why.kind for why in refused.reasons}


def test_who_stays_at_a_cooker_may_lift_what_is_in_it() -> None:
    """Who stays does its work, lifting too; random edits found one who may not lift left alone."""
    event = test_dangers.day('like = "rice"\nportions = 4', cooker="box-better", weather=CLEAR)
    mirrors = changed(event.helpers[0], id="may-not", may=("mirrors",))
    lifts = changed(event.helpers[0], id="may", may=("lift",))
    box = changed(event.cookers[0], attended=True)

    def attended_by(*helpers: Helper) -> set[str]:
        plan = make_plan(changed(event, helpers=helpers, cookers=(box,)))
        return {name for job in plan.jobs if job.kind == "attend" for name in job.helper_ids}

    assert attended_by(mirrors, lifts) == {"may"}
    assert attended_by(mirrors) == set()


def numbers_of(candidates: CandidateSet, dish_id: str) -> list[int]:
    """Return by number the candidates in which a dish is."""
    every = enumerate(candidates.candidates)
    return [k for k, c in every if dish_id in {b.dish.id for b in c.batches}]


def test_a_clash_is_one_no_good_and_one_column_alone_takes_its_hour_along(
    day: Day, candidates: CandidateSet
) -> None:
    rice, stew = numbers_of(candidates, "rice")[0], numbers_of(candidates, "bean-stew")[0]
    two = frozenset({rice, stew})
    assert _not_again(day, candidates, two) == [two]

    alone = _not_again(day, candidates, frozenset({rice}))
    like = [alike(day, c, candidates.candidates[rice]) for c in candidates.candidates]
    assert alone == [frozenset({k}) for k, is_like in enumerate(like) if is_like]
    assert frozenset({rice}) in alone
    begun = replace(candidates.candidates[rice], in_progress=object())  # type: ignore[arg-type]
    assert _not_again(day, replace(candidates, candidates=(begun,)), frozenset({0})) == [
        frozenset({0})
    ]


def test_what_clashes_again_and_again_costs_the_dish_of_least_priority(
    day: Day, candidates: CandidateSet
) -> None:
    one, other = day.event.dish("bean-stew"), day.event.dish("plum-compote")
    least = min(one, other, key=lambda dish: dish.priority)
    assert one.priority != other.priority
    clash = frozenset(numbers_of(candidates, dish.id)[0] for dish in (one, other))

    assert _never(candidates, clash) == [frozenset({k}) for k in numbers_of(candidates, least.id)]
    begun = replace(candidates.candidates[min(clash)], in_progress=object())  # type: ignore[arg-type]
    with pytest.raises(PlanBroken, match="1 loads in progress"):
        _never(replace(candidates, candidates=(begun,)), frozenset({0}))
