"""A pot on the sun that was hot through when a cloud is forecast: it may not cool and go on.

Soup on a mirror boils before nine; the cloud bank of the new forecast lasts from nine to noon.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import time

import numpy as np
import pytest

from events.model import Cooker, Event
from events.table import changed
from service.text.notices import warning
from solver.checking.rules import check
from solver.live.replan import replan
from solver.plan import CurvePoint, Placement, Plan
from solver.planning.pipeline import make_plan
from solver.policy import miss_steps
from solver.scheduling import in_progress
from solver.simulation.day_state import LoadInProgress
from solver.simulation.holding import falls_to_c, is_warmed_again
from tests.solver.checking.hand_laid import EVENT, at
from tests.solver.planning.test_dangers import CLEAR, CLOUD_BANK, day
from tests.solver.scheduling.test_moves import _again, _said, begun
from tests.solver.scheduling.test_timed_load import NOON, START
from tests.solver.scheduling.test_timed_load import day as day_of
from tests.solver.scheduling.test_timed_load import load as load_of

RING = {"id": "ring", "name": "Ring", "kind": "burner", "power_w": 2500.0, "litres": 20.0}
SOUP = """like = "lentil-soup"
portions = 4
load_at = 08:40:00
holding_max_min = 400"""


def soup(weather: str, *rings: Cooker) -> Event:
    event = day(SOUP, cooker="mirror-140cm", weather=weather, pot="pot-3l", until="14:00")
    return changed(event, cookers=(*event.cookers, *rings))


def again(*rings: Cooker, weather: str = CLOUD_BANK) -> tuple[Event, Plan, Placement]:
    """Return the day planned again at ten to nine, with its soup."""
    before, now = soup(CLEAR, *rings), soup(weather, *rings)
    plan = replan(now, make_plan(before), [], now.instant(time(8, 50)))
    (found,) = plan.placements
    assert check(now, plan) == []
    return now, plan, found


def test_where_nothing_keeps_it_hot_it_is_warned_of_and_counts_as_missed() -> None:
    event, plan, found = again()

    (said,) = [w for w in plan.warnings if w.kind == "warmed-again"]
    assert "don’t serve it" in warning(event, said)
    assert said.figures["reached_c"] < 30 < said.figures["limit_c"] == 63.0
    assert found.missed_fraction == 1.0
    assert plan.risk is not None
    assert [m.of_100 for m in plan.risk.meals] == [0]
    # From about a quarter to ten until just after noon it is under 60 °C, on top of seven minutes.
    assert 130 < found.between_5_and_60_min < 170


def test_where_there_is_a_ring_it_goes_there_while_it_is_hot() -> None:
    _, plan, found = again(Cooker.model_validate(RING))

    assert found.then_cooker_id == "ring"
    on_sun = [q.core_c for q in found.curve if q.at <= found.lifted_at]
    assert max(on_sun) > 75.0
    assert on_sun[-1] >= 63.0
    assert found.missed_fraction < 0.3
    assert "warmed-again" not in {w.kind for w in plan.warnings}
    assert plan.risk is not None
    assert [m.of_100 for m in plan.risk.meals] == [95]


@pytest.mark.parametrize("weather", [CLEAR, CLOUD_BANK.replace("09:00", "09:40")])
def test_what_is_done_before_the_cloud_is_not_missed(weather: str) -> None:
    _, plan, found = again(weather=weather)

    assert found.missed_fraction < 0.5
    assert found.between_5_and_60_min < 15
    assert "warmed-again" not in {w.kind for w in plan.warnings}


# --- by hand: a curve from nine, every ten minutes


def curve(*cores_c: float) -> tuple[CurvePoint, ...]:
    return tuple(
        CurvePoint(at=at(f"09:{10 * n:02d}"), food_c=core_c, core_c=core_c, body_c=None)
        for n, core_c in enumerate(cores_c)
    )


def falls(*cores_c: float, since: str = "09:00", until: str = "10:00", **dish: object) -> float:
    stew = changed(EVENT.dish("stew"), **dish)
    return falls_to_c(EVENT, stew, curve(*cores_c), since=at(since), until=at(until))


def test_it_falls_once_it_was_hot_through_and_under_hot_holding() -> None:
    """75 °C is through, 63 °C is hot."""
    assert falls(20.0, 74.9, 40.0, 90.0) == math.inf
    assert falls(20.0, 75.0, 40.0, 30.0, 90.0) == 30.0
    assert falls(20.0, 75.0, 63.0, 90.0) == math.inf
    assert falls(20.0, 75.0, 62.9, 90.0) == 62.9
    assert falls(20.0, 40.0, 75.0, 90.0) == math.inf
    assert falls(20.0, 85.0, 40.0, core_c=86.0) == math.inf
    assert falls(20.0, 75.0, 40.0, hazardous=False) == math.inf
    assert falls(20.0, 75.0, 40.0, serve_hot=False) == math.inf


def test_it_is_judged_between_two_instants_both_included() -> None:
    row = (75.0, 80.0, 40.0, 80.0)

    assert falls(*row, since="09:10", until="09:20") == 40.0
    assert falls(*row, since="09:11") == math.inf
    assert falls(*row, until="09:19") == math.inf


def test_only_a_pot_that_is_not_done_nor_lifted_is_warmed_again() -> None:
    some = replace(begun(done_min=(60.0,)), curves=(curve(90.0, 90.0, 90.0, 90.0, 40.0),))
    again = _again(some)

    def unsafe(load: LoadInProgress, until: int = NOON) -> bool:
        return is_warmed_again(again, load, 0, until)

    assert unsafe(some)
    assert unsafe(some, START + 40)
    assert not unsafe(some, START + 39)  # it goes to a ring before
    assert not unsafe(replace(some, stage="lifted"))
    sooner = replace(begun(done_min=(39.0,)), curves=some.curves)
    assert not unsafe(sooner)  # it is done then
    now = replace(some, curves=(curve(90.0, 90.0, 90.0, 40.0, 90.0),))
    assert not unsafe(now)  # it is cold at half past nine: what it was, a probe says
    assert not is_warmed_again(day_of(EVENT), some, 0, NOON)


def test_each_pot_of_a_load_has_its_own_curve() -> None:
    some = begun(done_min=(60.0,))
    query = some.durations.query
    query = replace(query, load=replace(query.load, dishes=query.load.dishes * 2))
    durations = replace(some.durations, query=query, expected_min=np.full((2, 1), 60.0))
    curves = (curve(90.0, 90.0, 90.0, 90.0, 90.0), curve(90.0, 90.0, 90.0, 90.0, 40.0))
    two = replace(some, durations=durations, curves=curves)

    assert [is_warmed_again(_again(some), two, pot, NOON) for pot in (0, 1)] == [False, True]


def test_a_way_that_cools_costs_the_whole_batch() -> None:
    """Left on the sun it is surely done, and lost; moved to the ring by twenty to ten it is not."""
    some = replace(begun(done_min=(60.0,)), curves=(curve(90.0, 90.0, 90.0, 90.0, 40.0),))
    plain = replace(some, curves=(curve(90.0, 90.0, 90.0, 90.0, 90.0),))

    def missed(load: LoadInProgress) -> dict[str, int]:
        batches = load_of(load.durations.query.load.dishes[0]).batches
        found = in_progress._goes_on(_again(load), load, batches)
        return {_said(c): c.column.missed for c in found}

    cools, fine = missed(some), missed(plain)
    assert cools.keys() == fine.keys()
    more = {way for way, steps in cools.items() if steps > fine[way]}
    assert {w.split()[0] for w in more} == {"stays", "hay", "ring"}
    assert {w.split()[1] for w in more if w.startswith("ring")} == {"9:50"}
    assert all(cools[w] == miss_steps(1.0) for w in more if w.startswith("stays"))
    assert "ring 9:35 12:00" in cools.keys() - more
