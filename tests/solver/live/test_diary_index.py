"""What a diary says of a plan that was laid by hand: by batch, cooker and helper."""

from __future__ import annotations

import pytest

from events.table import changed
from solver.live.diary_index import DAY_MIN, LATE_MIN, DiaryIndex, Shade, index_diary
from solver.live.load_status import Whereabouts, _as_it_was
from solver.live.loadings import Loading, load_of, loadings
from solver.plan import Plan, StrandedPot
from solver.simulation.day import make_day
from solver.simulation.day_state import Absence
from tests.diaries import pressed
from tests.solver.checking.damage import again, place
from tests.solver.checking.damage import plan as with_row
from tests.solver.checking.hand_laid import EVENT, PLAN, at

Press = tuple[str, str, dict[str, object]]
DAY = make_day(EVENT)
RICE: dict[str, object] = {"placement_id": "rice-1"}


def said(*presses: Press, plan: Plan = PLAN, event: object = EVENT) -> DiaryIndex:
    return index_diary(event, plan, DAY.sky, pressed(EVENT, *presses))  # type: ignore[arg-type]


def minute(clock: str) -> int:
    return round((at(clock) - at("00:00")).total_seconds() / 60)


def in_hand(name: str) -> StrandedPot:
    pot = next(p for p in PLAN.placements if p.id == name)
    return StrandedPot(
        placement=changed(pot, id=f"{name}-before"),
        off_at=at("10:00"),
        off_c=70.0,
        low_c=65.0,
        high_c=75.0,
        done=False,
        clock_min=30,
    )


def test_all_of_a_load_is_loaded_and_lifted_with_one_of_it_and_first_presses_count() -> None:
    index = said(
        ("loaded", "09:35", RICE),
        ("loaded", "09:50", {"placement_id": "lentils-1"}),
        ("lifted", "12:50", {"placement_id": "lentils-1"}),
    )

    assert index.loaded == {"rice-1": minute("09:35"), "lentils-1": minute("09:35")}
    assert index.lifted == {"rice-1": minute("12:50"), "lentils-1": minute("12:50")}


def test_a_job_that_is_pressed_speaks_of_all_its_pots_and_a_pot_of_itself() -> None:
    job = {"job_id": "load-09:30-lentils-1+rice-1", "core_c": 60.0}

    both, one = said(("probed", "10:00", job)), said(("probed", "10:00", {**RICE, "core_c": 61.0}))

    assert [r.placement.id for r in both.readings] == ["lentils-1", "rice-1"]
    assert [(r.placement.id, r.minute, r.core_c) for r in one.readings] == [("rice-1", 600, 61.0)]


def test_a_pot_that_goes_to_a_ring_is_on_it_and_without_a_ring_it_is_out_of_our_hands() -> None:
    press: Press = ("to-burner", "10:10", {"placement_id": "stew-1"})
    bare = changed(EVENT, cookers=tuple(c for c in EVENT.cookers if not c.on_gas))

    here, there = said(press), said(press, event=bare)

    assert (here.to_ring, here.lifted) == ({"stew-1": 610}, {})
    assert (there.to_ring, there.lifted) == ({}, {"stew-1": 610})


def test_what_is_served_or_thrown_away_is_finished_and_a_meal_that_is_served_is_all_of_it() -> None:
    plan = changed(with_row("jobs", "serve", meal_id="lunch"), in_hand=(in_hand("stew-1"),))

    assert said(("served", "12:10", RICE)).finished_ids == {"rice-1"}
    assert said(("discarded", "12:10", RICE)).finished_ids == {"rice-1"}
    assert said(("held", "12:10", RICE)).finished_ids == frozenset()
    whole = said(("served", "12:10", {"job_id": "serve"}), plan=plan).finished_ids
    assert whole == {p.id for p in PLAN.placements} | {"stew-1-before"}
    gone: Press = ("discarded", "10:20", {"placement_id": "stew-1-before"})
    assert said(gone, plan=plan).finished_ids == {"stew-1-before"}


def test_a_cooker_is_out_of_action_from_the_first_word_of_it() -> None:
    index = said(
        ("out-of-action", "10:00", {"cooker_id": "box"}),
        ("out-of-action", "11:00", {"cooker_id": "box"}),
    )

    assert index.out_of_action == {"box": 600}


AIMED: Press = ("aimed", "11:06", {"job_id": "walk-11:05"})


@pytest.mark.parametrize(
    ("presses", "parked"),
    [
        ((("parked", "10:40", {"cooker_id": "box"}),), {"box": 640}),
        ((("parked", "10:40", {}),), {"mirror": 640}),  # a gust: all that concentrate
        ((("parked", "10:40", {}), ("sun", "10:50", {})), {}),
        ((("parked", "10:40", {}), AIMED), {}),  # the walk turned the mirror
        ((("parked", "10:40", {"cooker_id": "box"}), AIMED), {"box": 640}),
        ((("parked", "10:40", {}), ("aimed", "10:50", {"cooker_id": "mirror"})), {}),
        ((("parked", "10:20", {}), ("aimed", "10:30", {"job_id": "load-10:30-stew-2"})), {}),
        ((("parked", "10:40", {}), ("aimed", "10:50", {"cooker_id": "box"})), {"mirror": 640}),
    ],
)
def test_a_cooker_is_parked_until_it_is_aimed_or_the_sun_is_back(
    presses: tuple[Press, ...], parked: dict[str, int]
) -> None:
    assert said(*presses).parked == parked


def test_a_walk_aims_the_cookers_of_its_own_turns() -> None:
    walk: Press = ("aimed", "09:41", {"job_id": "walk-09:40"})

    assert said(walk).aimed == {"mirror": 581, "oven": 581}


def test_who_is_late_is_away_for_so_long_and_who_is_gone_for_the_day() -> None:
    index = said(
        ("late", "09:00", {"helper_id": "ada", "minutes": 25}),
        ("late", "09:00", {"helper_id": "ben"}),
        ("gone", "10:00", {"helper_id": "cam", "minutes": 5}),
    )

    assert index.absences == (
        Absence("ada", 540, 565),
        Absence("ben", 540, 540 + LATE_MIN),
        Absence("cam", 600, DAY_MIN),
    )


def test_clouds_are_shade_in_minutes_of_the_day() -> None:
    assert said(("cloud", "10:00", {"minutes": 40})).shades == (Shade(600, 640),)


# --- what is loaded


def loaded(now: str, *presses: Press, plan: Plan = PLAN) -> dict[str, Loading]:
    return loadings(DAY, plan, said(*presses, plan=plan), minute(now))


def test_what_nobody_pressed_is_taken_to_be_loaded_as_planned_and_no_earlier() -> None:
    found = loaded("09:29", ("loaded", "09:04", {"placement_id": "stew-1"}))

    assert found == {"stew-1": Loading(544, assumed=False), "bread-1": Loading(540, assumed=True)}
    assert loaded("09:30")["rice-1"] == Loading(570, assumed=True)


def test_in_a_plan_made_again_what_had_begun_is_known_to_be_loaded() -> None:
    plan = again("09:10", "bread-1")

    assert loaded("09:10", plan=plan)["bread-1"] == Loading(540, assumed=False)


@pytest.mark.parametrize(
    ("press", "there"),
    [
        (("out-of-action", "09:20", {"cooker_id": "box"}), False),
        (("out-of-action", "09:40", {"cooker_id": "box"}), True),  # it was in by then
        (("parked", "09:20", {"cooker_id": "box"}), False),
        (("parked", "09:40", {"cooker_id": "box"}), True),
        (("out-of-action", "09:20", {"cooker_id": "oven"}), True),
        (("late", "09:20", {"helper_id": "ben", "minutes": 11}), False),
        (("late", "09:20", {"helper_id": "ben", "minutes": 10}), True),  # back in time
        (("late", "09:20", {"helper_id": "ada", "minutes": 60}), True),  # not their job
        (("late", "09:35", {"helper_id": "ben", "minutes": 60}), True),
    ],
)
def test_a_load_is_not_taken_to_be_in_where_cooker_or_hands_were_missing(
    press: Press, there: bool
) -> None:
    assert ("rice-1" in loaded("10:00", press)) == there


def test_a_load_goes_in_as_it_was_into_what_was_preheated_for_it() -> None:
    (bread,) = [p for p in PLAN.placements if p.id == "bread-1"]
    warm = changed(bread, curve=(changed(bread.curve[0], core_c=47.0), *bread.curve[1:]))

    load = load_of(DAY, [warm])

    assert (load.preheat_min, load.masses_kg, load.pots[0].id) == (30, (2.0,), "tin")
    assert load.dishes[0].start_c == 47.0  # it came from another cooker
    assert load.reheat_c == 82.0  # the strictest rules
    us = make_day(changed(EVENT, site=changed(EVENT.site, food_rules="US")))
    assert load_of(us, [warm]).reheat_c == 73.9
    cold = load_of(DAY, [place("rice-1").placements[2]])
    assert cold.preheat_min == 0


@pytest.mark.parametrize(("clock", "preheated"), [("09:00", False), ("10:00", True)])
def test_what_went_in_before_its_cooker_was_to_be_heated_was_not_preheated(
    clock: str, preheated: bool
) -> None:
    """Else the plan made anew asks for an empty cooker that is full. Found by a wild event."""
    (bread,) = [p for p in PLAN.placements if p.id == "bread-1"]
    bread = changed(bread, preheat_at=at("09:30"), loaded_at=at("10:00"))
    went_in = Loading(minute(clock), assumed=False)

    was = _as_it_was(DAY, bread, went_in, Whereabouts("cooking", None))

    assert (was.preheat_at is not None) == preheated
    assert was.loaded_at == at(clock)
