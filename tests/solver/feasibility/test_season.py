"""The year: longer in summer, fair to both hemispheres."""

from __future__ import annotations

from solver.feasibility.season import season
from tests.conftest import sample_event

EVERY_SEVENTH = range(1, 52, 7)
JUNE, DECEMBER = 3, 7  # of these eight weeks


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
