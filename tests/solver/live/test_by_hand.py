"""A day that was laid by hand, and what comes in on it: sun left, changes told, plans kept."""

from __future__ import annotations

from datetime import time
from types import SimpleNamespace

import numpy as np
import pytest

from events.errors import FaultyEvent
from events.model import Event
from events.site import Weather, WeatherHour
from events.table import changed
from solver.live.availability import CLOUD_LEFT, PARKED_MORE_MIN, availability, recalibrated_day
from solver.live.diary_index import index_diary
from solver.live.gains import _gas_min, _late_min, _tastings_move, gains, needs
from solver.live.in_hand import PotInHand
from solver.live.plan_diff import pot_changes, work_changes
from solver.live.reconcile import reconcile
from solver.live.replan_state import replan_state
from solver.live.strength import StrengthEstimate, StrengthEstimates
from solver.plan import Plan
from solver.simulation.day import make_day
from solver.simulation.day_state import Absence, Preheating, ReplanState
from tests.diaries import pressed
from tests.solver.checking.damage import again, edited, job, place, walk, without
from tests.solver.checking.hand_laid import EVENT, PLAN, TURNS, at
from tests.solver.live.test_diary_index import in_hand

Press = tuple[str, str, dict[str, object]]
HALF = changed(EVENT, weather=Weather(hours=(WeatherHour(start=time(6), cloud_pct=50.0),)))
DAY = make_day(HALF)


def left(now: int, *presses: Press) -> dict[str, np.ndarray]:
    return availability(DAY, index_diary(HALF, PLAN, DAY.sky, pressed(HALF, *presses)), now)


# --- what a day leaves of the sun


def test_under_a_cloud_that_was_seen_a_fifth_of_the_clear_beam_is_left() -> None:
    """Half of it was forecast already, so two fifths of that are left."""
    found = left(600, ("cloud", "10:00", {"minutes": 30}))

    assert found["mirror"][[599, 600, 629, 630]].tolist() == pytest.approx(
        [1, CLOUD_LEFT / 0.5, CLOUD_LEFT / 0.5, 1]
    )
    assert found["ring"].min() == 1.0
    dark = changed(HALF, weather=Weather(hours=(WeatherHour(start=time(6), cloud_pct=90.0),)))
    day = make_day(dark)
    entries = pressed(dark, ("cloud", "10:00", {"minutes": 30}))
    seen = availability(day, index_diary(dark, PLAN, day.sky, entries), 600)
    assert seen["mirror"].max() == 1.0  # it can't be brighter than was forecast


def test_a_cooker_that_broke_has_nothing_from_then_on() -> None:
    found = left(700, ("out-of-action", "10:00", {"cooker_id": "ring"}))

    assert found["ring"][[599, 600, 1439]].tolist() == [1.0, 0.0, 0.0]
    assert found["box"].min() == 1.0


def test_a_parked_cooker_is_taken_to_be_back_a_quarter_of_an_hour_from_now() -> None:
    found = left(640, ("parked", "10:20", {"cooker_id": "mirror"}))

    back = 640 + PARKED_MORE_MIN
    assert found["mirror"][[619, 620, back - 1, back]].tolist() == [1.0, 0.0, 0.0, 1.0]


def test_what_readings_say_of_haze_and_cookers_is_the_days_sun() -> None:
    """Sampled strengths are spread about what is known now, by as much as is still unknown."""
    mirror = StrengthEstimate("mirror", 0.8, 0.72, 0.88, 2)  # a band of 10 %, where it was 25
    share = {c.id: np.full(1440, 0.5) for c in HALF.cookers}

    day = recalibrated_day(DAY, share, StrengthEstimates(0.9, (mirror,)))

    row, ring = day.rows["mirror"], day.rows["ring"]
    assert day.forcing.watts[row, 600] == pytest.approx(
        DAY.forcing.watts[row, 600] * 0.5 * 0.8 * 0.9
    )
    assert day.forcing.watts[ring, 600] == pytest.approx(DAY.forcing.watts[ring, 600] * 0.5)
    before, after = DAY.member_strength[:, row] - 1, day.member_strength[:, row] - 1
    assert after == pytest.approx(before * 0.1 / 0.25)
    assert day.strength_band(HALF.cooker("mirror")) == pytest.approx(0.1)
    assert day.strength_band(HALF.cooker("box")) == 0.25


# --- what planning again changes


def told(new: Plan) -> list[tuple[str, str]]:
    return [(c.kind, c.food.dish_id) for c in pot_changes(PLAN, new)]


def test_a_pot_that_stays_is_no_change_and_small_moves_of_its_lifting_are_none() -> None:
    assert pot_changes(PLAN, PLAN) == []
    assert told(place("rice-1", lifted_at=at("12:51"))) == []
    assert told(place("rice-1", lifted_at=at("12:50"))) == [("lifted", "rice")]
    assert told(place("rice-1", lifted_at=at("13:10"))) == [("lifted", "rice")]


@pytest.mark.parametrize("values", [{"cooker_id": "oven"}, {"loaded_at": at("09:40")}])
def test_a_pot_that_goes_elsewhere_or_at_another_time_is_moved(values: dict[str, object]) -> None:
    moved = place("rice-1", **values)

    (change,) = pot_changes(PLAN, moved)
    assert (change.kind, change.was_cooker_id, change.was_at) == ("moved", "box", at("09:30"))
    assert pot_changes(PLAN, again("09:45", "rice-1", old=moved)) == []  # it has begun


def test_a_second_cooker_a_late_plate_a_new_pot_and_a_given_up_one_are_told() -> None:
    assert told(place("rice-1", then_cooker_id="hay")) == [("second-cooker", "rice")]
    assert told(place("stew-1", then_cooker_id=None)) == []
    assert told(place("rice-1", served_at=at("12:20"))) == [("late", "rice")]
    late = place("rice-1", served_at=at("12:20"))
    assert [c.kind for c in pot_changes(late, late)] == ["late"]  # it is still late
    (new,) = pot_changes(without("placements", "rice-1"), PLAN)
    assert (new.kind, new.cooker_id, new.at) == ("new", "box", at("09:30"))
    gone = without("placements", "rice-1")
    assert told(gone) == []  # served or thrown away: nobody gave it up
    refused = changed(PLAN.unplaced[0], dish_id="rice")
    assert told(changed(gone, unplaced=(refused,))) == [("given-up", "rice")]


def works(new: Plan, clock: str = "09:00") -> list[tuple[str, str, str]]:
    changes = work_changes(EVENT, PLAN, again(clock, old=new))
    return [(c.kind, c.helper_id, c.job) for c in changes]


LATER = "load-10:30-stew-2"


def test_each_helper_is_told_what_is_new_for_them_and_what_is_not_theirs_any_more() -> None:
    assert works(PLAN) == []
    assert works(job(LATER, helper_ids=("cam",))) == [
        ("dropped", "ada", "load"),
        ("new", "cam", "load"),
    ]
    assert works(walk("walk-11:30", helper_id="cam")) == [
        ("dropped", "ben", "turn"),
        ("new", "cam", "turn"),
    ]


def test_what_moves_by_less_than_ten_minutes_or_is_over_is_no_news() -> None:
    assert works(job(LATER, at=at("10:39"))) == []
    assert works(job(LATER, at=at("10:40"))) == [("dropped", "ada", "load"), ("new", "ada", "load")]
    assert works(job(LATER, at=at("10:20"))) == [("new", "ada", "load"), ("dropped", "ada", "load")]
    assert works(job(LATER, helper_ids=("cam",)), clock="10:30") == []
    change = work_changes(EVENT, PLAN, again("09:00", old=job(LATER, at=at("10:45"))))[1]
    assert (change.cooker_ids, [f.dish_id for f in change.foods]) == (("mirror",), ["stew"])


# --- what a plan needs


def status(now: str, plan: Plan = PLAN, **values: object) -> object:
    row = {"finished_ids": frozenset(), "unavailable": frozenset(), "absences": ()} | values
    replan = SimpleNamespace(absences=row.pop("absences"))
    day = SimpleNamespace(sky=DAY.sky, replan=replan)
    minute = round((at(now) - at("00:00")).total_seconds() / 60)
    return SimpleNamespace(day=day, plan=plan, minute=minute, **row)


@pytest.mark.parametrize(
    ("now", "broken", "finished", "needed"),
    [
        ("09:00", "box", (), ["cooker"]),
        ("12:59", "box", (), ["cooker"]),  # it is lifted a minute later
        ("13:00", "box", (), []),
        ("12:00", "hay", (), ["cooker"]),  # until it comes out of the second one
        ("12:30", "hay", (), []),
        ("12:00", "box", ("rice-1", "lentils-1"), []),
    ],
)
def test_a_broken_cooker_matters_while_a_pot_is_to_be_in_it(
    now: str, broken: str, finished: tuple[str, ...], needed: list[str]
) -> None:
    there = status(now, unavailable=frozenset((broken,)), finished_ids=frozenset(finished))

    assert list(needs(there)) == needed  # type: ignore[arg-type]  # what it looks at


@pytest.mark.parametrize(
    ("now", "absence", "needed"),
    [
        ("10:00", Absence("cam", 600, 1440), ["people"]),  # gives a talk at 11:05
        ("11:10", Absence("cam", 600, 1440), []),  # it has begun
        ("10:00", Absence("cam", 600, 665), []),  # back at 11:05
        ("12:16", Absence("ben", 736, 745), ["people"]),  # a walk at 12:20
        ("12:46", Absence("ben", 766, 780), []),  # before the lift at 13:00
    ],
)
def test_an_absence_matters_where_there_is_work_to_come(
    now: str, absence: Absence, needed: list[str]
) -> None:
    assert list(needs(status(now, absences=(absence,)))) == needed  # type: ignore[arg-type]


def test_a_broken_cooker_matters_to_a_talk_that_is_still_to_show_it() -> None:
    given = SimpleNamespace(cooker_id="box", at=at("11:00"))
    talks = SimpleNamespace(given=(given,))
    plan = SimpleNamespace(placements=(), talks=talks, jobs=(), walks=())

    def needed(now: str) -> list[str]:
        there = status(now, plan, unavailable=frozenset(("box",)))  # type: ignore[arg-type]
        return list(needs(there))  # type: ignore[arg-type]

    assert needed("10:59") == ["cooker"]
    assert needed("11:00") == []


def test_tastings_move_by_their_time_or_by_when_they_are_loaded() -> None:
    def plan(taste: str, loaded: str) -> Plan:
        one = SimpleNamespace(entry_id="e", at=at(taste), loaded_at=at(loaded))
        return SimpleNamespace(contest=SimpleNamespace(tastings=(one,)))  # type: ignore[return-value]

    assert not _tastings_move(plan("12:00", "10:00"), plan("12:00", "10:00"))
    assert _tastings_move(plan("12:00", "10:00"), plan("12:15", "10:00"))
    assert _tastings_move(plan("12:00", "10:00"), plan("12:00", "10:05"))
    assert not _tastings_move(PLAN, PLAN)


def test_a_dish_more_is_a_gain_and_a_pot_more_of_the_same_is_none() -> None:
    def found(old: Plan) -> list[str]:
        return list(gains(status("08:00", old), PLAN, None))  # type: ignore[arg-type]

    assert found(without("placements", "rice-1")) == ["dishes"]
    assert found(without("placements", "stew-2")) == []


def test_a_plans_gas_and_its_late_minutes_are_added_up() -> None:
    assert _gas_min(EVENT, PLAN) == 65 + 30  # a stew from 11:40 to 12:45, tea
    assert _gas_min(EVENT, place("stew-2", off_at=None)) == 50 + 30  # until it is served
    assert _late_min(PLAN) == 0
    assert _late_min(place("rice-1", served_at=at("12:25"))) == 25


# --- an event that was changed since


def fewer(table: str, name: str) -> Event:
    return changed(EVENT, **{table: tuple(r for r in getattr(EVENT, table) if r.id != name)})


@pytest.mark.parametrize(
    ("table", "name", "missing"),
    [("cookers", "mirror", "cooker"), ("pots", "pot", "pot"), ("dishes", "stew", "dish")],
)
def test_what_food_is_in_today_can_not_leave_the_event(table: str, name: str, missing: str) -> None:
    with pytest.raises(FaultyEvent) as caught:
        reconcile(fewer(table, name), PLAN, at("09:00"))

    assert {f.table for f in caught.value.faults} == {missing}
    reconcile(fewer(table, name), PLAN, at("08:59"))


def test_nor_can_the_second_cooker_of_what_is_in_the_first_or_the_cooker_of_a_pot_in_hand() -> None:
    with pytest.raises(FaultyEvent, match="hay"):
        reconcile(fewer("cookers", "hay"), PLAN, at("09:00"))
    held = changed(PLAN, placements=(), in_hand=(in_hand("rice-1"),))
    with pytest.raises(FaultyEvent, match="box"):
        reconcile(fewer("cookers", "box"), held, at("09:00"))


def test_a_plan_is_kept_without_what_its_event_has_no_more() -> None:
    event = fewer("cookers", "box")
    event = changed(event, dishes=tuple(d for d in event.dishes if d.id != "tea"), talks=())

    kept = reconcile(event, PLAN, at("08:00"))

    assert "tea-1" not in {p.id for p in kept.placements}
    assert "rice-1" in {p.id for p in kept.placements}  # to be placed anew
    assert {t.cooker_id for t in kept.turns} == {"oven", "mirror"}
    assert [w.id for w in kept.walks] == ["walk-09:10", "walk-09:40", "walk-11:05"]
    gone = {j.id for j in PLAN.jobs} - {j.id for j in kept.jobs}
    assert gone == {
        *("load-11:30-tea-1", "lift-12:00-tea-1", "talk"),
        *("load-09:30-lentils-1+rice-1", "lift-13:00-lentils-1+rice-1"),
    }


def test_a_job_of_several_pots_stays_for_those_that_are_left() -> None:
    event = changed(EVENT, dishes=tuple(d for d in EVENT.dishes if d.id != "lentils"))

    kept = reconcile(event, PLAN, at("08:00"))

    (load,) = [j for j in kept.jobs if j.id == "load-09:30-lentils-1+rice-1"]
    assert load.placement_ids == ("rice-1",)


# --- what planning again starts from


def state_at(
    now: int, *presses: Press, plan: Plan = PLAN, hands: tuple[PotInHand, ...] = ()
) -> ReplanState:
    diary = index_diary(HALF, plan, DAY.sky, pressed(HALF, *presses))
    return replan_state(DAY, plan, diary, (), hands, now)


def test_a_cooker_was_last_aimed_as_the_diary_says_else_as_planned() -> None:
    found = state_at(580, ("aimed", "09:05", {"cooker_id": "mirror"}))

    assert found.aimed_at == {"mirror": 545, "oven": 580, "box": 570}
    back = changed(PLAN, turns=tuple(reversed(TURNS)))
    assert state_at(580, plan=back).aimed_at == {"mirror": 580, "oven": 580, "box": 570}


@pytest.mark.parametrize(
    ("now", "presses", "preheats"),
    [
        (509, (), False),
        (510, (), True),
        (530, (("out-of-action", "08:40", {"cooker_id": "oven"}),), False),
        (530, (("parked", "08:40", {"cooker_id": "oven"}),), False),
        (545, (("discarded", "09:04", {"placement_id": "bread-1"}),), False),
    ],
)
def test_an_oven_stands_empty_on_the_sun_as_planned(
    now: int, presses: tuple[Press, ...], preheats: bool
) -> None:
    found = state_at(now, *presses).preheating

    assert found == ({"oven": Preheating(510, 30)} if preheats else {})


def test_a_pot_in_hand_is_loaded_anew_as_warm_as_it_is_and_its_minutes_go_on() -> None:
    """What counts from loading on anyway, its minutes out of the cold, is not counted twice."""
    held = PotInHand(in_hand("rice-1"), core_c=61.24, low_c=55.0, high_c=65.0, clock_min=50.0)

    found = state_at(600, hands=(held,))

    assert found.warm_c == {"rice-1-before": 61.2}
    assert found.spent_min == {"rice-1-before": 50.0}
    out = make_day(edited(HALF, "dishes", "rice", out_min=20))
    diary = index_diary(HALF, PLAN, DAY.sky, [])
    assert replan_state(out, PLAN, diary, (), (held,), 600).spent_min == {"rice-1-before": 30.0}


def test_what_the_diary_says_of_cookers_people_and_plates_goes_on() -> None:
    found = state_at(
        620,
        ("out-of-action", "10:00", {"cooker_id": "box"}),
        ("gone", "10:05", {"helper_id": "cam"}),
        ("served", "10:10", {"placement_id": "bread-1"}),
    )

    assert found.unavailable == {"box"}
    assert [a.helper_id for a in found.absences] == ["cam"]
    assert found.finished_ids == {"bread-1"}
    use = found.planned_uses["stew-2"]
    assert (use.representative, use.load, use.lift) == ("mirror", 630, 700)
