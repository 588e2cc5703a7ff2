"""Chances, rescues, gas days, improvements and the year agree with the plan and with sense."""

from __future__ import annotations

from datetime import timedelta

import pytest

from events.model import Event
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from events.table import changed
from solver.plan import Plan
from solver.planning.pipeline import make_plan
from solver.risk.gas import gas_day
from solver.risk.monte_carlo import simulate
from solver.simulation.day import make_day
from tests.conftest import PLANNED_SAMPLES, replaced, sample_event, sample_plan

HARVEST = sample_text("harvest-lunch")


@pytest.mark.parametrize("name", PLANNED_SAMPLES)
def test_a_whole_meal_is_never_likelier_than_its_weakest_dish(name: str) -> None:
    event, plan = sample_event(name), sample_plan(name)
    assert plan.risk is not None
    chance = {c.dish_id: c.of_100 for c in plan.risk.dishes}

    for meal in plan.risk.meals:
        mine = [chance[d.id] for d in event.dishes if d.meal == meal.meal_id and d.id in chance]
        assert meal.of_100 <= min(mine)
    assert all(c % 5 == 0 and 0 <= c <= 95 for c in chance.values())


@pytest.mark.slow
def test_without_a_forecast_no_chance_is_shown(harvest: Event) -> None:
    plan = make_plan(changed(harvest, weather=type(harvest.weather)()))

    assert plan.risk is None


def test_a_cloudier_forecast_makes_the_same_plan_less_likely(
    harvest: Event, harvest_plan: Plan
) -> None:
    cloudy = read_event(
        replaced(
            HARVEST, ("cloud_pct = 10", "cloud_pct = 50"), ("cloud_pct = 15", "cloud_pct = 60")
        )
    )

    bright, dim = (
        simulate(make_day(harvest), harvest_plan),
        simulate(make_day(cloudy), harvest_plan),
    )

    assert dim.dishes_on_time < bright.dishes_on_time - 1


def test_a_weaker_band_and_more_to_spare_are_likelier(harvest: Event, harvest_plan: Plan) -> None:
    measured = tuple(changed(c, strength_band_fraction=0.05) for c in harvest.cookers)
    sure = changed(harvest, cookers=measured)

    assert (
        simulate(make_day(sure), harvest_plan).dishes_on_time
        > simulate(make_day(harvest), harvest_plan).dishes_on_time
    )


def test_other_seeds_tell_about_the_same(harvest: Event, harvest_plan: Plan) -> None:
    day = make_day(harvest)
    told = [simulate(day, harvest_plan, seed=s).dishes_on_time for s in range(6)]

    assert max(told) - min(told) < 0.5


def test_a_rescue_is_in_time_and_no_later_than_lifting(harvest: Event, harvest_plan: Plan) -> None:
    placed = {p.id: p for p in harvest_plan.placements}

    assert harvest_plan.rescues
    for r in harvest_plan.rescues:
        p = placed[r.placement_id]
        assert p.loaded_at < r.at <= p.lifted_at
        assert r.at + timedelta(minutes=r.ring_min) <= p.served_at
        dish = next(d for d in harvest.dishes if d.id == p.dish_id)
        assert "burner" in dish.kinds


@pytest.mark.parametrize("name", PLANNED_SAMPLES)
def test_on_a_poor_day_no_ring_is_promised_twice(name: str) -> None:
    event, plan = sample_event(name), sample_plan(name)
    rings = {c.id: c for c in event.cookers if c.kind == "burner"}
    for ring in rings.values():
        spans = [(p.loaded_at, p.lifted_at) for p in plan.placements if p.cooker_id == ring.id]
        spans += [
            (p.lifted_at, p.off_at or p.served_at)
            for p in plan.placements
            if p.then_cooker_id == ring.id
        ]
        spans += [
            (r.at, r.at + timedelta(minutes=r.ring_min))
            for r in plan.rescues
            if r.ring_id == ring.id
        ]
        assert all(sum(a <= at < b for a, b in spans) <= ring.pots_max for at, _ in spans)
    assert all(r.ring_id in rings for r in plan.rescues)


def test_gas_for_water_is_its_heat_over_the_rings_efficiency(harvest: Event) -> None:
    # 4 kg of water and its pot from 18 °C to the boil and a minute there, 1125 W into the pot.
    tea = tuple(d for d in harvest.dishes if d.id == "tea")

    told = gas_day(make_day(changed(harvest, dishes=tea)))

    ideal_kg = 4.0 * 4186 * 81 / 0.45 / 46e6
    assert told.rings == 1
    assert ideal_kg < told.gas_kg < 1.4 * ideal_kg
