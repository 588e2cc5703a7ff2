"""An event whose cookers were measured, through every question that the solver answers."""

from __future__ import annotations

from functools import cache

import pytest

from events.model import Event
from events.reading.event_file import read_event
from events.reading.samples import sample_text
from solver.feasibility.dish_matrix import dish_matrix
from solver.feasibility.season import season
from solver.feasibility.siting import siting
from solver.live.pots import pot_statuses
from solver.live.recalibration import recalibrated
from solver.live.replan import replan
from solver.live.status import day_status
from solver.live.strength import StrengthEstimate
from solver.plan import Plan
from solver.planning.pipeline import make_plan
from solver.risk.gas import gas_day
from solver.simulation.day import make_day
from solver.simulation.energy_flow import heat_now
from tests.conftest import replaced
from tests.diaries import local

FACTS = {
    "Mirror 1": "line_intercept_w = 560\nline_slope_w_k = -3.4",
    "Mirror 2": "heat_litres = 4\nheat_from_c = 20\nheat_to_c = 90\nheat_min = 50",
    "Box 1": "line_intercept_w = 150\nline_slope_w_k = -1.2",
    "Box 2": "empty_c = 155\nheat_litres = 2\nheat_from_c = 20\nheat_to_c = 80\nheat_min = 70",
}


@cache
def measured() -> Event:
    text = sample_text("harvest-lunch")
    for name, facts in FACTS.items():
        text = replaced(text, (f'name = "{name}"', f'name = "{name}"\n{facts}'))
    return read_event(text)


@cache
def plan() -> Plan:
    return make_plan(measured())


def test_it_is_planned_and_answers_to_the_event_as_it_was_typed() -> None:
    assert {p.dish_id for p in plan().placements} | {u.dish_id for u in plan().unplaced} == {
        d.id for d in measured().dishes
    }
    assert plan().event_id == make_day(measured()).event_id
    assert [c.measured is not None for c in measured().cookers][:4] == [True] * 4


def test_its_minutes_its_season_and_its_places_are_told() -> None:
    cells = dish_matrix(measured(), measured().dishes[:2])
    year = season(measured(), 2026, weeks=(40,))

    assert {c.cooker_id for c in cells} >= {"mirror-1", "box-1", "box-2"}
    assert year.weeks[0].ready_by["bean-stew"] is not None
    assert len(siting(measured()).spots) == len(measured().stations)


@pytest.mark.slow
def test_its_day_is_followed_and_planned_again() -> None:
    event, at = measured(), local(measured(), "10:30")

    status = day_status(event, plan(), [], at)
    again = replan(event, plan(), [], at)

    assert pot_statuses(status)
    assert {p.dish_id for p in again.placements} == {p.dish_id for p in plan().placements}


def test_its_watts_are_those_of_the_measured_cooker() -> None:
    event, at = measured(), local(measured(), "12:30")
    day = make_day(event)

    now = heat_now(day, event.cooker("mirror-1"), at, ())

    efficiency = day.event.cooker("mirror-1").optical_efficiency
    assert efficiency != event.cooker("mirror-1").optical_efficiency
    direct = day.sky.beam_w_m2 / (day.sky.beam_w_m2 + day.sky.diffuse_w_m2 + 1e-9)
    share = direct[round((at - day.sky.start_at).total_seconds() / 60)]  # a mirror takes no other
    assert now.gathered_w / now.arrives_w == pytest.approx(efficiency * share, rel=0.01)
    assert gas_day(day).rings >= 1


def test_what_the_day_teaches_is_against_what_was_measured_before() -> None:
    event = measured()
    before = make_day(event).event.cooker("mirror-1").optical_efficiency
    said = StrengthEstimate("mirror-1", 0.9, low=0.8, high=1.0, readings=3)

    (better,) = recalibrated(event, [said], "Harvest lunch")

    assert better.measured is None
    assert abs(better.optical_efficiency / before - 0.9) < 0.001
