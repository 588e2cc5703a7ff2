"""For the talk: the watts add up, and what is said is what is computed."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from events.model import Event
from solver.plan import Plan
from solver.simulation.day import make_day
from solver.simulation.energy_flow import heat_now

AT = datetime(2026, 11, 28, 9, 0, tzinfo=UTC)


def test_the_watts_of_every_cooker_add_up(harvest: Event, harvest_plan: Plan) -> None:
    day = make_day(harvest)

    for cooker in harvest.cookers:
        now = heat_now(day, cooker, AT, harvest_plan.placements)

        gone = now.food_w + now.steam_w + now.lost_w + now.stored_w
        assert gone == pytest.approx(now.gathered_w, abs=0.3), "each is rounded to a tenth"
        assert now.gathered_w <= now.arrives_w
        assert now.band_fraction == cooker.strength_band_fraction


def test_what_stands_in_a_cooker_is_as_warm_as_the_plan_has_it(
    harvest: Event, harvest_plan: Plan
) -> None:
    day = make_day(harvest)
    for p in (p for p in harvest_plan.placements if not harvest.cooker(p.cooker_id).on_gas):
        point = next(pt for pt in p.curve if p.loaded_at < pt.at < p.lifted_at)

        now = heat_now(day, harvest.cooker(p.cooker_id), point.at, harvest_plan.placements)

        assert p.id in now.placement_ids
        assert now.food_c >= round(point.food_c) - 1
        assert (now.body_c is None) == (point.body_c is None)
        if point.body_c is not None:
            assert now.body_c == round(point.body_c)


def test_a_boiling_pot_gives_steam_and_warms_no_more(harvest: Event, harvest_plan: Plan) -> None:
    day = make_day(harvest)
    boiling = [
        (p, pt.at)
        for p in harvest_plan.placements
        for pt in p.curve
        if p.loaded_at <= pt.at < p.lifted_at and pt.food_c > day.boil_c - 0.4
        if harvest.cooker(p.cooker_id).on_sun
    ]
    p, at = boiling[0]

    now = heat_now(day, harvest.cooker(p.cooker_id), at, harvest_plan.placements)

    assert now.food_w == pytest.approx(0, abs=0.1)
    assert now.steam_w > 0


def test_a_cooker_that_is_empty_then_is_shown_with_warm_water(harvest: Event) -> None:
    day = make_day(harvest)

    for cooker in harvest.cookers:
        now = heat_now(day, cooker, AT, ())

        assert now.placement_ids == ()
        assert now.food_c == 60
        assert now.food_w > 0 or cooker.keeps_heat_only


def test_a_mirror_of_a_metre_and_a_half_boils_some_litres_an_hour(
    harvest: Event, harvest_plan: Plan
) -> None:
    now = heat_now(make_day(harvest), harvest.cookers[0], AT, harvest_plan.placements)

    # 600 W for an hour are 2.2 MJ: 6.4 litres from 20 to 100 °C if nothing were lost.
    assert 3 < now.litres_boiled_h < 7
    assert 5 < now.suns_on_pot < 40


def test_at_night_there_is_no_sun_to_show(harvest: Event, harvest_plan: Plan) -> None:
    night = datetime(2026, 11, 28, 1, 0, tzinfo=UTC)

    now = heat_now(make_day(harvest), harvest.cookers[0], night, harvest_plan.placements)

    assert now.arrives_w == now.gathered_w == now.litres_boiled_h == 0
