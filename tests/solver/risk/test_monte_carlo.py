"""Chances, rescues, gas days, improvements and the year agree with the plan and with sense."""

from __future__ import annotations

from datetime import timedelta

import pytest

from events.model import Event, changed
from events.reading.event_file import read_event, sample_text, write_event
from solver.feasibility.improvements import apply, improvements
from solver.feasibility.season import season
from solver.plan import Plan
from solver.planning.pipeline import make_plan
from solver.risk.gas import gas_day
from solver.risk.monte_carlo import simulate
from solver.simulation.durations import make_day
from tests.conftest import SAMPLES, replaced, sample_event, sample_plan
from tests.scale import grown

HARVEST = sample_text("harvest-lunch")


@pytest.mark.parametrize("name", SAMPLES)
def test_a_whole_meal_is_never_likelier_than_its_weakest_dish(name: str) -> None:
    event, plan = sample_event(name), sample_plan(name)
    assert plan.risk is not None
    chance = {c.dish_id: c.of_100 for c in plan.risk.dishes}

    for meal in plan.risk.meals:
        mine = [chance[d.id] for d in event.dishes if d.meal == meal.meal_id and d.id in chance]
        assert meal.of_100 <= min(mine)
    assert all(c % 5 == 0 and 0 <= c <= 95 for c in chance.values())


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


@pytest.mark.parametrize("name", SAMPLES)
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


def test_what_is_offered_helps_when_it_is_taken() -> None:
    event, plan = sample_event("winter-refusal"), sample_plan("winter-refusal")

    offered = improvements(event, plan)

    assert offered
    for fix in offered[:2]:
        after = apply(event, fix.id)
        assert after is not None
        new = make_plan(after)
        assert fix.dish_id in {p.dish_id for p in new.placements}
        assert len({p.dish_id for p in new.placements}) == fix.placed
    assert apply(event, "soup-nonsense") is None


def test_one_more_cooker_is_offered_where_cookers_are_few() -> None:
    event = grown(6, 2, 2)
    lone = tuple(c for c in event.cookers if c.kind != "burner")
    whole = tuple(changed(d, batches_max=1) for d in event.dishes)
    event = changed(event, cookers=lone, dishes=whole)

    offered = {f.id: f for f in improvements(event, make_plan(event))}

    fix = offered["d0-cooker"]
    after = apply(event, fix.id)
    assert after is not None
    assert len(after.cookers) == 2
    again = apply(after, fix.id)  # the same change once more: another id, a file that is sound
    assert again is not None
    assert read_event(write_event(again)) == again
    assert "d0" in {p.dish_id for p in make_plan(after).placements}


def test_the_year_is_longer_in_summer_and_fair_to_both_hemispheres() -> None:
    north = season(sample_event("winter-refusal"), 2027)
    heard: list[float] = []
    south = season(sample_event("harvest-lunch"), 2027, heard.append)

    june, december = 23, 50
    soup = [w.ready_by["soup"] for w in north.weeks]
    stew = [w.ready_by["bean-stew"] for w in south.weeks]
    assert soup[june] is not None
    assert soup[december] is None or soup[december] > soup[june]
    assert stew[june] is not None
    assert stew[december] is not None
    assert stew[december] < stew[june]
    assert all(w.ready_by["pizza"] is None for w in north.weeks)
    assert heard[-1] == 1.0
