"""What is left to spare: slips of a day, a loaf's half degree, low sun, starts that are surer."""

from __future__ import annotations

import numpy as np
import pytest

from events.table import changed
from solver.scheduling.columns import COARSE_MIN, heat_ends
from solver.scheduling.enumeration import enumerate_candidates
from solver.scheduling.pricing import costs_of
from solver.scheduling.timed_load import loads_in_time
from solver.simulation.cooker_draws import drawn_cooker
from solver.simulation.day import Day, loaded, make_day
from solver.solar.position import position
from solver.solar.windows import windows
from solver.thermal.energy_balance import Load
from tests.conftest import sample_event

EVENT = sample_event("harvest-lunch")


def test_what_goes_wrong_takes_more_behind_glass() -> None:
    def strength(*, glazed: bool) -> float:
        return float(drawn_cooker(0.0, lambda: -np.ones(1), glazed=glazed).strength[0])

    assert strength(glazed=False) == pytest.approx(0.95)
    assert strength(glazed=True) == pytest.approx(0.88)


def threshold_c(day: Day, dish_id: str) -> float:
    event = day.event
    box = next(c for c in event.cookers if c.is_oven)
    load = Load((event.dish(dish_id),), (1.0,), (event.pots[0],), 0, 74.0)
    return float(loaded(day, box, load, np.asarray([600])).threshold_c[0, 0])


def test_a_loaf_is_planned_done_half_a_degree_over_what_its_middle_needs() -> None:
    cake = EVENT.dish("apple-cake")
    assert threshold_c(make_day(EVENT), "apple-cake") == (cake.core_c or 0.0) + 0.5
    assert threshold_c(make_day(EVENT), "beetroot") == 0.0  # by its cooking


def test_where_water_boils_low_a_loaf_is_asked_for_no_more_than_it_can_reach() -> None:
    high = changed(EVENT, site=changed(EVENT.site, altitude_m=1400.0))
    day = make_day(high)

    assert threshold_c(day, "apple-cake") < day.boil_c


def test_mirrors_see_the_sun_from_ten_degrees_and_boxes_from_fifteen() -> None:
    event = sample_event("cook-off")
    site = changed(event.site, skyline=(), obstacles=(), shade=())
    event = changed(
        event, site=site, stations=(), cookers=[changed(c, station=None) for c in event.cookers]
    )
    kinds = {c.id: c.kind for c in event.cookers}
    for one in windows(event):
        if kinds.get(one.cooker_id or "") not in ("parabolic", "box"):
            continue
        height, _ = position(
            one.stretches[0].starts_at,
            latitude_deg=event.site.latitude_deg,
            longitude_deg=event.site.longitude_deg,
        )
        lowest_deg = 10.0 if kinds[one.cooker_id or ""] == "parabolic" else 15.0
        assert height == pytest.approx(lowest_deg, abs=0.1)


@pytest.mark.slow
def test_starts_go_back_as_far_as_they_make_a_dish_surer() -> None:
    """The surest start that stays until it is served is among the columns, or one step from it."""
    day = make_day(EVENT)
    least: dict[tuple[str, str], list[int]] = {}
    for c in enumerate_candidates(day).candidates:
        if c.second is None and len(c.batches) == 1 and c.load.cooker.on_sun:
            key = (c.batches[0].id, c.load.cooker.id)
            every = [
                costs_of(day, load, heat_ends(load, load.rested_by, None)).missed
                for load in loads_in_time(day, c.batches, c.load.durations)
                if load.start % COARSE_MIN == 0
            ]
            least.setdefault(key, [min(every, default=99), c.column.missed])
            least[key][1] = min(least[key][1], c.column.missed)

    assert len(least) > 5
    assert all(offered <= surest + 1 for surest, offered in least.values()), least
