"""One load made into a column by hand: what it may miss, when it is lifted, whom it needs."""

from __future__ import annotations

from dataclasses import replace
from datetime import time

import numpy as np
import pytest

from events.model import Cooker, Dish, Event, Pot
from events.site import Weather, WeatherHour
from events.table import changed
from solver.scheduling import columns
from solver.scheduling.batches import Batch
from solver.scheduling.columns import (
    Second,
    candidates_of,
    heat_ends,
    make_column,
    ring_off,
    two_stage_candidates,
)
from solver.scheduling.pricing import Costs, costs_of, missed_fraction
from solver.scheduling.problem import Column
from solver.scheduling.timed_load import TimedLoad, timed_load, warm_min
from solver.scheduling.two_stage import TwoStageLoad
from solver.simulation.day import Day
from solver.simulation.day_state import ReplanState
from solver.simulation.query import DurationEstimate
from tests.solver.checking import hand_laid
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

MIRROR, BOX, RING, HAY = (EVENT.cooker(c) for c in ("mirror", "box", "ring", "hay"))


def drawn(dish: Dish, *took_min: float, oven_c: float | None = None) -> DurationEstimate:
    """Return the estimate of one pot whose drawn days are given."""
    some = estimate(dish)
    query = some.query
    if oven_c is not None:
        query = replace(query, oven_c=np.asarray([oven_c]))
    return replace(some, query=query, draws_min=np.asarray(took_min)[None, :, None])


def missed_on(
    durations: DurationEstimate, dish: Dish, ends: int | None, on: Day | None = None
) -> float:
    one = timed_load((batch(dish),), durations, 0)
    return missed_fraction(on or day(), one, 0, ends)


def in_cooker(
    cooker: Cooker, *dishes: Dish, preheat_min: int = 0, pots: tuple[Pot, ...] = (), **more: object
) -> TimedLoad:
    """Return a load from nine o'clock, done after an hour; served at noon, until one."""
    one = load(*dishes, **more)
    query = one.durations.query
    filled = replace(query.load, preheat_min=preheat_min, pots=pots or query.load.pots)
    query = replace(query, cooker=cooker, load=filled)
    return timed_load(one.batches, replace(one.durations, query=query), 0)


def clock(minute: int) -> str:
    return f"{minute // 60}:{minute % 60:02d}"


# --- what is missed


@pytest.mark.parametrize(
    ("took_min", "values", "ends", "missed"),
    [
        ((173.0,), {}, None, 0.5),  # hands are seven minutes late on the mean: a toss
        ((158.0,), {"rest_min": 15}, None, 0.5),  # it rests before it is served
        ((113.0,), {}, START + 120, 0.5),  # what leaves its heat earlier is done no more
        ((113.0,), {}, NOON + 60, 0.0),  # and heat after it was served is none
        ((np.inf,), {}, None, 1.0),
        ((173.0, np.inf), {}, None, 0.75),  # half of the days a toss, half of them never
        ((60.0,), {"fresh_min": 60, "holding_max_min": 180}, None, 0.125),  # half of its holding
        ((60.0,), {"fresh_min": 60, "holding_max_min": 120}, None, 0.25),  # all of its holding
        ((60.0,), {"fresh_min": 60, "holding_max_min": 119}, None, 1.0),  # beyond: thrown away
    ],
)
def test_a_batch_is_missed_by_the_share_of_days_on_which_it_does_not_come_as_promised(
    took_min: tuple[float, ...], values: dict[str, object], ends: int | None, missed: float
) -> None:
    dish = changed(stew(), **{"fresh_min": 180, "holding_max_min": 180, **values})

    found = missed_on(drawn(dish, *took_min), dish, ends)

    assert found == pytest.approx(missed, abs=1e-3)


def again_with(spent_min: float) -> Day:
    """Return a day that is planned again, with a pot that had to leave its cooker."""
    here = day()
    state = ReplanState(
        plan=hand_laid.PLAN,
        minute=START,
        in_progress=(),
        warm_c={},
        spent_min={"a": spent_min},
        finished_ids=frozenset(),
        unavailable=frozenset(),
        absences=(),
        aimed_at={},
        preheating={},
        representatives={},
        planned_uses={},
    )
    return replace(here, replan=state)


@pytest.mark.parametrize(
    ("spent_min", "missed"),
    [(0.0, 0.0), (209.0, 0.5), (169.0, 0.5), (149.0, 0.0), (211.0, 1.0)],
)
def test_a_day_with_too_many_minutes_between_5_and_60_is_missed(
    spent_min: float, missed: float
) -> None:
    """By hand: 30 minutes of 60 are under 60 °C; on the day of 180 it is 90. The limit is 240."""
    dish = stew(fresh_min=180, holding_max_min=180, hazardous=True)
    durations = drawn(dish, 60.0, 180.0)
    late = missed_on(durations, dish, ONE, again_with(0.0))

    found = missed_on(durations, dish, ONE, again_with(spent_min))

    assert 0.25 < late < 0.5  # three hours are a toss against noon
    assert found == pytest.approx(max(late, missed), abs=1e-3)
    safe = changed(dish, hazardous=False)
    assert missed_on(drawn(safe, 60.0, 180.0), safe, ONE, again_with(999.0)) == pytest.approx(late)


def lost_by_hand(warm_min: float) -> float:
    """Return what is lost of food, served cold, that was so long between 5 and 60 °C.

    Nothing until half of the limit of 240, when people are warned; from there on more and more.
    """
    return min(1.0, max(0.0, (warm_min - 120) / 120))


def test_what_is_served_cold_is_missed_more_the_longer_it_stood_and_past_its_limit_all() -> None:
    """It stands from half past ten until one, and is under 60 °C for most of it."""
    dish = stew(serve_hot=False, hazardous=True, fresh_min=180, holding_max_min=180)
    one = timed_load((batch(dish),), drawn(dish, 60.0), 0)
    stood_min = warm_min(day(), [one], 0, np.asarray([START + 90]), 95.0)[0]
    assert 60 < stood_min < 210

    def missed(to_min: float, ends: int = START + 90) -> float:
        """Return what is missed where it has so many minutes, were it lifted then."""
        return missed_on(drawn(dish, 60.0), dish, ends, again_with(to_min - stood_min))

    base = missed(119.0)  # in time on nearly every day
    assert base < 0.01
    for to_min in (119.0, 126.0, 180.0, 234.0, 241.0):
        assert missed(to_min) == pytest.approx(max(base, lost_by_hand(to_min)), abs=5e-3)
    assert missed(stood_min, ONE) < 0.01  # left in until it is eaten, it does not stand


def test_what_is_held_past_fresh_and_lukewarm_too_loses_by_both() -> None:
    """Half of its holding is an eighth, 150 minutes of 240 a quarter."""
    dish = stew(serve_hot=False, hazardous=True, fresh_min=60, holding_max_min=180)

    found = missed_on(drawn(dish, 60.0), dish, ONE, again_with(120.0))

    assert found == pytest.approx(0.375, abs=1e-3)


def test_from_an_oven_twenty_degrees_too_cool_a_loaf_is_a_twentieth_missed() -> None:
    loaf = stew(needs_body_c=150.0, fresh_min=180)

    for oven_c, missed in ((150.0, 0.0), (130.0, 0.05), (110.0, 0.1), (160.0, 0.0)):
        found = missed_on(drawn(loaf, 60.0, oven_c=oven_c), loaf, None)
        assert found == pytest.approx(missed, abs=1e-6)


def test_heat_ends_when_a_load_leaves_its_last_cooker_that_heats() -> None:
    lift, off = START + 90, START + 120

    assert heat_ends(load(), lift, None) == lift
    assert heat_ends(load(), lift, Second(RING, off)) == off
    assert heat_ends(load(), lift, Second(HAY, off)) is None  # it cooks on by its own heat
    assert heat_ends(load(stew(done="melt", core_c=60.0)), lift, None) is None


def test_costs_add_up_over_the_pots_and_count_from_when_each_has_rested() -> None:
    """Done 35 and 70 minutes before it is served, with 15 minutes of rest: 20 and 55 to spare."""
    event = changed(EVENT, wanted_margin_min=30)
    dish = changed(stew(fresh_min=10, holding_max_min=180), rest_min=15)
    two = in_cooker(BOX, dish, dish, done_min=(145.0, 110.0))
    never = np.full((2, 4, 1), np.inf)

    costs = costs_of(
        day(event), replace(two, durations=replace(two.durations, draws_min=never)), ONE
    )

    assert costs == Costs(missed=2 * round(1 / 0.03), short=10, stale=10 + 45)


# --- when it is lifted


def lifts(day: Day, one: TimedLoad) -> list[str]:
    """Return the lifts that are offered, each with its second cooker."""
    found = [c.column for c in candidates_of(day, one.batches, one.durations)]
    return [f"{clock(o.lift_slot * 5)} {o.then_cooker_id or ''}".strip() for o in found]


@pytest.mark.parametrize(
    ("cautious_min", "slowest_min", "early"),
    [
        (80.0, 78.0, [80]),  # nearly all days and seven minutes: 85, not ten later than 80
        (80.0, 79.0, [80, 90]),
        (181.0, 190.0, [60]),  # too late: when it is expected, for others' sake
    ],
)
def test_it_may_leave_when_done_on_slower_days_or_on_nearly_all(
    cautious_min: float, slowest_min: float, early: list[int]
) -> None:
    one = load(cautious_min=cautious_min)
    days = np.asarray([60.0] * 18 + [slowest_min] * 2)[None, :, None]
    one = replace(one, durations=replace(one.durations, draws_min=days))

    assert next(columns._early_lifts([one])) == [START + m for m in early]
    melts = load(stew(done="melt", core_c=60.0), cautious_min=80.0)
    assert next(columns._early_lifts([melts])) == [START + 60]


def test_what_would_burn_is_never_left_in() -> None:
    assert lifts(day(), in_cooker(MIRROR, stew(done="melt", core_c=60.0, serve_hot=False))) == [
        "10:00"
    ]


@pytest.mark.parametrize(
    ("cooker", "core_c", "serve_end", "offered"),
    [
        (BOX, 95.0, ONE, ["12:00", "10:00 hay", "10:10 hay"]),
        (MIRROR, 95.0, ONE, ["12:00", "10:00 hay", "10:10 hay"]),
        (BOX, 95.0, NOON + 240, ["16:00", "10:00 hay", "10:10 hay"]),  # served out of it
        (MIRROR, 95.0, NOON + 240, ["10:00 hay", "10:10 hay"]),  # nobody is served out of a mirror
        (BOX, 64.0, ONE, []),  # under 65 °C nowhere
        (RING, 95.0, ONE, ["12:00"]),  # a flame is no sun: nothing is won by a hay box
    ],
)
def test_a_load_stays_or_leaves_where_it_is_hot_to_its_last_plate(
    cooker: Cooker, core_c: float, serve_end: int, offered: list[str]
) -> None:
    snug = changed(EVENT, cookers=tuple(c if c.id != "hay" else SNUG for c in EVENT.cookers))

    assert lifts(day(snug), in_cooker(cooker, core_c=core_c, serve_end=serve_end)) == offered


SNUG = changed(HAY, loss_w_k=0.2)


def windy(*hours: tuple[str, float]) -> Event:
    rows = tuple(WeatherHour(start=time.fromisoformat(at), wind_m_s=w) for at, w in hours)
    return changed(EVENT, weather=Weather(hours=rows))


@pytest.mark.parametrize(
    ("gust", "lull", "stands"),
    [
        ("10:59", "11:01", False),
        ("11:00", "11:30", True),  # it is lifted before the wind comes
        ("08:31", "08:32", False),  # it stood on the sun empty by then
        ("08:00", "08:30", True),
    ],
)
def test_a_cooker_with_a_wind_limit_is_not_out_in_more_wind(
    gust: str, lull: str, stands: bool
) -> None:
    box = changed(BOX, wind_limit_m_s=6.0)
    one = in_cooker(box, preheat_min=30)
    blows = windy(("06:00", 6.0), (gust, 6.1), (lull, 6.0))

    assert bool([*columns._columns(day(blows), [columns._Way(one, 11 * 60)])]) == stands
    calm = windy(("06:00", 6.0))
    assert [*columns._columns(day(calm), [columns._Way(one, 11 * 60)])]


def test_no_load_stays_beyond_the_hour_at_which_its_cooker_closes() -> None:
    one = in_cooker(changed(BOX, closes=time(11)))

    assert [*columns._columns(day(), [columns._Way(one, 11 * 60)])]
    assert not [*columns._columns(day(), [columns._Way(one, 11 * 60 + 5)])]


# --- the column


def column(one: TimedLoad, lift: int = NOON, **more: object) -> Column:
    return make_column(day(), one, lift=lift, costs=Costs(missed=3), **more)  # type: ignore[arg-type]


def test_a_pot_is_taken_until_it_is_washed_after_it_was_served() -> None:
    slow, quick = (changed(EVENT.pot("small"), wash_min=m) for m in (41, 15))

    for pots in ((slow, quick), (quick, slow)):
        two = in_cooker(BOX, stew(), stew(), done_min=(60.0, 60.0), pots=pots)
        assert column(two).pots_busy == (START // 5, (NOON + 45) // 5)


def test_a_cooker_is_taken_from_when_it_stands_empty_and_the_second_until_its_pot_leaves() -> None:
    one = in_cooker(BOX, preheat_min=28)
    assert column(one).occupies == ((START - 30) // 5, NOON // 5)
    assert column(one).then_occupies is None
    assert column(in_cooker(RING, preheat_min=28)).occupies[0] == START // 5  # a flame is hot

    moved = column(one, START + 90, second=Second(HAY, ONE))
    assert moved.then_occupies == ((START + 90) // 5, ONE // 5)
    assert (moved.route, moved.gas_min) == ("sun+insulated", 0)


def test_gas_is_counted_for_every_pot_and_costs_its_price() -> None:
    """An hour of gas costs a tenth of a dish as usual: round(0.1 / 0.03) steps, three."""
    two = in_cooker(RING, stew(), stew(), done_min=(60.0, 60.0))
    assert column(two, START + 60).gas_min == 120
    assert column(two, START + 60).missed == 3 + round(2 * EVENT.gas_price_dishes_h / 0.03)

    then = column(in_cooker(MIRROR), START + 60, second=Second(RING, START + 105))
    assert (then.route, then.gas_min) == ("sun+burner", 45)
    assert column(in_cooker(MIRROR), START + 60).gas_min == 0


@pytest.mark.parametrize(("cooker", "watched"), [(MIRROR, "yard"), (BOX, None), (RING, None)])
def test_a_mirror_is_watched_whoever_may_work_it(cooker: Cooker, watched: str | None) -> None:
    for trained in (True, False):
        assert column(in_cooker(changed(cooker, trained=trained))).watched == watched


@pytest.mark.parametrize(
    ("ready", "serve", "serve_end", "off"),
    [
        (NOON - 20, NOON, NOON + 5, NOON - 20),
        (NOON - 60, NOON, NOON + 20, NOON),
        (NOON - 60, NOON, NOON + 120, NOON + 120),
    ],
)
def test_a_pot_leaves_its_ring_at_the_first_moment_from_which_it_is_hot_to_its_last_plate(
    ready: int, serve: int, serve_end: int, off: int
) -> None:
    """From 75 °C three kilograms in the open are at 65 °C within the hour, not in half of it."""
    one = load(serve_end=serve_end)
    assert one.serve == serve

    assert ring_off(day(), one, ready) == off


@pytest.mark.parametrize(("coldest_c", "offered"), [(65.0, True), (64.9, False)])
def test_a_pot_goes_to_the_hay_box_only_where_it_stays_two_degrees_over_the_rule(
    coldest_c: float, offered: bool
) -> None:
    one = in_cooker(MIRROR)
    moved = TwoStageLoad(
        serve=NOON,
        first=one.durations,
        durations=one.durations,
        second=HAY,
        lift=np.asarray([START + 30]),
        off=np.asarray([NOON]),
        coldest_c=np.asarray([coldest_c]),
    )
    batches: tuple[Batch, ...] = one.batches

    found = [*two_stage_candidates(day(), batches, moved)]

    assert bool(found) == offered
    assert all(c.column.then_occupies == ((START + 30) // 5, ONE // 5) for c in found)
