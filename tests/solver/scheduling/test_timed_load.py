"""A load whose estimate is made by hand: when it comes as promised, hot, safe, and to be lifted."""

from __future__ import annotations

from dataclasses import replace
from datetime import time

import numpy as np
import pytest

from events.model import Cooker, Dish, Event
from events.site import Weather, WeatherHour
from events.table import changed
from solver.scheduling.batches import Batch, Batches
from solver.scheduling.timed_load import (
    TimedLoad,
    comes_hot,
    drawn_warm_min,
    in_time,
    insulated_boxes,
    last_plate_c,
    latest_lift,
    lifted_c,
    loads_in_time,
    timed_load,
    usual_c,
    warm_till_eaten_min,
)
from solver.simulation.day import Day, make_day
from solver.simulation.holding import cools_below_after_min, standing_c
from solver.simulation.query import DurationEstimate, DurationQuery
from solver.simulation.run import STEP_S
from solver.thermal.energy_balance import Load
from tests.solver.checking import hand_laid

NOON, ONE = 12 * 60, 13 * 60
START = 9 * 60
HOT_C, SPARE_K = 63.0, 2.0
STEPS_A_MIN = 60 / STEP_S
CALM = Weather(hours=(WeatherHour(start=time(6), air_c=20.0, wind_m_s=0.0),))
EVENT = changed(hand_laid.EVENT, weather=CALM)
POT = EVENT.pot("small")


def day(event: Event = EVENT) -> Day:
    return make_day(event)


def stew(**values: object) -> Dish:
    return changed(EVENT.dish("rice"), rest_min=0, **values)


def batch(dish: Dish, name: str = "a") -> Batch:
    return Batch(name, dish, 1, 1, 3.0, 3.0, dish.portions, NOON, ONE)


def estimate(
    *dishes: Dish,
    done_min: tuple[float, ...] = (60.0,),
    clock_min: float = 30.0,
    core_c: float | dict[int, float] = 95.0,
    starts: tuple[int, ...] = (START,),
    cooker: str = "box",
    cautious_min: float | None = None,
) -> DurationEstimate:
    """Return what an estimate would say; `core_c` is the middle, or by minute where it differs."""
    shape = (len(dishes), len(starts))
    each = np.broadcast_to(np.asarray(done_min)[:, None], shape).copy()
    cores = np.full((round(300 * STEPS_A_MIN), *shape), core_c if isinstance(core_c, float) else 95)
    for minute, degrees in core_c.items() if isinstance(core_c, dict) else ():
        cores[round(minute * STEPS_A_MIN)] = degrees
    load = Load(dishes, (3.0,) * len(dishes), (POT,) * len(dishes))
    slow = each if cautious_min is None else np.full(shape, cautious_min)
    return DurationEstimate(
        query=DurationQuery(EVENT.cooker(cooker), load, np.asarray(starts), NOON + 60),
        expected_min=each,
        fast_min=each,
        cautious_min=slow,
        hot_min=each / 2,
        clock_min=np.full(shape, clock_min),
        peak_c=np.full(shape, 95.0),
        body_peak_c=np.full(len(starts), 110.0),
        core_c=cores.astype(np.float32),
    )


def load(*dishes: Dish, serve_end: int = ONE, **values: object) -> TimedLoad:
    pots = dishes or (stew(),)
    some = estimate(*pots, **values)  # type: ignore[arg-type]  # its own words
    batches = tuple(replace(batch(d, f"p{n}"), serve_end=serve_end) for n, d in enumerate(pots))
    return timed_load(batches, some, 0)


# --- in time


def promised(dish: Dish, done_min: float, *, clock_min: float = 30.0, **event: object) -> bool:
    batches: Batches = (batch(dish),)
    good = in_time(
        day(changed(EVENT, **event)),
        batches,
        np.asarray([START]),
        np.asarray([[done_min]]),
        np.asarray([[clock_min]]),
    )
    return bool(good[0])


def test_it_is_done_and_rested_when_it_is_served() -> None:
    assert promised(stew(), 180.0)
    assert not promised(stew(), 180.1)
    assert promised(stew(), 165.0) == promised(changed(stew(), rest_min=15), 165.0)
    assert not promised(changed(stew(), rest_min=16), 165.0)
    assert not promised(stew(), np.inf)


def test_it_is_held_no_longer_than_it_may_be() -> None:
    assert promised(stew(holding_max_min=60), 120.0)
    assert not promised(stew(holding_max_min=59), 120.0)


def test_it_is_between_5_and_60_degrees_a_slot_less_than_its_clock() -> None:
    assert promised(stew(), 120.0, clock_min=235.0)
    assert not promised(stew(), 120.0, clock_min=235.1)
    assert promised(stew(hazardous=False), 120.0, clock_min=235.1)
    assert promised(stew(), 120.0, clock_min=115.0, vulnerable_guests=True)
    assert not promised(stew(), 120.0, clock_min=115.1, vulnerable_guests=True)


def test_a_load_is_in_time_when_each_of_its_pots_is() -> None:
    for late in ((60.0, 200.0), (200.0, 60.0), (60.0, np.inf)):
        some = estimate(stew(), stew(), done_min=late)
        batches = (batch(stew(), "a"), batch(stew(), "b"))
        assert loads_in_time(day(), batches, some) == []
    some = estimate(stew(), starts=(START, START + 100, START + 121))
    found = loads_in_time(day(), (batch(stew()),), some)
    assert [(one.index, one.start, one.done) for one in found] == [
        (0, START, (START + 60,)),
        (1, START + 100, (START + 160,)),
    ]


# --- hot to the last plate


def test_hot_is_two_degrees_over_the_rule_from_done_to_the_last_plate() -> None:
    for core_c, is_hot in ((65.01, True), (64.99, False)):
        assert comes_hot(day(), load(core_c=core_c), lift=ONE) == is_hot


@pytest.mark.parametrize("minute", [50, 90, 200])
def test_what_cools_after_it_was_hot_through_is_not_hot(minute: int) -> None:
    """Its middle is at 95 °C from the start, done or not: it may not cool and be warmed again."""
    assert not comes_hot(day(), load(core_c={minute: 40.0}), lift=ONE)


def test_what_was_not_hot_through_before_it_was_done_may_be_cold_till_then() -> None:
    """The middle that has to be reached is 75 °C: at 74.9 it was never cooked, and may dip."""
    for first_c, is_hot in ((74.9, True), (75.0, False)):
        one = load()
        cores = one.durations.core_c
        assert cores is not None
        cores[: round(50 * STEPS_A_MIN)] = first_c
        cores[round(50 * STEPS_A_MIN) : round(55 * STEPS_A_MIN)] = 40.0
        assert comes_hot(day(), one, lift=ONE) == is_hot
        tea = load(stew(hazardous=False))
        tea.durations.core_c[:] = cores  # type: ignore[index]
        assert comes_hot(day(), tea, lift=ONE)  # what can't spoil counts from done on


def test_it_cools_from_its_lift_to_its_last_plate() -> None:
    one = load()
    for lift in range(START + 60, ONE + 1, 20):
        end_c = standing_c(day(), stew(), 3.0, POT, from_c=95.0, start=lift, end=ONE)
        assert comes_hot(day(), one, lift=lift) == (end_c >= HOT_C + SPARE_K), lift
    assert not comes_hot(day(), one, lift=START + 60)
    assert comes_hot(day(), one, lift=NOON)


def test_a_hay_box_keeps_what_would_cool_in_the_open() -> None:
    hay = EVENT.cooker("hay")

    assert not comes_hot(day(), load(), lift=START + 60)
    assert comes_hot(day(), load(), lift=START + 60, hay=hay)
    leaky = changed(hay, loss_w_k=4.0)
    assert not comes_hot(day(), load(), lift=START + 60, hay=leaky)


def test_each_pot_of_a_load_is_hot() -> None:
    two = load(stew(), stew(), done_min=(60.0, 90.0))
    assert comes_hot(day(), two, lift=ONE)
    cores = two.durations.core_c
    assert cores is not None
    for pot in (0, 1):
        cold = cores.copy()
        cold[round(150 * STEPS_A_MIN), pot] = 40.0
        assert not comes_hot(
            day(), replace(two, durations=replace(two.durations, core_c=cold)), lift=ONE
        )


def test_what_is_served_cold_may_cool_within_its_clock() -> None:
    """It stands from nine until one: 60 °C are left behind at some minute, the rest counts."""
    cold = stew(serve_hot=False)
    warm = warm_till_eaten_min(day(), load(cold, clock_min=0.0), START + 60)
    assert 0 < warm < 180

    assert comes_hot(day(), load(cold, clock_min=234.9 - warm), lift=START + 60)
    assert not comes_hot(day(), load(cold, clock_min=235.1 - warm), lift=START + 60)
    safe = changed(cold, hazardous=False)
    assert comes_hot(day(), load(safe, clock_min=999.0), lift=START + 60)
    assert warm_till_eaten_min(day(), load(cold, clock_min=10.0), ONE) == pytest.approx(10.0)
    hot_min = cools_below_after_min(
        day(), cold, 3.0, POT, from_c=95.0, start=START + 60, end=ONE, limit_c=60.0
    )
    assert warm == pytest.approx(180 - hot_min)


def test_what_is_served_cold_is_counted_in_a_cooker_that_cools_too() -> None:
    """Done at ten, it is left in until noon; from eleven on the box is under cloud."""
    cold = stew(serve_hot=False)
    left_in = load(cold, clock_min=0.0)
    cores = left_in.durations.core_c
    assert cores is not None
    for cool_c, counted in ((59.9, 60.0), (60.0, 0.0)):
        cores[round(120 * STEPS_A_MIN) + 1 :] = cool_c
        assert warm_till_eaten_min(day(), left_in, NOON) == pytest.approx(counted + 60, abs=1.0)
    cores[round(30 * STEPS_A_MIN) :] = 30.0  # before it is done, and after it is lifted
    cores[round(60 * STEPS_A_MIN) : round(180 * STEPS_A_MIN) + 1] = 95.0
    without = warm_till_eaten_min(day(), load(cold, clock_min=0.0), NOON)
    assert warm_till_eaten_min(day(), left_in, NOON) == without


def test_what_is_done_at_once_takes_no_longer_on_any_day() -> None:
    """A load in progress may be done when it is looked at: its minutes are none, not unknown."""
    cold = stew(serve_hot=False)
    done = load(cold, done_min=(0.0,), clock_min=0.0)

    assert drawn_warm_min(day(), [done], 0, [ONE]).max() == 0.0
    spoilt = load(cold, done_min=(0.0,), clock_min=241.0)
    assert drawn_warm_min(day(), [spoilt], 0, [ONE]).min() == 241.0


def test_a_day_that_takes_longer_has_as_much_more_between_5_and_60_degrees() -> None:
    """130 minutes on an hour's way: with 50 minutes more they are 238, with 51 they are 240.5."""
    some = estimate(stew(), done_min=(60.0,), clock_min=130.0)
    drawn = replace(some, draws_min=np.asarray([60.0, 110.0, 111.0, np.inf])[None, :, None])
    one = timed_load((batch(stew()),), drawn, 0)

    # What is never done is missed anyhow.
    warm_min = drawn_warm_min(day(), [one], 0, [ONE])[0]
    assert warm_min[:3] == pytest.approx([130.0, 238.0 + 1 / 3, 240.5])
    hot = timed_load((batch(stew()),), replace(drawn, clock_min=np.zeros((1, 1))), 0)
    assert not drawn_warm_min(day(), [hot], 0, [ONE]).any(), "nor is it unknown"
    safe = timed_load((batch(stew(hazardous=False)),), drawn, 0)
    assert not drawn_warm_min(day(), [safe], 0, [ONE]).any()


def test_minutes_under_a_limit_count_from_one_time_to_another() -> None:
    """A middle is told every two minutes: the first stands for no minutes yet."""
    cold = estimate(stew(), core_c={60: 50.0, 64: 59.9, 66: 60.0, 70: 50.0, 72: 50.0})

    def below(since: float, until: float) -> float:
        return cold.below_min(60.0, 0, 0, since_min=since, until_min=until)

    assert below(60, 70) == 4
    assert below(58, 70) == 6
    assert below(69, 70) == 1
    assert below(70, 60) == below(60, 60) == 0


def test_how_warm_the_last_plate_is_is_that_of_its_coldest_pot() -> None:
    two = load(stew(), stew(), done_min=(60.0, 60.0))
    stood_c = standing_c(day(), stew(), 3.0, POT, from_c=95.0, start=NOON, end=ONE)
    assert last_plate_c(day(), two, NOON) == pytest.approx(stood_c)

    cores = two.durations.core_c
    assert cores is not None
    cold = cores.copy()
    cold[round(100 * STEPS_A_MIN), 1] = 40.0
    dipped = replace(two, durations=replace(two.durations, core_c=cold))
    assert last_plate_c(day(), dipped, NOON) == 40.0


def test_where_no_middle_was_followed_what_was_just_cooked_is_as_warm_as_usual() -> None:
    one = load()
    blind = replace(one, durations=replace(one.durations, core_c=None))
    end_c = standing_c(day(), stew(), 3.0, POT, from_c=75.0, start=NOON, end=ONE)

    assert [*lifted_c(day(), [blind], 0, np.asarray([NOON]))] == [75.0, 75.0]
    assert comes_hot(day(), blind, lift=NOON) == (end_c >= HOT_C + SPARE_K)
    assert comes_hot(day(), blind, lift=ONE)


def test_what_was_just_cooked_is_as_warm_as_it_was_asked_to_be_or_near_the_boil() -> None:
    assert usual_c(day(), stew(core_c=80.0)) == 80.0
    assert usual_c(day(), stew(done="boil", core_c=80.0)) == 95.0
    assert usual_c(day(), stew(done="boil", core_c=None)) == 95.0
    high = day(changed(EVENT, site=changed(EVENT.site, altitude_m=3000.0)))
    assert usual_c(high, stew(done="boil", core_c=None)) == pytest.approx(high.boil_c - 2.0)
    assert high.boil_c < 91


# --- when it leaves its cooker


def closing(at: time, cooker: str = "box") -> Day:
    rows = tuple(changed(c, closes=at) if c.id == cooker else c for c in EVENT.cookers)
    return day(changed(EVENT, cookers=rows))


def test_a_load_is_left_in_until_it_is_served_or_lifted_when_it_is_surely_done() -> None:
    """Expected at ten, on a slower day at half past."""
    one = load(cautious_min=90.0)
    sure = one.surely()
    assert one.done == (600,)
    assert one.cautious() == 630 < sure < NOON

    assert latest_lift(day(), one) == NOON
    shut = closing(time(11, 55)), closing(time(10, 30)), closing(time(10, 25))
    assert [latest_lift(d, replace_cooker(d, one)) for d in shut] == [sure, 630, None]


def replace_cooker(on: Day, one: TimedLoad) -> TimedLoad:
    """Return the load with its cooker as a day has it."""
    cooker: Cooker = on.event.cooker(one.cooker.id)
    query = replace(one.durations.query, cooker=cooker)
    return replace(one, durations=replace(one.durations, query=query))


def test_it_rests_before_it_is_served() -> None:
    one = load(stew(), stew(), done_min=(60.0, 60.0))
    rested = tuple(
        replace(b, dish=changed(b.dish, rest_min=minutes))
        for b, minutes in zip(one.batches, (11, 3), strict=True)
    )

    assert latest_lift(day(), replace(one, batches=rested)) == NOON - 15


def test_what_is_late_on_a_slower_day_is_lifted_when_it_is_expected() -> None:
    slow = load(cautious_min=200.0, done_min=(100.0,))
    assert slow.cautious() > NOON

    shut = closing(time(11, 0))
    assert latest_lift(shut, replace_cooker(shut, slow)) == START + 100


def test_sure_is_what_nineteen_of_twenty_days_are_with_hands_late() -> None:
    """By day the slower pot counts; seven minutes go by before somebody lifts it."""
    two = load(stew(), stew(), done_min=(60.0, 60.0))
    draws = np.full((2, 20, 1), 50.0)
    draws[0, :10, 0] = np.arange(60, 70)
    draws[1, 10:, 0] = np.arange(67, 77)
    drawn = replace(two, durations=replace(two.durations, draws_min=draws))

    assert drawn.surely() == START + 85  # 75 of the days up to 76, and 7
    draws[1, 18, 0] = 73.0
    assert drawn.surely() == START + 85  # 74 and 7
    draws[1, 17, 0] = 73.0
    assert drawn.surely() == START + 80


def test_what_would_burn_leaves_when_it_is_done() -> None:
    chocolate = stew(done="melt", core_c=40.0)
    one = load(chocolate, cautious_min=90.0)

    assert one.burns_if_left
    assert latest_lift(day(), one) == START + 60
    two = load(stew(), chocolate, done_min=(90.0, 60.0))
    assert two.burns_if_left
    assert latest_lift(day(), two) == START + 90


def test_an_insulated_box_takes_each_pot_of_a_load() -> None:
    event = changed(
        EVENT, cookers=(*EVENT.cookers, changed(EVENT.cooker("hay"), id="low", litres=2.9))
    )

    found = insulated_boxes(day(event), load(stew(), stew(), done_min=(60.0, 60.0)))

    assert [c.id for c in found] == ["hay"]
    low = replace(load(stew(), stew(), done_min=(60.0, 60.0)).batches[0], litres=9.0)
    two = load(stew(), stew(), done_min=(60.0, 60.0))
    assert insulated_boxes(day(event), replace(two, batches=(two.batches[0], low))) == [found[0]]
    high = replace(low, litres=10.1)
    assert insulated_boxes(day(event), replace(two, batches=(two.batches[0], high))) == []
    bare = changed(POT, fits=("box",))
    asked = replace(two.durations.query, load=replace(two.durations.query.load, pots=(POT, bare)))
    unfit = replace(two, durations=replace(two.durations, query=asked))
    assert insulated_boxes(day(event), unfit) == []
