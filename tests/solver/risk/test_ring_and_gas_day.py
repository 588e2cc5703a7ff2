"""Pots that a ring would save, and a day that is all on gas."""

from __future__ import annotations

from datetime import timedelta

import pytest

from events.model import Event
from events.reading.event_file import read_event
from events.table import changed
from solver.planning.pipeline import make_plan
from solver.risk import rescue
from solver.risk.gas import gas_day
from solver.risk.rescue import RingUse, rescues
from solver.risk.rescue_draws import flown, savable
from solver.simulation.day import make_day
from tests.conftest import sample_event, sample_plan


@pytest.mark.parametrize("rest_min", [0, 25])
def test_a_rescue_moves_the_pots_that_a_ring_helps_and_leaves_time_to_move_and_rest(
    rest_min: int,
) -> None:
    plan = sample_plan("harvest-lunch")
    rows = tuple(changed(d, rest_min=rest_min) for d in sample_event("harvest-lunch").dishes)
    event = changed(sample_event("harvest-lunch"), dishes=rows)
    day = make_day(event)
    rings = [c for c in event.cookers if c.on_gas]
    found = rescues(day, plan).rescues
    assert found

    draws = {d.pot.placement.id: d for d in flown(day, list(savable(day, plan, rings)), rings[0])}
    for r in found:
        pot = draws[r.placement_id]
        n = pot.minutes.tolist().index((r.at - day.sky.start_at).total_seconds() / 60)
        cold = pot.core_c[n] < r.below_c
        assert cold.any()
        assert pot.on_ring[n, cold].mean() > pot.alone[cold].mean() + rescue.MOVE_COST
        p = pot.pot.placement
        assert r.at + timedelta(minutes=5 + r.ring_min + rest_min) <= p.served_at


def test_pots_that_stay_are_those_that_would_gain_nothing() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    rings = [c for c in event.cookers if c.on_gas]

    for pot in flown(make_day(event), list(savable(make_day(event), plan, rings)), rings[0]):
        for look in rescue._looks(pot):
            n = pot.minutes.tolist().index(look.minute)
            gains = (pot.on_ring[n] - pot.alone - rescue.MOVE_COST)[pot.core_c[n] < look.below_c]
            assert look.gain == pytest.approx(gains.sum() / pot.alone.size)


def test_two_pots_do_not_share_a_ring_at_one_time() -> None:
    """Free is a ring whose uses and this one leave no minute with more pots than it holds."""

    def free(start: int, end: int, pots_max: int = 1) -> bool:
        return rescue._is_free([RingUse(start, end)], RingUse(100, 130), pots_max)

    assert free(40, 100)
    assert not free(40, 101)
    assert free(130, 190)
    assert not free(129, 190)
    assert not free(101, 102)
    assert free(40, 190, pots_max=2)


# --- the gas day

GAS = """
format = 1
title = "Gas"
date = 2026-06-21
[site]
latitude_deg = 40.0
longitude_deg = 0.0
timezone = "UTC"
opens = 06:00:00
closes = 19:00:00
[[cooker]]
id = "ring"
like = "gas-ring"
[[pot]]
id = "pot-5l"
like = "pot-5l"
count = 4
[[meal]]
id = "noon"
from = 12:00:00
until = 13:00:00
portions = 10
[[meal]]
id = "late"
from = 17:00:00
until = 18:00:00
portions = 10
[[dish]]
id = "rice"
like = "rice"
meal = "noon"
portions = 8
[[dish]]
id = "soup"
like = "lentil-soup"
meal = "{meal}"
portions = 8
rest_min = {rest}
[[dish]]
id = "loaf"
like = "herb-loaf"
meal = "noon"
portions = 4
[[helper]]
id = "a"
from = 06:00:00
until = 19:00:00
may = ["mirrors", "burner", "lift"]
"""


def on_gas(meal: str = "noon", rest_min: int = 0) -> Event:
    return read_event(GAS.replace("{meal}", meal).replace("{rest}", str(rest_min)))


def test_a_gas_day_adds_up_its_rings_and_its_gas() -> None:
    at_once, apart = (gas_day(make_day(on_gas(meal))) for meal in ("noon", "late"))

    assert (at_once.rings, apart.rings) == (2, 1)
    assert at_once.not_on_gas == ("loaf",)
    ring_w = on_gas().cooker("ring").power_w or 0.0
    for day in (at_once, apart):
        burnt = sum(s.minutes for s in day.steps) * 60 * ring_w / 46e6
        assert day.gas_kg == pytest.approx(burnt, abs=0.005)
        assert [s.at for s in day.steps] == sorted(s.at for s in day.steps)


def test_on_a_gas_day_a_dish_is_ready_and_rested_for_its_meal() -> None:
    for rest_min in (0, 25):
        event = on_gas(rest_min=rest_min)
        step = next(s for s in gas_day(make_day(event)).steps if s.dish_id == "soup")
        ready = step.at + timedelta(minutes=step.minutes + rest_min)
        assert ready == event.instant(event.meal("noon").start)
        assert make_plan(event) is not None
