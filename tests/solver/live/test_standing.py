"""Where each load of a hand-laid day stands, how warm it is, and what may be served or saved."""

from __future__ import annotations

from datetime import datetime, time

import numpy as np
import pytest

from events.model import Event
from events.table import changed
from solver.live.diary_index import index_diary
from solver.live.load_run import (
    EXPECTED,
    STRONG,
    WEAK,
    LoadRun,
    corrected,
    moved_to_ring,
    run_until,
)
from solver.live.load_status import LoadStatus, run_until_left
from solver.live.loadings import loadings
from solver.live.pots import PotStatus, pot_statuses
from solver.live.status import DayStatus, day_status
from solver.plan import Plan, StrandedPot
from tests.diaries import pressed
from tests.solver.checking.damage import again, edited, place
from tests.solver.checking.hand_laid import EVENT, PLAN, at

Press = tuple[str, str, dict[str, object]]


def seen(clock: str, *presses: Press, plan: Plan = PLAN, event: Event = EVENT) -> DayStatus:
    return day_status(event, plan, pressed(event, *presses), at(clock))


def load(status: DayStatus, name: str) -> LoadStatus:
    (found,) = [x for x in status.loads if name in {p.id for p in x.placements}]
    return found


def pot(status: DayStatus, name: str) -> PotStatus:
    (found,) = [p for p in pot_statuses(status) if p.placement_id == name]
    return found


def probed(clock: str, name: str, core_c: float) -> Press:
    return ("probed", clock, {"placement_id": name, "core_c": core_c})


# --- where it stands


def test_a_load_cooks_until_it_is_lifted_by_the_diary_or_by_the_plan() -> None:
    lifted: Press = ("lifted", "12:40", {"placement_id": "rice-1"})

    assert load(seen("12:59"), "rice-1").stage == "cooking"
    assert load(seen("13:00"), "rice-1").stage == "lifted"
    assert load(seen("12:45", lifted), "rice-1").stage == "lifted"
    assert load(seen("12:45", lifted), "rice-1").placements[0].lifted_at == at("12:40")
    assert load(seen("12:45", lifted), "rice-1").in_progress.state.minute[EXPECTED] == 760


def test_a_pot_is_on_its_ring_until_it_comes_off_and_in_a_hay_box_it_is_lifted() -> None:
    assert load(seen("11:45"), "stew-2").stage == "on-ring"
    assert load(seen("12:44"), "stew-2").stage == "on-ring"
    assert load(seen("12:45"), "stew-2").stage == "lifted"
    assert load(seen("10:25"), "stew-1").stage == "lifted"
    assert pot(seen("11:45"), "stew-2").cooker_id == "ring"
    assert pot(seen("11:00"), "stew-2").cooker_id == "mirror"


def test_a_pot_that_went_to_a_ring_unplanned_is_there_from_that_minute_by_itself() -> None:
    there = seen("10:00", ("to-burner", "09:40", {"placement_id": "stew-1"}))

    stew = load(there, "stew-1")
    assert stew.stage == "on-ring"
    assert stew.placements[0].lifted_at == at("09:40")
    assert stew.placements[0].then_cooker_id == "ring"  # a hay box was planned, the first ring is
    assert stew.placements[0].fill == "mirror-09:00-ring"
    assert stew.in_progress.state.minute[EXPECTED] >= 600
    assert pot(there, "stew-1").cooker_id == "ring"


def test_what_was_loaded_at_another_time_is_as_warm_as_from_then() -> None:
    late = seen("10:00", ("loaded", "09:50", {"placement_id": "rice-1"}))

    rice = load(late, "rice-1")
    assert not rice.assumed
    assert rice.placements[0].loaded_at == at("09:50")
    assumed = load(seen("10:00"), "rice-1")
    assert assumed.assumed
    assert assumed.placements[0].loaded_at == at("09:30")
    warm = assumed.in_progress.state.core_c[0, EXPECTED]
    assert rice.in_progress.state.core_c[0, EXPECTED] < warm - 2


def test_what_is_served_is_no_load_any_more() -> None:
    gone = seen("10:15", ("served", "10:12", {"placement_id": "bread-1"}))

    assert "bread-1" not in {p.id for x in gone.loads for p in x.placements}


@pytest.mark.parametrize(
    ("now", "broke", "presses", "hand"),
    [
        ("10:40", "10:30", (), True),
        ("10:20", "10:30", (), False),  # nobody knows it yet
        ("13:10", "13:05", (), False),  # it was out by then
        ("12:50", "12:40", (("lifted", "12:30", {"placement_id": "rice-1"}),), False),
        ("12:50", "12:40", (("to-burner", "12:30", {"placement_id": "rice-1"}),), False),
    ],
)
def test_what_stands_in_a_cooker_that_breaks_is_in_hand(
    now: str, broke: str, presses: tuple[Press, ...], hand: bool
) -> None:
    breaks: Press = ("out-of-action", broke, {"cooker_id": "box"})
    there = day_status(EVENT, PLAN, pressed(EVENT, *presses, breaks), at(now))

    assert ("rice-1" in {h.placement.id for h in there.in_hand}) == hand
    loads = {p.id for x in there.loads for p in x.placements}
    assert ("rice-1" in loads) != hand


def test_only_what_has_happened_by_now_counts() -> None:
    later: Press = ("discarded", "10:30", {"placement_id": "rice-1"})

    assert load(seen("10:29", later), "rice-1").stage == "cooking"
    cloudy = ("cloud", "10:00", {"minutes": 20})
    assert [seen(c, cloudy).cloudy for c in ("10:10", "10:20")] == [True, False]
    assert seen("10:10", ("parked", "10:00", {"cooker_id": "mirror"})).parked == {"mirror"}


# --- how warm


def test_a_weak_a_usual_and_a_strong_cooker_tell_how_sure_it_is() -> None:
    status = seen("10:00")
    rice = load(status, "rice-1").in_progress

    weak, usual, strong = rice.state.core_c[0, [WEAK, EXPECTED, STRONG]]
    assert weak < usual < strong
    told = pot(status, "rice-1")
    assert (told.low_c, told.core_c, told.high_c) == (round(weak), round(usual), round(strong))
    times = rice.durations
    assert times.fast_min[0, 0] <= times.expected_min[0, 0] <= times.cautious_min[0, 0]
    assert times.fast_min[0, 0] < times.cautious_min[0, 0]
    # Half of the hourly cloud's error counts beside the cooker's own band.
    strengths = rice.state.strength
    assert strengths[WEAK] == pytest.approx(2 - strengths[STRONG])
    assert strengths[STRONG] - 1 == pytest.approx(0.84 / 1.28 * np.hypot(0.25, 0.09))


def test_a_reading_is_believed_for_its_own_pot_in_every_member() -> None:
    plain, told = seen("10:00"), seen("10:00", probed("10:00", "lentils-1", 50.0))

    names = [p.id for p in load(told, "rice-1").placements]
    lentils, rice = names.index("lentils-1"), names.index("rice-1")
    state = load(told, "rice-1").in_progress.state
    assert state.core_c[lentils].tolist() == pytest.approx([50.0] * 3)
    assert len(set(state.core_c[rice].round(2).tolist())) == 3
    # What the reading says of the cooker moves the other pot a little, not to 50 °C.
    before = load(plain, "rice-1").in_progress.state.core_c[rice, EXPECTED]
    assert abs(state.core_c[rice, EXPECTED] - before) < 6


def test_what_is_read_after_a_pot_was_lifted_says_nothing_of_its_cooking() -> None:
    lifted: Press = ("lifted", "12:40", {"placement_id": "rice-1"})
    told = seen("12:50", lifted, probed("12:45", "rice-1", 30.0))

    assert load(told, "rice-1").in_progress.state.core_c.min() > 60


def test_a_run_is_put_right_moved_and_done_once() -> None:
    status = seen("10:00")
    run = _run(status)

    right = corrected(status.day, run, 0, 120.0)  # no probe reads more than the boil
    assert right.state.core_c[0].tolist() == pytest.approx([status.day.boil_c] * 3)
    assert right.state.pot_c.max() <= status.day.boil_c
    cold = corrected(status.day, run, 0, 30.0)
    fell = run.state.core_c[0] - 30.0
    assert cold.state.pot_c[0] == pytest.approx(run.state.pot_c[0] - fell)
    on = moved_to_ring(status.day, run, status.day.event.cooker("ring"), 615)
    assert on.cooker.id == "ring"
    assert on.state.minute.tolist() == [620.0] * 3
    end, later = (run_until(status.day, right, m) for m in (720, 760))
    assert (end.done == later.done).all()
    assert (later.hot[0] <= 601).all()
    assert np.isfinite(later.done[0]).all()


def _run(status: DayStatus, until: int = 600) -> LoadRun:
    """Return the run of the stew from nine on."""
    diary = index_diary(EVENT, PLAN, status.day.sky, [])
    found = loadings(status.day, PLAN, diary, 600)
    fill = [p for p in PLAN.placements if p.id == "stew-1"]
    return run_until_left(status.day, diary, fill, found["stew-1"], until)


def test_minutes_in_a_cooker_it_had_to_leave_count_on() -> None:
    spent = place("rice-1", spent_min=40)
    plain, more = (load(seen("10:00", plan=p), "rice-1").in_progress for p in (PLAN, spent))

    assert more.clock_min[0] == pytest.approx(plain.clock_min[0] + 40)
    clock = [float(x.durations.clock_min[0, 0]) for x in (plain, more)]
    assert clock[1] == pytest.approx(clock[0] + 40)
    assert pot(seen("10:00", plan=spent), "rice-1").clock_min == round(more.clock_min[0])


# --- what may be served


SIMMERED = {"done": "simmer", "core_c": None, "ordinary_min": 5}  # done it stays, though it cools


@pytest.mark.parametrize(
    ("values", "core_c", "served"),
    [
        ({}, 90.0, True),
        ({}, 64.0, True),
        ({}, 62.0, False),  # under 63 °C
        ({"serve_hot": False}, 55.0, True),
        ({"out_min": 200}, 90.0, False),  # and its minutes in the box
        ({"out_min": 200, "hazardous": False, "serve_hot": False}, 55.0, True),
        ({"ordinary_min": 600}, 90.0, False),  # it is not done
    ],
)
def test_a_pot_may_be_served_when_it_is_done_hot_and_not_too_long_warm(
    values: dict[str, object], core_c: float, served: bool
) -> None:
    event = edited(EVENT, "dishes", "rice", **{**SIMMERED, **values})
    # The other pot of the load is fresh: each is judged by itself.
    event = edited(event, "dishes", "lentils", **SIMMERED)
    boiled, now = probed("12:00", "rice-1", 98.0), probed("12:30", "rice-1", core_c)

    found = pot(seen("12:30", boiled, now, event=event), "rice-1")

    assert found.ready_now == served
    assert found.clock_limit_min == (None if values.get("hazardous") is False else 240)


def in_hand(**values: object) -> StrandedPot:
    row = {"off_at": at("12:00"), "off_c": 90.0, "low_c": 88.0, "high_c": 92.0, "done": True}
    rice = next(p for p in PLAN.placements if p.id == "rice-1")
    return StrandedPot.model_validate({"placement": rice, "clock_min": 50, **row, **values})


@pytest.mark.parametrize(
    ("values", "served"),
    [
        ({}, True),
        ({"done": False}, False),
        ({"off_c": 64.0, "low_c": 64.0, "high_c": 64.0}, False),  # it is under 63 °C by now
        ({"clock_min": 240}, True),
        ({"clock_min": 241}, False),
    ],
)
def test_a_pot_in_hand_may_be_served_when_it_was_done_is_hot_and_not_too_long_warm(
    values: dict[str, object], served: bool
) -> None:
    plan = changed(PLAN, in_hand=(in_hand(**values),), placements=())

    found = pot(seen("12:10", plan=plan), "rice-1")

    assert (found.stage, found.ready_now) == ("in-hand", served)


def test_a_pot_in_hand_counts_its_minutes_under_sixty_from_the_last_reading_of_its_own() -> None:
    cool = in_hand(off_c=55.0, low_c=54.0, high_c=56.0)
    plan = changed(PLAN, in_hand=(cool,), placements=(PLAN.placements[5],))

    def after(*presses: Press) -> PotStatus:
        return pot(seen("12:20", *presses, plan=plan), "rice-1")

    assert after().clock_min == 50 + 20
    assert after().low_c < after().core_c < after().high_c
    assert after(probed("12:10", "rice-1", 80.0)).clock_min == 50 + 10
    assert after(probed("12:10", "rice-1", 80.0)).core_c > 70
    assert after(probed("12:10", "tea-1", 80.0)).clock_min == 50 + 20
    assert after(probed("11:50", "rice-1", 80.0)).core_c < 60  # before it came out
    hot = changed(plan, in_hand=(in_hand(off_c=62.0, low_c=62.0, high_c=62.0),))
    assert 50 < pot(seen("12:20", plan=hot), "rice-1").clock_min < 50 + 20


def test_a_pot_that_broke_out_counts_what_it_had_spent_before() -> None:
    breaks: Press = ("out-of-action", "10:00", {"cooker_id": "box"})
    plain, spent = (
        next(h for h in seen("10:00", breaks, plan=p).in_hand if h.placement.id == "rice-1")
        for p in (PLAN, place("rice-1", spent_min=33))
    )

    assert spent.came_off.clock_min == plain.came_off.clock_min + 33
    assert not plain.came_off.done
    assert plain.came_off.low_c < plain.came_off.off_c < plain.came_off.high_c


# --- what can be saved


def saved(event: Event = EVENT, *presses: Press, now: str = "10:40") -> PotStatus:
    cold = probed("10:40", "stew-2", 20.0)
    return pot(seen(now, cold, *presses, event=event), "stew-2")


def test_a_pot_can_go_to_a_ring_until_it_would_be_late_there() -> None:
    found = saved()

    assert found.gas_by is not None
    assert at("10:40") < found.gas_by < at("12:30")
    rests = saved(edited(EVENT, "dishes", "stew", rest_min=30))
    assert rests.gas_by is not None
    assert (found.gas_by - rests.gas_by).total_seconds() / 60 == pytest.approx(30, abs=6)


def test_a_pot_can_go_to_a_ring_only_while_that_is_open() -> None:
    def by(**hours: time) -> datetime | None:
        return saved(edited(EVENT, "cookers", "ring", **hours)).gas_by

    latest, sooner = by(opens=time(10, 40), closes=time(12, 30)), by(closes=time(12))
    assert latest == saved().gas_by
    assert latest is not None
    assert sooner is not None
    assert (latest - sooner).total_seconds() / 60 == pytest.approx(30, abs=6)
    assert by(closes=time(10, 40)) is None
    assert by(opens=time(12)) == latest
    assert by(opens=time(12, 29)) is None


@pytest.mark.parametrize(
    ("event", "presses"),
    [
        (edited(EVENT, "dishes", "stew", kinds=("parabolic",)), ()),
        (edited(EVENT, "pots", "pot", fits=("parabolic", "insulated")), ()),
        (EVENT, (("out-of-action", "10:20", {"cooker_id": "ring"}),)),
        (changed(EVENT, cookers=tuple(c for c in EVENT.cookers if c.id != "ring")), ()),
    ],
    ids=["dish", "pot", "broken", "none"],
)
def test_no_pot_goes_to_a_ring_that_can_not_take_it(
    event: Event, presses: tuple[Press, ...]
) -> None:
    assert saved(event, *presses).gas_by is None


def test_minutes_to_spare_leave_room_for_rest() -> None:
    plain = pot(seen("10:00"), "rice-1")
    rests = pot(seen("10:00", event=edited(EVENT, "dishes", "rice", rest_min=20)), "rice-1")

    assert plain.spare_min is not None
    assert rests.spare_min == plain.spare_min - 20
    assert plain.sure_min is not None
    assert plain.sure_min < plain.spare_min


def test_in_a_plan_made_again_nothing_is_assumed_of_what_had_begun() -> None:
    assert not load(seen("10:05", plan=again("10:00", "rice-1", "lentils-1")), "rice-1").assumed


def test_a_pot_in_hand_that_was_loaded_anew_is_in_hand_no_longer() -> None:
    plan = changed(PLAN, in_hand=(in_hand(),))

    assert [h.placement.id for h in seen("09:20", plan=plan).in_hand] == ["rice-1"]
    assert seen("10:00", plan=plan).in_hand == ()


def test_drawn_days_go_on_from_the_member_that_is_as_strong_as_they_are() -> None:
    """The box is a quarter of an hour from done as expected; on a weak day it lags behind."""
    status = seen("11:30")
    rice = load(status, "rice-1").in_progress.durations

    weak = status.day.member_strength[:, status.day.rows["box"]] < 0.8
    drawn = rice.drawn_min(0)[:, 0]
    assert rice.expected_min[0, 0] == pytest.approx(137, abs=3)
    assert np.median(drawn[weak]) > 165
    assert drawn.min() >= 120  # minutes since it was loaded, not since now
    assert rice.fast_min[0, 0] < rice.expected_min[0, 0] - 5


def test_each_pot_of_a_load_has_its_own_minutes_and_is_hot_when_its_middle_is() -> None:
    spent = place("lentils-1", spent_min=40)
    plain, more = (pot(seen("10:00", plan=p), "lentils-1") for p in (PLAN, spent))
    assert more.clock_min == plain.clock_min + 40

    status = seen("10:00")
    hot = run_until(status.day, _run(status), 700).hot[0, EXPECTED]
    before, at_once = (_run(status, int(hot) + k).state.core_c[0, EXPECTED] for k in (-2, 1))
    assert before < 60 <= at_once
