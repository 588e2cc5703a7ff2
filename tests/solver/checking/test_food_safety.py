"""Each rule of food safety on a plan laid by hand: what it names, and where exactly it begins."""

from __future__ import annotations

import math
from datetime import datetime, time, timedelta

import pytest

from events.food_rules import rules_of
from events.model import Event
from events.site import Weather, WeatherHour
from events.table import changed
from solver.checking.breach import Breach
from solver.checking.food_rules import (
    FOOD_RULES,
    food_is_safe,
    hot_food_stays_hot,
    served_out_in_its_wave,
    what_cools_in_progress_is_lost,
)
from solver.checking.rules import RULES, check
from solver.plan import CurvePoint, Plan
from tests.solver.checking.damage import edited, event, named, place, plan
from tests.solver.checking.hand_laid import EVENT, PLAN, at, minutes


def test_the_plan_laid_by_hand_breaks_no_rule() -> None:
    assert check(EVENT, PLAN) == []
    assert set(FOOD_RULES) == {
        *(food_is_safe, hot_food_stays_hot),
        *(what_cools_in_progress_is_lost, served_out_in_its_wave),
    }
    assert set(FOOD_RULES) < set(RULES)


def cores(name: str, change: dict[str, float], **values: object) -> Plan:
    """Return the plan with a pot's core at other degrees at some clock times."""
    old = next(p for p in PLAN.placements if p.id == name)
    degrees = {at(clock): core_c for clock, core_c in change.items()}
    rows = tuple(changed(q, core_c=degrees.get(q.at, q.core_c)) for q in old.curve)
    return plan("placements", name, curve=rows, **values)


# --- the clock between 5 and 60 °C


@pytest.mark.parametrize("limited", [240, 120])
def test_food_may_not_be_warm_longer_than_its_clock(limited: int) -> None:
    others = changed(EVENT, vulnerable_guests=limited == 120)

    just = plan("placements", "rice-1", between_5_and_60_min=limited)
    over = plan("placements", "rice-1", between_5_and_60_min=limited + 1)

    assert named(food_is_safe, just, others) == []
    assert named(food_is_safe, over, others) == [
        Breach("too-long-between-5-and-60", ("rice-1",), limited + 1, limited)
    ]


def test_food_that_nothing_grows_in_has_no_clock() -> None:
    assert named(food_is_safe, plan("placements", "tea-1", between_5_and_60_min=999)) == []


def test_the_clock_counts_what_a_pot_spent_before_and_what_it_was_out() -> None:
    """Rice climbs from 20 to 95 °C in 90 min: five of its spans of 10 min are under 60 °C."""
    on_curve = 50
    spare = 2 * 10  # a curve's grain, at both ends

    def spent(spent_min: int, out_min: int | None) -> list[Breach]:
        row = plan("placements", "rice-1", spent_min=spent_min)
        return named(food_is_safe, row, event("dishes", "rice", out_min=out_min))

    limit = 240 + spare - on_curve
    assert spent(limit, None) == []
    assert spent(limit - 100, 100) == []
    assert [b.value for b in spent(limit + 1, None)] == [240 + spare + 1]
    assert [b.value for b in spent(limit - 100, 101)] == [240 + spare + 1]


@pytest.mark.parametrize(
    ("core_c", "counts"), [(4.0, False), (6.0, True), (59.0, True), (61.0, False)]
)
def test_the_clock_runs_between_5_and_60_degrees(core_c: float, counts: bool) -> None:
    row = next(p for p in PLAN.placements if p.id == "rice-1")
    flat = tuple(changed(q, core_c=core_c) for q in row.curve)
    whole = round((flat[-1].at - flat[0].at) / minutes(1))
    spent = 240 + 20 - whole + 1

    found = named(food_is_safe, plan("placements", "rice-1", curve=flat, spent_min=spent))

    assert bool(found) == counts


def test_between_two_points_of_a_curve_their_middle_counts() -> None:
    """From 59 to 63 °C it is over 60 on the mean, from 57 to 61 it is not."""
    row = next(p for p in PLAN.placements if p.id == "rice-1")
    whole = round((row.curve[-1].at - row.curve[0].at) / minutes(1))
    for pair, counts in (((59.0, 63.0), False), ((57.0, 61.0), True)):
        zigzag = tuple(changed(q, core_c=pair[n % 2]) for n, q in enumerate(row.curve))
        spent = 240 + 20 - whole + 1
        found = named(food_is_safe, plan("placements", "rice-1", curve=zigzag, spent_min=spent))
        assert bool(found) == counts


def test_what_has_begun_can_be_judged_no_more() -> None:
    warm = plan("placements", "rice-1", between_5_and_60_min=300)

    assert named(food_is_safe, warm)
    assert named(food_is_safe, changed(warm, started_ids=("rice-1",))) == []


# --- kidney beans


def beans(altitude_m: float = 0.0, **values: object) -> Event:
    site = changed(EVENT.site, altitude_m=altitude_m)
    dish = {"kidney_beans": "raw", "done": "boil", "core_c": None, "hold_min": 30, **values}
    return changed(event("dishes", "rice", **dish), site=site)


def test_raw_kidney_beans_are_boiled_for_thirty_minutes_where_water_is_hot_enough() -> None:
    assert named(food_is_safe, event=beans()) == []
    assert named(food_is_safe, event=beans(1490.0)) == []
    short = named(food_is_safe, event=beans(hold_min=29))
    assert short == [Breach("kidney-beans-not-boiled", ("rice-1",), 29, 30)]
    simmered = named(food_is_safe, event=beans(done="core", core_c=80.0))
    assert [b.rule for b in simmered] == ["kidney-beans-not-boiled"]
    high = named(food_is_safe, event=beans(1491.0))
    assert high == [Breach("boil-too-cool-for-beans", ("rice-1",), 1491.0, 1490.0)]


@pytest.mark.parametrize("kind", ["no", "boiled", None])
def test_other_beans_need_no_boil(kind: str | None) -> None:
    assert named(food_is_safe, event=beans(3000.0, kidney_beans=kind, hold_min=0)) == []


# --- hot food


@pytest.mark.parametrize("rules", ["strictest", "US", "AU"])
def test_a_middle_under_hot_holding_is_named(rules: str) -> None:
    others = changed(EVENT, site=changed(EVENT.site, food_rules=rules))
    limit = rules_of(others).hot_holding_c

    assert named(hot_food_stays_hot, cores("stew-1", {"12:30": limit - 0.1}), others) == []
    found = named(hot_food_stays_hot, cores("stew-1", {"12:30": limit - 0.11}), others)
    assert found == [Breach("hot-food-goes-cold", ("stew-1",), limit - 0.11, limit)]


def test_it_is_judged_from_done_to_the_last_plate_both_included() -> None:
    def rules(name: str, change: dict[str, float]) -> list[str]:
        return [b.rule for b in named(hot_food_stays_hot, cores(name, change))]

    assert rules("stew-1", {"09:50": 30.0}) == []  # it was not done yet
    assert rules("stew-1", {"10:00": 30.0}) == ["cooled-and-warmed-again"]
    assert set(rules("stew-1", {"12:30": 30.0})) == {"hot-food-goes-cold"}


def test_what_cools_and_is_warmed_again_is_its_own_breach() -> None:
    again = cores("stew-1", {"10:30": 40.0, "10:40": 62.9, "10:50": 63.0})
    later = tuple(
        changed(q, core_c=62.9) if q.at > at("10:50") else q for q in again.placements[0].curve
    )

    assert [b.rule for b in named(hot_food_stays_hot, again)] == ["cooled-and-warmed-again"]
    found = named(hot_food_stays_hot, plan("placements", "stew-1", again, curve=later))
    assert [(b.rule, b.value) for b in found] == [("cooled-and-warmed-again", 40.0)]
    never = tuple(changed(q, core_c=min(q.core_c, 62.9)) for q in later)
    found = named(hot_food_stays_hot, plan("placements", "stew-1", again, curve=never))
    assert (found[0].rule, found[0].value) == ("hot-food-goes-cold", 40.0)


def test_what_was_hot_through_may_not_cool_and_be_warmed_again() -> None:
    """The stew is done at ten; hot through before, it is judged from then on."""

    def rules(*dips: tuple[str, float], **dish: object) -> list[str]:
        of_event = event("dishes", "stew", **dish)
        return [b.rule for b in named(hot_food_stays_hot, cores("stew-1", dict(dips)), of_event)]

    cloud = ("09:30", 75.1), ("09:40", 40.0)
    assert rules(*cloud) == ["cooled-and-warmed-again"]
    assert rules(("09:30", 75.0), ("09:40", 40.0)) == []  # a curve is rounded
    assert rules(("09:30", 75.1), ("09:40", 62.9)) == []
    assert rules(*cloud, hazardous=False) == []
    assert rules(*cloud, serve_hot=False) == []
    assert rules(*cloud, core_c=75.1) == []
    assert rules(("09:30", 82.0), ("09:40", 40.0), done="reheat", core_c=None) == []
    assert rules(("09:30", 82.1), ("09:40", 40.0), done="reheat", core_c=None) != []


@pytest.mark.parametrize(
    ("dips", "values", "lost"),
    [
        ((("09:30", 75.1), ("09:40", 40.0)), {}, True),  # it is half past nine
        ((("09:30", 75.0), ("09:40", 40.0)), {}, False),  # a curve is rounded
        ((("09:30", 75.1), ("09:40", 62.9)), {}, False),
        ((("09:30", 75.1), ("09:40", 62.8)), {}, True),
        ((("09:20", 75.1), ("09:40", 40.0)), {}, False),  # what it was, a probe says
        ((("09:30", 75.1), ("09:40", 40.0)), {"hazardous": False}, False),
        ((("09:30", 75.1), ("09:40", 40.0)), {"serve_hot": False}, False),
        ((("09:50", 75.1), ("10:00", 40.0)), {}, True),
        ((("09:50", 75.0), ("10:00", 40.0)), {}, False),
        ((("09:50", 75.0), ("10:00", 95.0), ("10:10", 40.0)), {}, False),  # it is done
    ],
)
def test_what_is_on_the_sun_hot_through_and_cools_before_it_is_done_is_missed(
    dips: tuple[tuple[str, float], ...], values: dict[str, object], lost: bool
) -> None:
    """The stew is loaded at nine, done at ten; the day is planned again at half past nine."""
    cool = cores("stew-1", dict(dips))
    days = event("dishes", "stew", **values)

    def said(old: Plan, *started: str) -> list[str]:
        row = changed(old, replanned_at=at("09:30"), started_ids=started)
        return [b.rule for b in named(what_cools_in_progress_is_lost, row, days)]

    assert said(cool, "stew-1") == (["cooled-but-not-missed"] if lost else [])
    assert said(cool) == []
    assert said(place("stew-1", cool, missed_fraction=1.0), "stew-1") == []
    assert named(what_cools_in_progress_is_lost, cool, days) == []


def test_what_is_served_cold_need_not_be_hot() -> None:
    assert named(hot_food_stays_hot, cores("bread-1", {"10:00": 20.0})) == []
    cold = named(
        hot_food_stays_hot,
        cores("stew-1", {"12:30": 20.0}),
        event("dishes", "stew", serve_hot=False),
    )
    assert cold == []


def test_a_curve_that_ends_before_the_last_plate_proves_nothing() -> None:
    short = plan("placements", "rice-1", curve=PLAN.placements[2].curve[:-1])
    none_after = plan("placements", "rice-1", curve=PLAN.placements[2].curve[:3])

    for row, until in ((short, "12:50"), (none_after, "09:50")):
        found = named(hot_food_stays_hot, row)
        assert found == [Breach("curve-ends-too-soon", ("rice-1",), at(until), at("13:00"))]


def test_what_follows_the_last_plate_does_not_count_nor_stand_for_it() -> None:
    stew, rice = PLAN.placements[0], PLAN.placements[2]
    after = CurvePoint(at=at("13:10"), food_c=20.0, core_c=20.0, body_c=None)

    whole = plan("placements", "stew-1", curve=(*stew.curve, after))
    gap = plan("placements", "rice-1", curve=(*rice.curve[:3], after))

    assert named(hot_food_stays_hot, whole) == []
    assert [b.rule for b in named(hot_food_stays_hot, gap)] == ["curve-ends-too-soon"]


def cooled_by_hand(*hours: tuple[int, float, float], from_c: float = 95.0) -> float:
    """Return the end of 4 kg of rice in a lidded pot of 4 l after (minutes, wind, air) each."""
    across_m = (4 * 0.004 / math.pi) ** (1 / 3)
    surface_m2 = math.pi * across_m * across_m + 2 * math.pi * across_m**2 / 4
    joules_k = 4000 * (0.84 + 3.35 * 0.8)
    for stands_min, wind_m_s, air_c in hours:
        watts_k = 8.0 * surface_m2 * (1 + 0.475 * wind_m_s)
        from_c = air_c + (from_c - air_c) * math.exp(-watts_k / joules_k * 60 * stands_min)
    return from_c


def standing(lifted: str, **values: object) -> tuple[Plan, float]:
    """Return rice lifted early whose plan says that it stays hot, and what our own law says."""
    row = plan("placements", "rice-1", lifted_at=at(lifted), **values)
    found = [b for b in named(hot_food_stays_hot, row) if b.ids == ("rice-1",)]
    return row, float(str(found[0].value)) if found else math.inf


def test_a_plans_own_curve_is_not_believed_for_a_pot_that_stands() -> None:
    """From noon the wind is 4 m/s and the air 25 °C."""
    _, warm = standing("12:40")
    assert warm == math.inf
    _, cold = standing("12:00")
    assert cold == pytest.approx(cooled_by_hand((60, 4.0, 25.0)), abs=0.01)
    assert cold < 60.5


def test_the_law_takes_each_hours_wind_and_air_as_long_as_it_stands_in_it() -> None:
    """Air of 20 °C and 1 m/s before noon, 25 °C and 4 m/s after it; the order of rows is free."""
    _, cold = standing("11:15")
    assert cold == pytest.approx(cooled_by_hand((45, 1.0, 20.0), (60, 4.0, 25.0)), abs=0.01)
    row = plan("placements", "rice-1", lifted_at=at("11:15"))
    mixed = changed(EVENT, weather=Weather(hours=EVENT.weather.hours[::-1]))
    assert named(hot_food_stays_hot, row, mixed) == named(hot_food_stays_hot, row)


def test_a_gust_before_it_stands_or_after_it_was_eaten_cools_nothing() -> None:
    calm, gale = EVENT.weather.hours[0], 25.0
    rows = (
        changed(calm, start=time(9), wind_m_s=gale),
        changed(calm, start=time(12), wind_m_s=1.0),
        changed(calm, start=time(13), wind_m_s=gale),
    )
    windy = changed(EVENT, weather=Weather(hours=rows))

    rice = plan("placements", "rice-1", lifted_at=at("12:00"))

    assert ("rice-1",) not in [b.ids for b in named(hot_food_stays_hot, rice, windy)]


def of_rice(row: Plan, days: Event) -> list[object]:
    return [b.value for b in named(hot_food_stays_hot, row, days) if b.ids == ("rice-1",)]


def test_without_a_forecast_the_usual_weather_is_taken() -> None:
    usual = WeatherHour(start=time(0))
    none = changed(EVENT, weather=Weather())
    row = plan("placements", "rice-1", lifted_at=at("10:30"))

    by_hand = cooled_by_hand(
        (150, usual.wind_m_s, usual.air_c), from_c=row.placements[2].curve[6].core_c
    )

    assert of_rice(row, none) == [pytest.approx(by_hand, abs=0.01)]


def test_the_last_hour_of_a_forecast_holds_on_and_its_first_holds_before() -> None:
    only = Weather(hours=(WeatherHour(start=time(12, 30), air_c=10.0, wind_m_s=6.0),))
    row = plan("placements", "rice-1", lifted_at=at("12:00"))

    by_hand = cooled_by_hand((60, 6.0, 10.0))

    assert of_rice(row, changed(EVENT, weather=only)) == [pytest.approx(by_hand, abs=0.01)]


def test_the_law_may_be_two_and_a_half_degrees_under_the_limit() -> None:
    """It leaves the pot itself out, so it cools a little faster than the replay."""
    for stands_min in range(20, 90):
        lifted = at("13:00") - minutes(stands_min)
        row = plan("placements", "rice-1", lifted_at=lifted)
        before_noon = max(0, stands_min - 60)
        by_hand = cooled_by_hand((before_noon, 1.0, 20.0), (stands_min - before_noon, 4.0, 25.0))
        assert bool(of_rice(row, EVENT)) == (by_hand < 63.0 - 2.5), stands_min
    assert by_hand < 60.5


def test_a_pot_on_a_second_cooker_stands_once_it_leaves_that() -> None:
    long_ago = plan("placements", "stew-2", off_at=at("11:45"))

    assert named(hot_food_stays_hot) == []
    assert [b.ids for b in named(hot_food_stays_hot, long_ago)] == [("stew-2",)]


def test_it_stands_from_what_it_had_when_it_left() -> None:
    """70 °C at 12:30 is too little to stand until one o'clock; 95 °C would do."""
    later = {f"12:{m}": 70.0 for m in (10, 20, 30)} | {"12:40": 95.0, "12:50": 95.0, "13:00": 95.0}

    warm = plan("placements", "rice-1", lifted_at=at("12:30"))
    cold = cores("rice-1", later, lifted_at=at("12:30"))

    assert named(hot_food_stays_hot, warm) == []
    assert [b.rule for b in named(hot_food_stays_hot, cold)] == ["hot-food-goes-cold"]


# --- waves


@pytest.mark.parametrize(
    ("name", "ends"), [("stew-1", "12:30"), ("stew-2", "13:00"), ("rice-1", "13:00")]
)
def test_the_last_plate_is_that_of_its_wave(name: str, ends: str) -> None:
    def said(when: datetime) -> list[Breach]:
        return named(served_out_in_its_wave, plan("placements", name, last_plate_at=when))

    slot = minutes(5)
    assert said(at(ends) - slot + timedelta(seconds=1)) == []
    assert said(at(ends) - slot) == [
        Breach("not-its-last-plate", (name, "lunch"), at(ends) - slot, at(ends))
    ]
    assert [b.rule for b in said(at(ends) + timedelta(seconds=1))] == ["not-its-last-plate"]


def test_where_batches_are_more_than_waves_each_feeds_a_whole_one() -> None:
    """Of three batches for two waves the first two feed the first wave, and so do two of four."""
    ends = {3: ("12:30", "12:30", "13:00"), 4: ("12:30", "12:30", "13:00", "13:00")}
    for batches, clocks in ends.items():
        for batch, clock in enumerate(clocks, 1):
            values = {"batch": batch, "batches": batches, "last_plate_at": at("11:00")}
            row = plan("placements", "stew-1", **values)
            found = [b for b in named(served_out_in_its_wave, row) if b.ids[0] == "stew-1"]
            assert [b.limit for b in found] == [at(clock)], (batches, batch)


def test_one_point_is_enough_for_a_curve_of_food_done_at_its_last_plate() -> None:
    """A pot done the minute it is eaten has one point after done: that one counts."""
    point = CurvePoint(at=at("12:30"), food_c=50.0, core_c=50.0, body_c=None)
    row = plan("placements", "stew-1", done_at=at("12:30"), curve=(point,), off_at=at("12:30"))

    assert [b.rule for b in named(hot_food_stays_hot, row)] == ["hot-food-goes-cold"] * 2


def test_an_edited_event_keeps_the_rest() -> None:
    assert edited(EVENT, "dishes", "rice", portions=3).dish("stew") == EVENT.dish("stew")
