"""The year: longer in summer, fair to both hemispheres."""

from __future__ import annotations

from datetime import timedelta

import pytest

from events.table import changed
from solver.feasibility.season import season
from tests.conftest import sample_event

EVERY_SEVENTH = range(1, 52, 7)
JUNE, DECEMBER = 3, 7  # of these eight weeks


@pytest.mark.slow
def test_the_year_is_longer_in_summer_and_fair_to_both_hemispheres() -> None:
    shares: list[float] = []
    north = season(sample_event("winter-refusal"), 2027, weeks=EVERY_SEVENTH)
    south = season(
        sample_event("harvest-lunch"), 2027, weeks=EVERY_SEVENTH, report_progress=shares.append
    )

    soup = [w.ready_by["soup"] for w in north.weeks]
    stew = [w.ready_by["bean-stew"] for w in south.weeks]
    assert [w.monday.month for w in north.weeks] == [1, 3, 4, 6, 7, 9, 11, 12]
    assert soup[JUNE] is not None
    assert soup[DECEMBER] is None or soup[DECEMBER] > soup[JUNE]
    assert stew[JUNE] is not None
    assert stew[DECEMBER] is not None
    assert stew[DECEMBER] < stew[JUNE]
    assert all(w.ready_by["pizza"] is None for w in north.weeks)
    assert shares == [n / 8 for n in range(1, 9)]


def test_a_date_is_surer_in_a_sunnier_month_and_where_less_is_asked_of_the_sun() -> None:
    event, weeks = sample_event("harvest-lunch"), (2, 25)
    dull = changed(event, site=changed(event.site, sunlit_pct=(30,) * 12))
    sunny = changed(event, site=changed(event.site, sunlit_pct=(90,) * 12))

    of_100 = [[w.all_of_100 for w in season(e, 2027, weeks=weeks).weeks] for e in (dull, sunny)]

    (dull_summer, dull_winter), (sunny_summer, sunny_winter) = of_100
    assert dull_winter < dull_summer < sunny_summer
    assert dull_winter <= sunny_winter < sunny_summer


def test_a_whole_day_is_as_sure_as_its_least_sure_meal_under_one_sky() -> None:
    year = season(sample_event("harvest-lunch"), 2027, weeks=(2, 25))

    assert year.sunlit_source == "typical"
    for week in year.weeks:
        assert week.all_of_100 == min(m.of_100 for m in week.meals)
        assert week.day.weekday() == sample_event("harvest-lunch").date.weekday()
        assert timedelta() <= week.day - week.monday < timedelta(days=7)


def test_what_the_sun_never_has_in_time_is_named_and_left_out_of_the_chances() -> None:
    year = season(sample_event("winter-refusal"), 2027, weeks=(2, 25))

    assert "pizza" in year.never
    assert year.weeks[1].all_of_100 > 0
