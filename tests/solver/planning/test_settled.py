"""How a timetable is settled: what the replay refutes, or no crew can do, is not tried again."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from events.errors import PlanBroken
from events.table import changed
from solver.notices import Refusal
from solver.plan import Level, Risk
from solver.planning import pipeline
from solver.planning.pipeline import HURRIED, IN_ADVANCE
from solver.risk.rescue import RescuePlan
from solver.rostering import model as rostering
from solver.rostering.tasks import Task
from solver.scheduling import lexicographic
from solver.simulation.day import make_day
from tests.solver.checking.hand_laid import EVENT, JOBS, PLAN

WHY = Refusal(kind="goes-cold", figures={"reached_c": 50.0, "limit_c": 63.0})


def one(name: str, *dishes: tuple[str, int], begun: bool = False) -> Any:
    """Return a candidate of some dishes, each with its priority."""
    batches = [SimpleNamespace(dish=SimpleNamespace(id=d, priority=p)) for d, p in dishes]
    column = SimpleNamespace(batch_ids=(name,))
    return SimpleNamespace(column=column, batches=batches, in_progress=begun or None)


def set_of(*candidates: Any, complete: bool = True) -> Any:
    return SimpleNamespace(candidates=candidates, complete=complete)


# --- the replay


def settled(monkeypatch: pytest.MonkeyPatch, refuted: int) -> tuple[Any, list[Any]]:
    """Settle a day whose first answers are refuted; return it, and what was tried."""
    tried: list[Any] = []

    def place(*given: Any) -> Any:
        tried.append(given[1])
        left = ((one(f"c{len(tried)}"), WHY),) if len(tried) <= refuted else ()
        return SimpleNamespace(placements=("placed",), refuted=left)

    work = SimpleNamespace(turns=())
    monkeypatch.setattr(pipeline, "build_problem", lambda day, some: some)
    monkeypatch.setattr(
        pipeline, "_staffed", lambda day, some, *_: SimpleNamespace(chosen=some, work=work)
    )
    monkeypatch.setattr(pipeline, "place", place)
    monkeypatch.setattr(
        pipeline, "without", lambda day, some, refuted: (*some, refuted[0][0].column.batch_ids[0])
    )
    found = pipeline._settled(SimpleNamespace(), (), IN_ADVANCE)  # type: ignore[arg-type]
    return found, tried


def test_what_the_replay_refutes_is_left_out_and_the_rest_is_solved_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found, tried = settled(monkeypatch, 2)

    assert tried == [(), ("c1",), ("c1", "c2")]
    assert found.candidates == ("c1", "c2")
    assert found.placements == ("placed",)


def test_after_twenty_four_answers_it_is_told_what_broke(monkeypatch: pytest.MonkeyPatch) -> None:
    assert len(settled(monkeypatch, 23)[1]) == 24
    with pytest.raises(PlanBroken, match="c24: goes-cold"):
        settled(monkeypatch, 24)


# --- the crew


def clashes(
    monkeypatch: pytest.MonkeyPatch, trials: int, *, complete: bool = True
) -> tuple[list[list[str]], Any]:
    """Return the no-goods of each solve, where a crew is found after so many trials, and levels."""
    asked: list[list[str]] = []

    def solve(problem: Any, *, no_goods: list[str], deterministic_limit: float) -> Any:
        assert deterministic_limit == IN_ADVANCE.timetable / (1 + len(asked))
        asked.append([*no_goods])
        return SimpleNamespace(chosen=(0,), levels=())

    def roster(*given: Any, **more: Any) -> Any:
        return None if len(asked) <= trials else SimpleNamespace(trips=(), people=())

    monkeypatch.setattr(lexicographic, "solve", solve)
    monkeypatch.setattr(rostering, "roster", roster)
    monkeypatch.setattr(pipeline, "_smallest_clash", lambda *_: frozenset({0}))
    monkeypatch.setattr(pipeline, "_not_again", lambda *_: ["not-again"])
    monkeypatch.setattr(pipeline, "_never", lambda *_: ["never"])
    nothing = ("_chosen", "tasks_of", "exposures_of", "turns_of", "walks_of", "programme", "around")
    for name in nothing:
        monkeypatch.setattr(pipeline, name, lambda *_: ())
    for name in ("with_light_jobs", "with_second_hands", "with_preparing"):
        monkeypatch.setattr(pipeline, name, lambda day, work, *_: work)
    day = SimpleNamespace(replan=None, sky=None, event=EVENT)
    told = [SimpleNamespace(key=word) for word in ("unproven", "moved")]
    monkeypatch.setattr(pipeline, "_unproven", lambda event, levels: told)
    question, some = SimpleNamespace(people=()), set_of(complete=complete)
    found = pipeline._staffed(day, some, question, IN_ADVANCE)  # type: ignore[arg-type]
    return asked, found.levels


def test_thirty_clashes_are_each_no_good_then_the_least_dish_is_left_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked, _ = clashes(monkeypatch, 32)

    assert [len(goods) for goods in asked] == [*range(33)]
    assert asked[-1] == ["not-again"] * 30 + ["never"] * 2
    assert clashes(monkeypatch, 0) == ([[]], ())


def test_no_level_is_proven_where_not_all_was_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    _, levels = clashes(monkeypatch, 0, complete=False)

    assert [level.key for level in levels] == ["unproven"]  # nothing moves in the morning


def test_one_load_that_no_crew_can_do_takes_those_of_its_hour_along(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rows = set_of(one("a"), one("b"), one("a-later"), one("going", begun=True), one("going-on"))
    monkeypatch.setattr(
        pipeline,
        "alike",
        lambda day, other, first: first.column.batch_ids[0] in other.column.batch_ids[0],
    )

    def no_goods(*clash: int) -> list[set[int]]:
        return [set(g) for g in pipeline._not_again(None, rows, frozenset(clash))]  # type: ignore[arg-type]

    assert no_goods(0) == [{0}, {2}]
    assert no_goods(1) == [{1}]
    assert no_goods(0, 1) == [{0, 1}]
    assert no_goods(3) == [{3}]


def test_the_least_dish_of_a_clash_is_left_out_where_it_is_not_begun() -> None:
    rows = set_of(
        one("a", ("stew", 6)),
        one("b", ("tea", 2)),
        one("c", ("tea", 2), ("stew", 6)),
        one("d", ("tea", 2), begun=True),
        one("e", ("rice", 1)),
    )

    def left_out(*clash: int) -> list[set[int]]:
        return [set(g) for g in pipeline._never(rows, frozenset(clash))]

    assert left_out(0, 1) == [{1}, {2}]
    assert left_out(0) == [{0}, {2}]
    assert left_out(0, 3) == [{0}, {2}]
    with pytest.raises(PlanBroken, match="no crew found for 1 loads in progress"):
        left_out(3)


def test_who_stays_at_a_cooker_does_its_work_with_those_who_lend_a_hand() -> None:
    stay, lift, load = (changed(JOBS[n], id=f"j{n}", helper_ids=()) for n in range(3))
    tasks = [Task(stay, 0, ("lift",)), Task(lift, 0, ("lift",), "j0"), Task(load, 0, (None,))]

    jobs = pipeline._with_people(tasks, [("ada",), ("ben",), ("cam",)])

    assert [j.helper_ids for j in jobs] == [("ada",), ("ada", "ben"), ("cam",)]


def test_where_not_all_was_looked_at_only_what_surely_holds_is_a_bound() -> None:
    rows = [
        Level(key="placed", value=9, bound=9, proven=True),
        Level(key="missed", value=3, bound=3, proven=True),
        Level(key="gas", value=0, bound=0, proven=True),
    ]
    every = sum(2**d.priority for d in EVENT.dishes)

    found = pipeline._unproven(EVENT, rows)

    assert [(v.key, v.bound, v.proven) for v in found] == [
        ("placed", every, False),
        ("missed", 0, False),
        ("gas", 0, True),
    ]


def test_the_day_itself_and_a_hurry_prove_less(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[object] = []

    def stop(day: Any, some: Any, limits: object) -> Any:
        asked.append(limits)
        raise PlanBroken(["enough"])

    monkeypatch.setattr(pipeline, "enumerate_candidates", lambda day: ())
    monkeypatch.setattr(pipeline, "_settled", stop)
    for replan, hurried in ((None, False), (None, True), (object(), False)):
        with pytest.raises(PlanBroken):
            pipeline.plan_day(SimpleNamespace(replan=replan), hurried=hurried)  # type: ignore[arg-type]

    assert asked == [IN_ADVANCE, HURRIED, HURRIED]
    assert IN_ADVANCE.timetable > HURRIED.timetable > 0
    assert IN_ADVANCE.roster > HURRIED.roster > 0


def test_a_plan_that_breaks_a_rule_is_never_returned(monkeypatch: pytest.MonkeyPatch) -> None:
    said: list[str] = []
    for name in ("enumerate_candidates", "_settled", "_drafted", "_with_chances", "with_talks"):
        monkeypatch.setattr(pipeline, name, lambda *_: PLAN)
    monkeypatch.setattr(pipeline, "rota_of", lambda *_: None)
    monkeypatch.setattr(pipeline, "contest_plan", lambda *_: None)
    monkeypatch.setattr(pipeline, "check", lambda *_: said)
    day: Any = SimpleNamespace(replan=None, event=EVENT)

    assert pipeline.plan_day(day).placements == PLAN.placements
    said.append("too-few-pots")
    with pytest.raises(PlanBroken, match="too-few-pots"):
        pipeline.plan_day(day)


def test_chances_are_told_of_a_forecast_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    risk = Risk(
        runs=1,
        all_of_100=50,
        without=(),
        dishes=(),
        meals=(),
        weakest_cooker_id=None,
        dishes_on_time=1.0,
    )
    monkeypatch.setattr(pipeline, "simulate", lambda *_: risk)
    monkeypatch.setattr(pipeline, "rescues", lambda *_: RescuePlan((), ()))

    def told(is_forecast: bool) -> Risk | None:
        weather = SimpleNamespace(is_forecast=is_forecast)
        event = SimpleNamespace(weather=weather)
        monkeypatch.setattr(pipeline, "warnings_of", lambda *_, since: ())
        day: Any = SimpleNamespace(event=event)
        return pipeline._with_chances(day, changed(PLAN, risk=None)).risk

    assert told(is_forecast=True) == risk
    assert told(is_forecast=False) is None


def test_what_had_begun_is_told_apart_from_what_is_still_to_be_loaded(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    going, waits = (
        SimpleNamespace(batches=[SimpleNamespace(id=name)], in_progress=begun)
        for name, begun in (("rice-1", object()), ("tea-1", None))
    )
    monkeypatch.setattr(pipeline, "unplaced", lambda *_: [])
    monkeypatch.setattr(pipeline, "tradeoffs", lambda *_: [])
    staffed: Any = SimpleNamespace(
        chosen=(going, waits), levels=(), work=SimpleNamespace(turns=(), walks=(), jobs=())
    )

    plan = pipeline._drafted(make_day(EVENT), pipeline.Settled(set_of(), staffed, ()))

    assert plan.started_ids == ("rice-1",)
