"""The problem's people and stocks: who may be asked when, and how much a cooker takes."""

from __future__ import annotations

from dataclasses import replace
from datetime import time

import numpy as np
import pytest

from events.contest import Contest, Judge
from events.model import Event, Talk
from events.rounds import Group, Stop
from events.table import changed
from solver.plan import Placement
from solver.scheduling import formulation
from solver.scheduling.columns import Candidate, Costs, make_column
from solver.scheduling.enumeration import CandidateSet
from solver.scheduling.formulation import assign_pool, build_problem, person_of
from solver.simulation.day import Day
from solver.simulation.day_state import Absence, LoadInProgress, ReplanState
from tests.solver.checking import hand_laid
from tests.solver.scheduling.test_columns import in_cooker
from tests.solver.scheduling.test_timed_load import EVENT, NOON, START, day, stew

SLOTS = 24 * 12
ADA = EVENT.helper("ada")  # eight to two


def replanned(event: Event, minute: int, **values: object) -> Day:
    """Return a day that is planned again at a minute, nothing in progress."""
    plain = {"in_progress": (), "warm_c": {}, "spent_min": {}, "finished_ids": frozenset()}
    plain |= {"unavailable": frozenset(), "absences": (), "aimed_at": {}, "preheating": {}}
    plain |= {"representatives": {}, "planned_uses": {}}
    state = ReplanState(hand_laid.PLAN, minute, **{**plain, **values})  # type: ignore[arg-type]
    return replace(day(event), replan=state)


def free(day: Day, helper_id: str = "ada") -> str:
    """Return from when to when somebody may be asked, in clock times."""
    slots = np.asarray(person_of(day, day.event.helper(helper_id), SLOTS).free, dtype=int)
    edges = np.flatnonzero(np.diff(slots, prepend=0, append=0)) * 5
    return " ".join(f"{m // 60}:{m % 60:02d}" for m in edges.tolist())


def with_ada(**values: object) -> Event:
    helpers = tuple(changed(h, **values) if h.id == "ada" else h for h in EVENT.helpers)
    return changed(EVENT, helpers=helpers)


def test_a_helper_is_free_in_whole_slots_of_their_hours() -> None:
    assert free(day()) == "8:00 14:00"
    assert free(day(with_ada(start=time(8), end=time(13, 58)))) == "8:00 13:55"


@pytest.mark.parametrize(
    ("at", "minutes", "left"),
    [("11:00", 30, "8:00 11:00 11:30 14:00"), ("11:02", 11, "8:00 11:00 11:15 14:00")],
)
def test_in_a_break_and_in_a_talk_nobody_is_asked(at: str, minutes: int, left: str) -> None:
    starts = time.fromisoformat(at)
    talk = changed(EVENT.talks[0], at=starts, minutes=minutes, speaker="ada")

    assert free(day(with_ada(breaks=({"at": starts, "minutes": minutes},)))) == left
    assert free(day(changed(EVENT, talks=(talk,)))) == left
    assert free(day(changed(EVENT, talks=(changed(talk, speaker="ben"),)))) == "8:00 14:00"
    floats = changed(talk, at=None, start=time(9), end=time(12))
    assert free(day(changed(EVENT, talks=(floats,)))) == "8:00 14:00"


def test_who_is_late_or_gone_is_not_asked_and_nobody_for_what_is_past() -> None:
    away = (Absence("ada", 10 * 60, 10 * 60 + 13), Absence("ben", 0, 24 * 60))

    again = replanned(EVENT, 9 * 60 + 2, absences=away)

    assert free(again) == "9:05 10:00 10:15 14:00"
    assert free(again, "ben") == ""


def rounds(**values: object) -> Event:
    stop = Stop(id="stop", name="Stop", x_m=0.0, y_m=0.0, minutes=10, **values)  # type: ignore[arg-type]
    rota = {"start": time(10), "end": time(11)}
    return changed(EVENT, stops=(stop,), rota=rota)


def test_who_guides_a_stop_or_goes_with_a_group_has_no_hands_free_in_the_rotas_hours() -> None:
    hours = "8:00 10:00 11:00 14:00"
    group = Group(id="g", name="G", people=5)

    assert free(day(changed(rounds(guide="ada"), groups=(group,)))) == hours
    assert free(day(rounds(guide="ada"))) == "8:00 14:00"  # nobody goes round
    assert free(day(changed(rounds(), groups=(changed(group, adult="ada"),)))) == hours
    assert free(day(changed(rounds(guide="ben"), groups=(group,)))) == "8:00 14:00"


def test_a_contests_runner_and_a_helper_who_judges_have_no_hands_free_in_its_hours() -> None:
    contest = Contest(start=time(11), end=time(13), runner="ada", stations=("a",))
    judge = Judge(id="j", name="J", start=time(8), end=time(14), helper="cam")
    event = changed(EVENT, contest=contest, judges=(judge,))

    assert free(day(event)) == free(day(event), "cam") == "8:00 11:00 13:00 14:00"
    assert free(day(event), "ben") == "8:00 16:00"


def test_the_young_are_no_hands_of_the_timetable() -> None:
    q = build_problem(day(), CandidateSet())

    assert [p.id for p in q.people] == ["ada", "ben", "cam"]
    assert all(p.adult for p in q.people)


def test_a_cooker_takes_its_pots_and_a_pool_its_cookers_as_long_as_they_work() -> None:
    twin = changed(EVENT.cooker("box"), id="twin")
    event = changed(EVENT, cookers=(*EVENT.cookers, twin))

    def takes(day: Day) -> dict[str, int]:
        return dict(build_problem(day, CandidateSet()).cooker_capacity)

    whole = {"mirror": 1, "box": 2, "oven": 1, "ring": 2, "hay": 1, "twin": 0}
    assert takes(day(event)) == whole
    broken = replanned(event, START, unavailable=frozenset({"ring", "twin"}))
    assert takes(broken) == {**whole, "ring": 0, "box": 1}


def in_progress(placement: Placement, stage: str = "cooking") -> LoadInProgress:
    one = in_cooker(EVENT.cooker("box"))
    return LoadInProgress(
        placements=(placement,),
        stage=stage,  # type: ignore[arg-type]
        durations=one.durations,
        state=None,  # type: ignore[arg-type]
        clock_min=(0.0,),
        curves=((),),
    )


def test_a_broken_cooker_that_still_holds_a_load_is_counted_for_it() -> None:
    twin = changed(EVENT.cooker("box"), id="twin")
    event = changed(EVENT, cookers=(*EVENT.cookers, twin))
    rice = changed(hand_laid.PLACEMENTS[2], cooker_id="twin")

    for stage, takes in (("cooking", 2), ("lifted", 1)):
        broken = replanned(
            event,
            START,
            unavailable=frozenset({"twin"}),
            in_progress=(in_progress(rice, stage),),
        )
        assert build_problem(broken, CandidateSet()).cooker_capacity["box"] == takes


def way(name: str, dish: str) -> Candidate:
    one = in_cooker(EVENT.cooker("box"), stew(id=dish))
    one = replace(one, batches=(replace(one.batches[0], id=name),))
    return Candidate(make_column(day(), one, lift=NOON, costs=Costs()), one)


def test_a_dish_is_placed_whole_or_not_at_all_and_what_has_begun_before_all_else() -> None:
    ways = tuple(way(name, "rice") for name in ("rice-1", "rice-2", "rice-1of3"))
    batches = [w.batches[0] for w in ways]
    found = CandidateSet(
        ways, splits={"rice": tuple(batches[:2])}, alternatives={"rice": (batches[2],)}
    )
    begun = (in_progress(hand_laid.PLACEMENTS[2]),)  # rice-1

    (whole,) = build_problem(day(), found).dishes
    parts = build_problem(replanned(EVENT, START, in_progress=begun), found).dishes

    assert (whole.id, whole.splits()) == ("rice", (("rice-1", "rice-2"), ("rice-1of3",)))
    assert [(d.id, d.priority, d.splits()) for d in parts] == [
        ("rice-1", 12, (("rice-1",),)),  # nine is the most that an organiser can say
        ("rice-2", EVENT.dish("rice").priority, (("rice-2",),)),
    ]


def test_a_walk_must_fit_the_shortest_interval_of_any_mirror() -> None:
    """Five degrees of acceptance last 2 x 5 / (15 x cos 23.4) hours at midsummer: 43 minutes."""
    wide = changed(EVENT.cooker("mirror"), id="wide", acceptance_deg=10.0)
    event = changed(EVENT, cookers=(wide, *EVENT.cookers))

    assert build_problem(day(event), CandidateSet()).walk_window_slots == 40 // 5


def test_a_talk_that_is_over_or_whose_pot_has_begun_asks_for_nothing() -> None:
    def asks(again: Day) -> int:
        return len(build_problem(again, CandidateSet()).talks)

    begun = (in_progress(hand_laid.PLACEMENTS[0]),)  # a stew
    assert EVENT.talks[0].at == time(11, 5)
    assert asks(day()) == asks(replanned(EVENT, 11 * 60 + 5)) == 1
    assert asks(replanned(EVENT, 11 * 60 + 6)) == 0
    assert asks(replanned(EVENT, START, in_progress=begun)) == 0


def shown(talk: Talk, *, load: int = START, hot_min: float = 30.0, lift: int = NOON) -> bool:
    one = in_cooker(EVENT.cooker("mirror"), stew(id="stew"), starts=(load,))
    durations = replace(one.durations, hot_min=np.asarray([[hot_min]]))
    one = replace(one, durations=durations)
    column = make_column(day(), one, lift=lift, costs=Costs())
    assert talk.at is not None
    return formulation._shows(day(), Candidate(column, one), talk, talk.at)


@pytest.mark.parametrize(
    ("stage", "at", "is_shown"),
    [
        ("simmering", "9:30", True),  # hot from half past nine, lifted at noon
        ("simmering", "9:29", False),
        ("simmering", "11:30", True),
        ("simmering", "11:31", False),
        ("loaded", "8:30", True),
        ("loaded", "8:29", False),
        ("loaded", "9:00", True),
        ("loaded", "9:01", False),
        ("lifted", "11:30", True),
        ("lifted", "11:29", False),
        ("lifted", "12:00", True),
        ("lifted", "12:01", False),
    ],
)
def test_a_talk_has_its_dish_at_its_stage_from_beginning_to_end(
    stage: str, at: str, is_shown: bool
) -> None:
    talk = changed(EVENT.talks[0], at=time(*map(int, at.split(":"))), minutes=30, stage=stage)

    assert shown(talk) == is_shown
    assert not shown(changed(talk, dish="rice"))


def test_a_pools_loads_are_dealt_to_cookers_that_are_free_the_heated_one_first() -> None:
    twins = changed(EVENT, cookers=(EVENT.cooker("box"), changed(EVENT.cooker("box"), id="twin")))
    event = changed(twins, dishes=(), talks=())

    def placed(start: int, lift: int) -> Candidate:
        one = in_cooker(EVENT.cooker("box"), starts=(start,))
        return Candidate(make_column(day(), one, lift=lift, costs=Costs()), one)

    ways = [placed(600, 660), placed(540, 640), placed(640, 700), placed(660, 700)]
    dealt = {c.load.start: c.column.cooker_id for c in assign_pool(day(event), ways)}
    assert dealt == {540: "box", 600: "twin", 640: "box", 660: "twin"}

    again = replanned(event, 560, preheating={"twin": None})
    dealt = {c.load.start: c.column.cooker_id for c in assign_pool(again, ways[:2])}
    assert dealt[540] == "twin"
