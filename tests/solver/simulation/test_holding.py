"""How warm a pot stays off the heat, against Newton's law by hand."""

from __future__ import annotations

import math
from datetime import time

import numpy as np
import pytest

from events.model import Dish, Event, Pot
from events.site import Weather, WeatherHour
from events.table import changed
from solver.simulation.day import Day, make_day
from solver.simulation.holding import (
    clock_to_plate_min,
    cools_below_after_min,
    hot_holding_c,
    insulated_c,
    standing_c,
    too_long_warm,
)
from solver.thermal import energy_balance as heat
from solver.thermal import food
from tests.conftest import sample_event
from tests.published.runs import cooker_like

POT = Pot(id="p", name="P", litres=4.0)
KG = 3.0


def windy() -> Day:
    """Calm and 20 °C until noon, then 4 m/s and 10 °C."""
    hours = (
        WeatherHour(start=time(6), air_c=20.0, wind_m_s=0.0),
        WeatherHour(start=time(12), air_c=10.0, wind_m_s=4.0),
    )
    return make_day(changed(event(), weather=Weather(hours=hours)))


def event() -> Event:
    return sample_event("harvest-lunch")


def stew() -> Dish:
    return changed(event().dishes[0], serve_hot=True)


def by_hand(from_c: float, air_c: float, exposed_min: float) -> float:
    """8 W/m²K in still air on the sides, lid and floor of a pot as wide as it is tall."""
    across_m = (4 * 0.004 / math.pi) ** (1 / 3)
    watts_k = 8.0 * (math.pi * across_m**2 + 2 * math.pi / 4 * across_m**2)
    joules_k = 1000 * food.cooling_kj_k(stew(), KG)
    return air_c + (from_c - air_c) * math.exp(-watts_k * 60 * exposed_min / joules_k)


def stood(start: str, end: str, from_c: float = 90.0) -> float:
    first, last = (int(c[:2]) * 60 + int(c[3:]) for c in (start, end))
    return standing_c(windy(), stew(), KG, POT, from_c=from_c, start=first, end=last)


def test_a_loaf_cools_as_fast_as_what_did_not_dry() -> None:
    """Steam that left it while it baked keeps nothing warm: in the open, or in a hay box."""
    hay = cooker_like("hay-box")
    loaf = changed(stew(), shape="baked")

    def kept(dish: Dish) -> list[float]:
        asked = (windy(), dish, KG, POT)
        boxed = insulated_c(windy(), hay, dish, KG, POT, from_c=90.0, start=600, end=700)
        return [
            float(standing_c(*asked, from_c=90.0, start=600, end=700)),
            float(cools_below_after_min(*asked, from_c=90.0, start=600, end=900, limit_c=60.0)),
            float(boxed),
        ]

    assert kept(loaf) == kept(stew())


def test_a_standing_pot_cools_by_the_wind_of_each_minute_and_the_coolest_air() -> None:
    """4 m/s count 1 + 0.475 x 4 = 2.9 times."""
    assert stood("10:00", "11:00") == pytest.approx(by_hand(90.0, 20.0, 60), abs=0.05)
    assert stood("13:00", "14:00") == pytest.approx(by_hand(90.0, 10.0, 60 * 2.9), abs=0.05)
    assert stood("11:30", "12:30") == pytest.approx(by_hand(90.0, 10.0, 30 + 30 * 2.9), abs=0.05)
    assert stood("11:00", "11:00") == stood("11:00", "10:00") == 90.0


def test_when_a_pot_is_colder_than_a_limit_is_when_it_stood_so_long() -> None:
    def after_min(from_c: float, limit_c: float, start: int = 600, lasts: int = 110) -> float:
        return cools_below_after_min(
            windy(),
            stew(),
            KG,
            POT,
            from_c=from_c,
            start=start,
            end=start + lasts,
            limit_c=limit_c,
        )

    assert by_hand(90.0, 20.0, after_min(90.0, 63.0)) == pytest.approx(63.0, abs=0.05)
    calm_min, windy_min = after_min(90.0, 63.0), after_min(90.0, 63.0, start=800)
    assert windy_min < calm_min / 2.9
    assert after_min(63.0, 63.0) == after_min(50.0, 63.0) == 0.0
    assert after_min(90.0, 20.0) == after_min(90.0, 15.0) == math.inf
    assert after_min(90.0, 63.0, lasts=math.floor(calm_min)) == math.inf
    assert after_min(90.0, 63.0, lasts=math.ceil(calm_min)) == calm_min


def test_the_clock_counts_what_was_before_and_what_it_stands_under_60() -> None:
    """By hand: 40 minutes before, and of those that it stands the ones after it passed 60 °C."""
    day, start, end = windy(), 600, 700
    over_min = cools_below_after_min(
        day, stew(), KG, POT, from_c=70.0, start=start, end=end, limit_c=60.0
    )
    assert 0 < over_min < 100

    clock = clock_to_plate_min(
        day,
        stew(),
        KG,
        POT,
        before_min=np.array([40.0, 40.0, 0.0]),
        from_c=np.array([70.0, 55.0, 20.0]),
        lift=start,
        last_plate=end,
    )

    assert by_hand(70.0, 20.0, over_min) == pytest.approx(60.0, abs=0.05)
    assert clock.tolist() == pytest.approx([40 + 100 - over_min, 140.0, 100.0])
    never = clock_to_plate_min(
        day, stew(), KG, POT, before_min=7.0, from_c=95.0, lift=start, last_plate=start
    )
    assert never == 7.0


@pytest.mark.parametrize(
    ("values", "minutes", "spare", "too_long"),
    [
        ({}, 240.0, 0.0, False),
        ({}, 240.1, 0.0, True),
        ({}, 235.1, 5.0, True),
        ({"hazardous": False}, 999.0, 0.0, False),
    ],
)
def test_only_what_can_spoil_is_too_long_warm(
    values: dict[str, object], minutes: float, spare: float, too_long: bool
) -> None:
    dish = changed(stew(), **values)

    assert bool(too_long_warm(windy(), dish, np.array(minutes), spare_min=spare)) is too_long


def test_a_wind_that_gets_up_while_a_pot_stands_cools_it_sooner() -> None:
    """Lifted in still air at 11:30; at noon it begins to blow with 4 m/s and 10 °C."""
    took_min = cools_below_after_min(
        windy(), stew(), KG, POT, from_c=90.0, start=690, end=1000, limit_c=60.0
    )

    assert took_min > 30
    exposed_min = 30 + 2.9 * (took_min - 30)
    assert by_hand(90.0, 10.0, exposed_min) == pytest.approx(60.0, abs=0.05)


def test_only_what_is_served_hot_has_a_holding_limit() -> None:
    day = windy()

    assert hot_holding_c(day, stew()) == 63.0
    assert hot_holding_c(day, changed(stew(), serve_hot=False)) == -math.inf
    loose = make_day(changed(event(), site=changed(event().site, food_rules="US")))
    assert hot_holding_c(loose, stew()) == 57.0


def test_an_insulated_box_keeps_a_pot_warmer_than_the_open_and_cooler_than_it_was() -> None:
    """On its way it stands in the open for five minutes."""
    hay = cooker_like("hay-box")

    def kept(start: int, end: int) -> float:
        return insulated_c(windy(), hay, stew(), KG, POT, from_c=90.0, start=start, end=end)

    moved = by_hand(90.0, 20.0, 5)
    alone = heat.insulated_c(
        hay,
        pot_litres=4.0,
        heat_j_k=1000 * food.cooling_kj_k(stew(), KG),
        from_c=moved,
        air_c=20.0,
        minutes=115,
    )
    assert kept(600, 720) == pytest.approx(alone, abs=0.05)
    assert kept(600, 600) == 90.0
    assert kept(600, 605) == pytest.approx(moved, abs=0.05)
    assert stood("10:00", "12:00") < kept(600, 720) < moved - 1
