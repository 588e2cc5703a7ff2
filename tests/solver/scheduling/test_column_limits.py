"""Which starts of a load are worth a column, and what a column says, figure by figure."""

from __future__ import annotations

from dataclasses import replace
from datetime import time

import numpy as np
import pytest

from events.model import Dish, Talk
from events.site import Station
from events.table import changed
from solver.policy import SLOT_MIN, TURN_WORK_MIN
from solver.scheduling import columns
from solver.scheduling.batches import Batch
from solver.scheduling.columns import (
    Candidate,
    candidates_of,
    make_column,
    renamed,
    ring_off,
    served_from_ring_c,
    two_stage_candidates,
)
from solver.scheduling.model import rows_of, watchable
from solver.scheduling.pricing import Costs
from solver.scheduling.problem import DishDemand
from solver.scheduling.timed_load import (
    comes_hot,
    in_time,
    latest_lift,
    timed_load,
    warm_min,
)
from solver.scheduling.two_stage import TwoStageLoad
from solver.simulation.day import Day
from solver.simulation.day_state import PlannedUse
from tests.solver.scheduling.test_columns import (
    BOX,
    MIRROR,
    RING,
    again_with,
    column,
    in_cooker,
    lifts,
)
from tests.solver.scheduling.test_model import person
from tests.solver.scheduling.test_timed_load import (
    EVENT,
    NOON,
    ONE,
    START,
    batch,
    day,
    estimate,
    load,
    stew,
)
from tests.solver.scheduling.test_timetable import column as plain_column
from tests.solver.scheduling.test_timetable import problem

# --- starts


def left_in(never: dict[int, int], here: Day | None = None, dish: Dish | None = None) -> list[int]:
    """Return the starts from which a load is left in, in minutes after nine, the latest first.

    `never` is, by start, on how many of twenty drawn days it is never done; else in an hour.
    """
    food = dish or stew()
    some = estimate(food, starts=tuple(START + m for m in never), done_min=(60.0,))
    draws = np.full((1, 20, len(never)), 60.0)
    for k, days in enumerate(never.values()):
        draws[0, :days, k] = np.inf
    batches: tuple[Batch, ...] = (batch(food),)
    durations = replace(some, draws_min=draws)
    loads = [timed_load(batches, durations, k) for k in range(len(never))]
    ways = columns._ways(here or day(), loads)
    return [w.load.start - START for w in ways if w.lift == NOON]


def test_of_starts_that_are_as_sure_the_last_seven_are_kept() -> None:
    sure = dict.fromkeys(range(0, 65, 5), 0)

    assert left_in(sure) == [60, 55, 50, 45, 40, 35, 30]


def test_an_earlier_start_is_kept_where_it_is_surer() -> None:
    surer = {m: m // 5 for m in range(0, 65, 5)}

    assert left_in(surer) == [*range(60, -5, -5)]


def test_starts_that_are_short_of_the_wanted_margin_are_no_spares() -> None:
    """Begun at twenty to ten or before it has eighty minutes to spare: seven of these."""
    sure = dict.fromkeys(range(0, 65, 5), 0)
    tight = day(changed(EVENT, wanted_margin_min=80))

    assert left_in(sure, tight) == [*range(60, 5, -5)]


def test_starts_of_the_last_hour_are_kept_on_the_grain_and_quarters_before_it() -> None:
    later = {m: (m + 60) // 6 for m in range(-60, 65, 5)}
    shown = changed(EVENT.dish("rice"), rest_min=0)
    talk = Talk(id="t", name="T", at=time(11), minutes=10, dish="rice")

    assert left_in(later) == [*range(60, -5, -5), -15, -30, -45, -60]
    talked = day(changed(EVENT, talks=(talk,)))
    assert left_in(later, talked, shown) == [*range(60, -65, -5)]


def test_what_leaves_when_it_is_to_rest_is_left_in_and_offered_once() -> None:
    one = in_cooker(BOX, cautious_min=180.0)

    assert lifts(day(), one).count("12:00") == 1


def test_a_hay_box_keeps_its_pot_to_the_last_plate() -> None:
    one = in_cooker(BOX)

    found = [c.column for c in candidates_of(day(), one.batches, one.durations)]

    in_hay = [c.then_occupies for c in found if c.then_cooker_id == "hay"]
    assert in_hay
    assert {span[1] for span in in_hay if span} == {ONE // SLOT_MIN}


def test_a_load_is_in_its_cooker_for_some_time() -> None:
    one = in_cooker(BOX)

    assert not [*columns._columns(day(), [columns._Way(one, START)])]
    assert [*columns._columns(day(), [columns._Way(one, START + 60)])]


# --- rings


def test_a_pot_that_goes_to_a_ring_is_as_warm_as_when_it_leaves_that() -> None:
    """How cold it was on the way there does not count; a flame makes up for it."""
    one = in_cooker(MIRROR)
    moved = TwoStageLoad(
        serve=NOON,
        first=one.durations,
        durations=one.durations,
        second=RING,
        lift=np.asarray([START + 30]),
        off=np.asarray([NOON]),
        coldest_c=np.asarray([40.0]),
    )

    assert [*two_stage_candidates(day(), one.batches, moved)]


def test_a_pot_stays_on_its_ring_where_it_would_be_within_two_degrees_of_the_rule() -> None:
    def end_c(serve_end: int) -> float:
        return served_from_ring_c(day(), load(serve_end=serve_end), NOON - 20)

    near = next(m for m in range(NOON, NOON + 240) if end_c(m) < 65.0)
    assert end_c(near) > 63.0

    assert ring_off(day(), load(serve_end=near - 1), NOON - 20) == NOON - 20
    assert ring_off(day(), load(serve_end=near), NOON - 20) > NOON - 20


# --- what a column says


def test_a_pot_that_is_lifted_early_is_washed_after_it_was_served() -> None:
    wash_min = EVENT.pot("small").wash_min

    assert column(in_cooker(BOX), START + 60).pots_busy[1] == (NOON + wash_min) // SLOT_MIN


def test_a_load_is_done_when_the_last_of_its_pots_is() -> None:
    for took in ((60.0, 90.0), (90.0, 60.0)):
        two = in_cooker(BOX, stew(), stew(), done_min=took)
        assert column(two).done_slot == (START + 90) // SLOT_MIN


def test_an_oven_is_turned_while_it_is_heated_empty_too() -> None:
    """An aim holds an hour: three in three hours, and one in the hour before."""

    def work_min(preheat_min: int) -> int:
        return column(in_cooker(BOX, preheat_min=preheat_min)).work_min

    assert work_min(60) - work_min(0) == SLOT_MIN + TURN_WORK_MIN  # who sets it up, and a turn


def test_a_mirror_is_watched_from_where_it_stands() -> None:
    court = Station(id="court", name="Court", x_m=0.0, y_m=0.0, sight="court")
    here = day(changed(EVENT, stations=(*EVENT.stations, court)))
    mirror = changed(MIRROR, station="court")

    one = make_column(here, in_cooker(mirror), lift=NOON, costs=Costs())

    assert one.watched == "court"


def test_a_flame_is_hot_at_once() -> None:
    assert in_cooker(RING, preheat_min=28).empty_min == 0
    assert in_cooker(BOX, preheat_min=28).empty_min == 30


# --- rows


def test_a_load_in_progress_is_watched_from_now_on() -> None:
    """Nobody was there in its first two slots; they are past."""
    going = replace(plain_column("a", "c", 0, 8, watched="yard"), occupies=(2, 8))
    question = problem([going], people=(person("mirrors", away=(0, 1)),))

    assert watchable(question) == [0]
    fresh = problem([replace(going, occupies=(1, 8))], people=question.people)
    assert watchable(fresh) == []


def whole(*chosen: int) -> bool:
    """Return whether a dish of one batch, or of two, may be placed by these of its columns."""
    row = [plain_column(b, b, 0, 4) for b in ("a", "a", "b", "c")]
    dish = DishDemand("d", 1, ("a",), (("b", "c"),))
    rows = rows_of(replace(problem(row), dishes=(dish,)), range(len(row)))
    values = rows.values(chosen)
    return all(
        (row.least is None or values[row.variables] @ row.weights >= row.least)
        and (row.most is None or values[row.variables] @ row.weights <= row.most)
        for row in rows.rows
    )


@pytest.mark.parametrize(
    ("chosen", "fits"),
    [
        ((), True),
        ((0,), True),
        ((1,), True),
        ((0, 1), False),  # a batch is put in once
        ((2, 3), True),
        ((2,), False),  # half of a dish
        ((0, 2), False),
        ((0, 2, 3), False),  # cut in two ways
    ],
)
def test_each_batch_of_one_split_is_put_in_once(chosen: tuple[int, ...], fits: bool) -> None:
    assert whole(*chosen) == fits


# --- a load of several pots, and what one of them spent before


def test_a_load_of_two_is_as_late_as_the_later_and_served_until_its_last_plate() -> None:
    two = load(stew(), stew(), done_min=(60.0, 60.0))
    durations = replace(two.durations, cautious_min=np.asarray([[80.0], [120.0]]))
    longer = replace(two.batches[0], serve_end=ONE + 30)

    assert replace(two, durations=durations).cautious() == START + 120
    assert replace(two, batches=(longer, two.batches[1])).serve_end == ONE + 30


def test_minutes_between_5_and_60_that_a_pot_spent_before_go_on_counting() -> None:
    one, before = load(), again_with(33.0)

    assert before.spent("p0") == 0.0
    assert before.spent("a") == 33.0
    batches = (replace(one.batches[0], id="a"),)
    told = replace(one, batches=batches)
    at, from_c = np.asarray([NOON]), np.asarray([95.0])
    plain, spent = (float(warm_min(here, [told], 0, at, from_c)[0]) for here in (day(), before))
    assert spent == plain + 33.0
    two = (batches[0], batch(stew(), "b"))
    for clocks in ((30.0, 235.1), (235.1, 30.0)):
        good = in_time(
            day(), two, np.asarray([START]), np.full((2, 1), 120.0), np.asarray(clocks)[:, None]
        )
        assert not good[0]
    for clock_min, fine in ((235.0 - 33.0, True), (235.1 - 33.0, False)):
        good = in_time(
            before,
            batches,
            np.asarray([START]),
            np.asarray([[120.0]]),
            np.asarray([[clock_min]]),
        )
        assert bool(good[0]) == fine


def test_each_pot_that_is_served_cold_has_its_own_minutes() -> None:
    cold = stew(serve_hot=False)
    two = load(cold, cold, done_min=(60.0, 60.0))
    for clocks, fine in (((30.0, 30.0), True), ((30.0, 236.0), False), ((236.0, 30.0), False)):
        durations = replace(two.durations, clock_min=np.asarray(clocks)[:, None])
        assert comes_hot(day(), replace(two, durations=durations), lift=NOON) == fine


def test_a_load_is_lifted_in_time_to_rest_however_sure_it_would_be_later() -> None:
    one = load(cautious_min=80.0)
    draws = np.asarray([60.0] * 18 + [400.0] * 2)[None, :, None]

    assert (
        latest_lift(day(), replace(one, durations=replace(one.durations, draws_min=draws))) == NOON
    )


def test_an_equal_pot_is_moved_or_not_by_where_it_was_itself() -> None:
    here = again_with(0.0)
    uses = {"a": PlannedUse("box", START, NOON), "b": PlannedUse("mirror", START, NOON)}
    assert here.replan is not None
    again = replace(here, replan=replace(here.replan, planned_uses=uses))
    one = in_cooker(BOX)
    way = Candidate(make_column(again, one, lift=NOON, costs=Costs()), one)

    for name, moved in (("a", 0), ("b", 1)):
        other = renamed(again, way, batch(stew(), name))
        assert (other.column.batch_ids, other.column.changed) == ((name,), moved)
        assert [b.id for b in other.batches] == [name]
