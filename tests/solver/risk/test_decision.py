"""Go or not, why the plan is as it is, and what can be served now."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from events.model import Event
from events.site import WeatherHour
from events.table import changed
from solver.live.pots import pot_statuses
from solver.live.status import day_status
from solver.plan import DishChance
from solver.planning.pipeline import make_plan
from solver.risk.decision import decide
from tests.conftest import sample_event, sample_plan
from tests.diaries import local, pressed

NAME = "harvest-lunch"


def under(cloud_pct: float) -> Event:
    event = sample_event(NAME)
    hours = tuple(
        WeatherHour.model_validate(h.model_dump() | {"cloud_pct": cloud_pct})
        for h in event.weather.hours
    )
    return changed(event, weather=changed(event.weather, hours=hours))


@pytest.mark.slow
def test_a_clear_day_goes_a_grey_one_is_a_gas_day() -> None:
    event = sample_event(NAME)
    easy, grey = under(0), under(90)
    easy = changed(easy, dishes=tuple(d for d in easy.dishes if d.id in ("bean-stew", "beetroot")))
    plan = make_plan(easy)
    assert plan.risk is not None
    modest = changed(easy, chance_pct=plan.risk.all_of_100)

    assert decide(modest, plan).outcome == "go"
    told = decide(grey, make_plan(grey))
    assert told.outcome == "gas-day"
    assert told.rings >= 1
    assert told.gas_kg > 0
    assert decide(event, make_plan(changed(event, weather=type(event.weather)()))).outcome is None


def test_dishes_are_left_out_until_the_rest_is_safe_enough() -> None:
    event, plan = sample_event(NAME), sample_plan(NAME)
    event = changed(event, chance_pct=decide(event, plan).steps[0].of_100)

    told = decide(event, plan)

    assert told.of_100 is not None
    assert told.of_100 < event.chance_pct
    assert told.outcome == "fewer-dishes"
    assert told.steps[-1].of_100 >= event.chance_pct
    assert all(s.of_100 < event.chance_pct for s in told.steps[:-1])


def test_soaking_is_decided_the_evening_before() -> None:
    event, plan = sample_event(NAME), sample_plan(NAME)

    told = decide(event, plan).deadlines

    soak = next(d for d in told if d.dish_id == "bean-stew")
    stew = next(p for p in plan.placements if p.dish_id == "bean-stew")
    assert soak.at < stew.loaded_at - timedelta(hours=6)
    assert [d.at for d in told] == sorted(d.at for d in told)


def test_every_cost_has_its_reason() -> None:
    plan = sample_plan(NAME)

    paid = {v.key: v.value for v in plan.levels if v.key in ("missed", "gas", "short", "stale")}

    assert any(paid.values())
    for key, value in paid.items():
        assert sum(t.cost_figure for t in plan.tradeoffs if t.cost == key) == value


def test_what_is_done_is_ready_now_and_what_is_half_done_is_not() -> None:
    event, plan = sample_event(NAME), sample_plan(NAME)

    pots = {
        p.placement_id: p for p in pot_statuses(day_status(event, plan, [], local(event, "11:35")))
    }

    compote = pots["plum-compote-1"]
    assert pots["beetroot-1"].ready_now
    assert not compote.ready_now
    assert compote.ready_at is not None
    assert compote.fast_at <= compote.ready_at <= compote.cautious_at
    assert compote.gas_by is not None
    assert "tea-1" not in pots


def test_a_pot_that_lags_shows_it_before_it_is_late() -> None:
    event, plan = sample_event(NAME), sample_plan(NAME)
    presses = [("probed", "10:15", {"placement_id": "beetroot-1", "core_c": 30.0})]

    def spare(entries: list) -> int:
        now = day_status(event, plan, entries, local(event, "10:50"))
        return next(p.spare_min for p in pot_statuses(now) if p.placement_id == "beetroot-1") or 0

    assert spare(pressed(event, *presses)) < spare([]) - 5


def test_a_pot_too_long_between_5_and_60_is_never_offered_even_when_it_is_out() -> None:
    event, plan = sample_event(NAME), sample_plan(NAME)
    stands = day_status(event, plan, [], local(event, "12:31"))
    spoiled = tuple(
        replace(
            load,
            in_progress=replace(load.in_progress, clock_min=tuple(300.0 for _ in load.placements)),
        )
        for load in stands.loads
    )

    fine = {p.placement_id: p.ready_now for p in pot_statuses(stands)}
    late = {p.placement_id: p.ready_now for p in pot_statuses(replace(stands, loads=spoiled))}

    assert fine["bean-stew-1"]
    assert not late["bean-stew-1"]


def test_what_is_on_gas_already_is_not_told_to_go_there() -> None:
    event, plan = sample_event(NAME), sample_plan(NAME)
    assert plan.risk is not None
    weakest = "beetroot"
    without = (DishChance(dish_id=weakest, of_100=80),)
    plan = changed(plan, risk=changed(plan.risk, without=without))
    event = changed(event, chance_pct=95.0)
    on_gas = tuple(
        changed(p, route="burner") if p.dish_id == weakest else p for p in plan.placements
    )

    by_sun = decide(event, plan).steps[0]
    burning = decide(event, changed(plan, placements=on_gas)).steps[0]

    assert (by_sun.dish_id, by_sun.remedy) == (weakest, "gas")
    assert (burning.dish_id, burning.remedy) == (weakest, "leave-out")
