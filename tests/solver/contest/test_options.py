"""When an entry can be tasted, from estimates made by hand: each rule from both of its sides.

Its cooker is loaded at nine, tasting is from noon to one, ten minutes each, three hours to cook.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from types import SimpleNamespace

import numpy as np
import pytest

from events.contest import Contest
from events.kitchen import Break, Dish
from events.table import changed
from solver.contest import options
from solver.contest.options import (
    Before,
    Option,
    cooking_from,
    grid,
    in_steps,
    told_of_100,
    unsure_steps,
)
from solver.simulation.holding import standing_c
from solver.simulation.query import DurationEstimate
from tests.solver.checking import hand_laid
from tests.solver.checking.hand_laid_contest import COOK_OFF
from tests.solver.scheduling.test_timed_load import (
    NOON,
    POT,
    START,
    STEPS_A_MIN,
    day,
    estimate,
    stew,
)

SPAN = 10
RULES = Contest(
    minutes=SPAN, start=time(12), end=time(13), cook_min=180, held_max_min=60, stations=()
)
ENTRY = COOK_OFF.entries[0]


def found(
    some: DurationEstimate,
    *times: int,
    before: Before | None = None,
    **rules: object,
) -> list[Option]:
    contest = changed(RULES, **rules)
    return list(options._all(day(), some, contest, list(times or (NOON,)), SPAN, before))


def comes(done_min: float = 150.0, dish: Dish | None = None, **values: object) -> bool:
    """Return whether what is loaded at nine, done so much later, can be tasted at noon."""
    some = estimate(dish or stew(), done_min=(done_min,), **values)  # type: ignore[arg-type]
    return bool(found(some))


# --- the grid


@pytest.mark.parametrize(
    ("span", "breaks", "first", "last", "count"),
    [
        (10, (), NOON, NOON + 50, 6),
        (30, (), NOON, NOON + 30, 4),  # a walk of three parties ends at one
        (10, (Break(at=time(12, 20), minutes=10),), NOON, NOON + 50, 5),
        (20, (Break(at=time(12, 20), minutes=10),), NOON, NOON + 40, 3),
        (10, (Break(at=time(12), minutes=10), Break(at=time(12, 50), minutes=10)), 730, 760, 4),
    ],
)
def test_tastings_begin_on_the_grid_and_end_before_a_break_and_the_end(
    span: int, breaks: tuple[Break, ...], first: int, last: int, count: int
) -> None:
    times = grid(day(), changed(RULES, closed=breaks), span)

    assert (times[0], times[-1], len(times)) == (first, last, count)
    assert all(t % 10 == 0 for t in times)


# --- ready, not too soon, and not held too long


def test_it_is_ready_when_it_is_tasted_and_held_no_longer_than_the_rule() -> None:
    """Held counts to the tasting's end; ready is told in whole slots."""
    assert comes(180.0)
    assert not comes(180.1)
    assert comes(130.0)
    assert not comes(125.0)
    assert not comes(np.inf)
    (one,) = found(estimate(stew(), done_min=(133.0,)))
    assert (one.at, one.load, one.ready, one.held_min) == (NOON, START, START + 135, 55)


def test_its_preheating_and_its_minutes_on_a_poor_day_are_told_in_whole_slots() -> None:
    some = estimate(stew(), done_min=(150.0,), cautious_min=161.0)
    warm = replace(some, query=replace(some.query, load=replace(some.query.load, preheat_min=12)))

    (one,) = found(warm)
    assert (one.preheat_min, one.cautious) == (15, START + 165)
    (never,) = found(estimate(stew(), done_min=(150.0,), cautious_min=np.inf))
    assert (never.preheat_min, never.cautious) == (0, None)


def test_nothing_is_loaded_before_its_time() -> None:
    some = estimate(stew(), done_min=(150.0,))

    assert [o.cook_from for o in found(some)] == [START]
    assert found(some, cook_min=175) == []
    assert [o.at for o in found(some, NOON, NOON + 10)] == [NOON]
    together = found(some, NOON, NOON + 10, together_at=time(8, 30))
    assert [(o.at, o.cook_from) for o in together] == [(NOON, 510), (NOON + 10, 510)]
    assert cooking_from(day(), RULES, 900) == 720


def test_each_start_has_its_own_minutes() -> None:
    some = estimate(stew(), starts=(START, START + 20, START + 40))
    some.expected_min[0] = [200.0, 130.0, 140.0]

    assert [(o.load, o.ready) for o in found(some)] == [(START + 20, 690), (START + 40, 720)]


# --- safe and hot


@pytest.mark.parametrize(
    ("values", "clock_min", "safe"),
    [
        ({}, 240.0, True),
        ({}, 240.1, False),
        ({"hazardous": False}, 999.0, True),
        ({"serve_hot": False}, 200.0, True),  # 40 minutes held come on top
        ({"serve_hot": False}, 200.1, False),
        ({"serve_hot": False, "hazardous": False}, 999.0, True),
    ],
)
def test_it_is_between_5_and_60_degrees_no_longer_than_it_may_be(
    values: dict[str, object], clock_min: float, safe: bool
) -> None:
    assert comes(dish=stew(**values), clock_min=clock_min) == safe


def test_its_minutes_between_5_and_60_are_told_to_the_tastings_end() -> None:
    for hot, warm_min in ((True, 31), (False, 71)):
        (one,) = found(estimate(stew(serve_hot=hot), done_min=(150.0,), clock_min=31.4))
        assert one.warm_min == warm_min


@pytest.mark.parametrize(("coldest_c", "hot"), [(65.0, True), (64.99, False), (np.nan, False)])
def test_it_stays_two_degrees_over_hot_holding(
    monkeypatch: pytest.MonkeyPatch, coldest_c: float, hot: bool
) -> None:
    """63 °C here; how warm it stays must be known."""
    monkeypatch.setattr(options, "_coolest_c", lambda *given: coldest_c)

    assert comes() == hot
    assert comes(dish=stew(serve_hot=False)) == (coldest_c > 0)


def test_its_coldest_is_since_it_was_done_in_its_cooker_and_then_in_the_open() -> None:
    """Done after 60 minutes, lifted after 90: colder before or after does not count.

    It stands in the wind of its own hour, which is stronger from noon on.
    """
    cores, windy = {50: 20.0, 90: 80.0, 100: 20.0}, day(hand_laid.EVENT)
    stands = standing_c(
        windy, stew(), 3.0, POT, from_c=80.0, start=START + 190, end=START + 190 + SPAN
    )
    starts = (START, START + 100)

    def coldest(**dip: float) -> float:
        at = {int(minute[1:]): degrees for minute, degrees in dip.items()}
        some = estimate(stew(), starts=starts, core_c={**cores, **at})
        return options._coolest_c(windy, some, 1, 60, 90, SPAN)

    assert stands < 80.0
    assert coldest() == pytest.approx(stands)
    assert coldest(_70=70.0) == 70.0
    assert coldest(_60=70.0) == 70.0


@pytest.mark.parametrize(
    ("first_c", "hazardous", "hot"), [(75.0, True, False), (75.0, False, True), (74.9, True, True)]
)
def test_what_was_hot_through_may_not_cool_before_it_is_done(
    first_c: float, hazardous: bool, hot: bool
) -> None:
    """A cloud from the 50th minute on leaves it at 40 °C; it is done after 150."""
    under_cloud = dict.fromkeys(range(50, 80, 2), 40.0)
    before = dict.fromkeys(range(0, 50, 2), first_c)

    assert comes(dish=stew(hazardous=hazardous), core_c=before | under_cloud) == hot


def test_each_start_has_its_own_minute_from_which_it_stays_hot() -> None:
    """What is loaded ten minutes sooner is hot through at once; the other only when it is done."""
    some = estimate(stew(), starts=(START - 10, START), done_min=(150.0,))
    assert some.core_c is not None
    some.core_c[: round(80 * STEPS_A_MIN), 0, 1] = 40.0

    assert [o.load for o in found(some)] == [START]


def test_its_middle_is_told_every_ten_minutes_and_at_the_tastings_end() -> None:
    """In its cooker for 35 minutes it is 60 °C; then it stands in the open for fifteen."""
    some = estimate(stew(), core_c={0: 20.0, 10: 30.0, 36: 60.0, 40: 99.0})

    told = options._middle_c(day(), some, 0, 36, 15)

    stands = [
        standing_c(day(), stew(), 3.0, POT, from_c=60.0, start=START + 36, end=START + minute)
        for minute in (40, 50, 51)
    ]
    assert told == (20.0, 30.0, 95.0, 95.0, *(round(degrees, 1) for degrees in stands))


# --- how surely


def test_its_chance_is_the_share_of_drawn_days_on_which_it_is_ready_at_its_tasting() -> None:
    some = estimate(stew(), starts=(START - 10, START), done_min=(150.0,))
    draws = np.full((1, 20, 2), 999.0)
    draws[0, :8, 1] = 180.0
    draws[0, 8:12, 1] = 180.5

    (one,) = found(replace(some, draws_min=draws))

    assert (one.load, one.of_100) == (START, 40)


@pytest.mark.parametrize(
    ("share", "told"),
    [(1.0, 95), (0.975, 95), (0.925, 95), (0.924, 90), (0.025, 5), (0.024, 0), (0.0, 0)],
)
def test_a_chance_is_told_to_the_nearest_five_and_nothing_is_certain(
    share: float, told: int
) -> None:
    assert in_steps(share) == told


def test_what_is_unsure_is_counted_in_steps_under_what_is_wanted() -> None:
    """Eighty of a hundred are wanted."""
    assert COOK_OFF.chance_pct == 80
    steps = {of_100: unsure_steps(COOK_OFF, of_100) for of_100 in (95, 80, 79, 75, 74, 0)}
    assert steps == {95: 0, 80: 0, 79: 1, 75: 1, 74: 2, 0: 16}


def test_a_chance_is_told_at_the_tasting_on_days_that_did_not_choose_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[object] = []

    def ran(days: object, cooker: object, load: object, starts: np.ndarray, minutes: int) -> object:
        asked.extend([cooker.id, load, starts.tolist(), minutes])  # type: ignore[attr-defined]
        done = np.zeros((1, 200, minutes), dtype=np.bool_)
        done[0, :120, -1] = True
        return SimpleNamespace(done=done)

    monkeypatch.setattr(options, "drawn_loads", ran)
    (one,) = found(estimate(stew(), done_min=(150.0,)))

    days = SimpleNamespace(day=day())
    assert told_of_100(days, "box", one) == 60  # type: ignore[arg-type]
    assert asked == ["box", one.cooks, [START], 180]


# --- which start


def option(**values: object) -> Option:
    row: dict[str, object] = {
        "at": NOON,
        "cook_from": START,
        "load": START,
        "preheat_min": 0,
        "ready": NOON - 30,
        "cautious": None,
        "of_100": 80,
        "held_min": 40,
        "coolest_c": 80.0,
        "middle_c": (20.0, 90.0, 80.0),
        "warm_min": 60,
        "pot_id": "pot",
        "cooks": None,
    }
    return Option(**(row | values))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        ({"of_100": 80, "held_min": 60}, {"of_100": 75, "held_min": 20}),
        ({"of_100": 80, "held_min": 30}, {"of_100": 95, "held_min": 35}),  # eighty are enough
        ({"held_min": 30, "load": START + 20}, {"held_min": 35}),
        ({"load": START}, {"load": START + 5}),
    ],
)
def test_of_a_times_starts_the_surest_is_taken_then_the_one_held_least_then_the_first(
    monkeypatch: pytest.MonkeyPatch, better: dict[str, object], worse: dict[str, object]
) -> None:
    good, bad = option(**better), option(**worse)
    for some in ([good, bad], [bad, good]):
        assert chosen(monkeypatch, some) == (good,)


def chosen(
    monkeypatch: pytest.MonkeyPatch, some: list[Option], before: Before | None = None
) -> tuple[Option, ...]:
    monkeypatch.setattr(options, "_all", lambda *given: iter(some))
    of = options._of_entry(day(), ENTRY, None, RULES, [NOON], SPAN, before)  # type: ignore[arg-type]
    assert of.refusal is None
    return of.options


def test_times_come_in_order_each_with_its_best(monkeypatch: pytest.MonkeyPatch) -> None:
    late, early = option(at=NOON + 10), option(at=NOON)

    assert chosen(monkeypatch, [late, early]) == (early, late)
