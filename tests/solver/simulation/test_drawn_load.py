"""Loads under drawn days: hands come late, a longer run is never colder, an empty box heats up."""

from __future__ import annotations

import numpy as np

from solver.simulation.day import make_day
from solver.simulation.drawn_load import (
    DRAWS,
    LATE_LOAD_MOST_MIN,
    DrawnDays,
    drawn_empty,
    drawn_loads,
)
from solver.talks.shows import SHOW_WATER_KG, WATER
from solver.thermal.energy_balance import Load
from tests.conftest import sample_event

NINE, TEN = 9 * 60, 10 * 60  # minutes of the school's day


def test_water_is_cold_until_somebody_loads_it_and_boils_later_on() -> None:
    event = sample_event("school-rounds")
    mirror, load = event.cooker("mirror"), Load((WATER,), (SHOW_WATER_KG,), (event.pot("kettle"),))
    days = DrawnDays.of(make_day(event), seed=5)

    ran = drawn_loads(days, mirror, load, np.asarray([NINE, TEN]), 60)

    assert ran.hottest_c.shape == (2, DRAWS, 60)
    cold_min = (ran.hottest_c == WATER.start_c).sum(axis=2) - 1
    assert {*cold_min.ravel().tolist()} == set(range(LATE_LOAD_MOST_MIN + 1))
    assert (cold_min[0] == cold_min[1]).all()  # a day's lateness is the same for each start
    assert (np.diff(ran.steam_kg, axis=2) >= 0).all()
    share = ran.done.mean(axis=1)
    assert share[:, 0].max() == 0
    assert share[1, -1] > 0.9


def test_an_empty_box_gets_hot_in_its_own_time() -> None:
    event = sample_event("school-rounds")
    day, box = make_day(event), event.cooker("box")

    inside_c = drawn_empty(DrawnDays.of(day, seed=5), box, np.asarray([TEN]), 120)[0]

    assert inside_c.shape == (DRAWS, 120)
    assert (inside_c[:, 0] == day.sky.air_c[TEN]).all()
    waits = (inside_c == day.sky.air_c[TEN]).sum(axis=1) - 1
    assert {*waits.tolist()} == set(range(LATE_LOAD_MOST_MIN + 1))
    assert (inside_c[:, -1] >= 100).mean() > 0.5


def test_the_same_seed_draws_the_same_days() -> None:
    event = sample_event("school-rounds")
    day, box = make_day(event), event.cooker("box")
    one, same, other = (
        drawn_empty(DrawnDays.of(day, seed=n), box, np.asarray([TEN]), 30) for n in (5, 5, 6)
    )

    assert (one == same).all()
    assert (one != other).any()
