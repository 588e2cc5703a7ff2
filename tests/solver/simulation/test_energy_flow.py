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

    for cooker in harvest.cookers[:5]:
        now = heat_now(day, cooker, AT, harvest_plan.placements)

        assert now.food_w + now.steam_w + now.lost_w == pytest.approx(now.taken_w, abs=2)
        assert now.taken_w <= now.gathered_w * 1.3  # a box takes some of the sky's light too
        assert f"{now.gathered_w:.0f} watts" in now.sentence


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

    assert now.taken_w == 0
    assert "No sun" in now.sentence
