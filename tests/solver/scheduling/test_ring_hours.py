"""A ring has hours and a wind of its own: no pot is moved on to it outside them."""

from __future__ import annotations

from dataclasses import replace
from datetime import time

import pytest

from events.model import Cooker
from events.table import changed
from solver.scheduling import columns, in_progress
from solver.scheduling.columns import Second
from tests.solver.checking.damage import edited
from tests.solver.scheduling.test_columns import HAY, MIRROR, RING, in_cooker, windy
from tests.solver.scheduling.test_moves import _again, _said, begun, best
from tests.solver.scheduling.test_timed_load import EVENT, day, load


@pytest.mark.parametrize(
    ("ring", "open_then"),
    [
        ({}, True),
        ({"opens": time(10), "closes": time(11)}, True),
        ({"opens": time(10, 1)}, False),
        ({"closes": time(10, 59)}, False),
        ({"wind_limit_m_s": 6.0}, True),
        ({"wind_limit_m_s": 5.9}, False),
    ],
)
def test_a_pot_goes_to_a_ring_in_its_hours_and_under_its_wind(
    ring: dict[str, object], open_then: bool
) -> None:
    """From ten until eleven; the wind is 6 m/s from 10:59 on, and stronger after and before."""
    blows = windy(("06:00", 9.0), ("10:00", 2.0), ("10:59", 6.0), ("11:00", 9.0))

    def offered(second: Cooker) -> bool:
        way = columns._Way(in_cooker(MIRROR), 10 * 60, Second(second, 11 * 60))
        return bool([*columns._columns(day(blows), [way])])

    assert offered(changed(RING, **ring)) == open_then
    assert offered(changed(HAY, **ring))  # it burns nothing


@pytest.mark.parametrize(
    ("hours", "move"),
    [
        ({}, 630),
        ({"opens": time(10), "closes": time(10, 50)}, 600),  # the later one is done too late
        ({"opens": time(10, 30), "closes": time(10, 55)}, 630),
        ({"opens": time(9, 30), "closes": time(10, 45)}, 570),
        ({"opens": time(9, 31), "closes": time(10, 45)}, None),
    ],
)
def test_a_pot_goes_to_a_ring_that_is_open_until_it_is_done(
    hours: dict[str, time], move: int | None
) -> None:
    """Done at 10:40, 10:45 or 10:50, each with five minutes more."""
    usual = {570: (640, 9), 600: (645, 9), 630: (650, 9)}
    poor = {570: 640, 600: 645, 630: 650}

    found = best(changed(RING, **hours), usual, poor)

    assert [m[0] for m in found] == ([] if move is None else [move])  # type: ignore[index]
    hot = {lift: (done, 80.0) for lift, (done, _) in usual.items()}
    assert best(changed(HAY, opens=time(10), closes=time(10)), hot, poor)  # it burns nothing


def test_no_pot_goes_to_a_ring_out_of_its_hours() -> None:
    """From 9:35 on every quarter of an hour until ten; it keeps hot there until one."""
    some = begun()
    again = _again(some)
    batches = load(some.durations.query.load.dishes[0]).batches

    def rings(**hours: time) -> list[str]:
        narrow = replace(again, event=edited(EVENT, "cookers", "ring", **hours))
        found = [_said(c) for c in in_progress._goes_on(narrow, some, batches)]
        return [w.split()[1] for w in found if w.startswith("ring")]

    assert rings() == ["9:35", "9:50"]
    assert rings(opens=time(9, 36)) == ["9:50"]
    assert rings(closes=time(13)) == ["9:35", "9:50"]
    assert rings(closes=time(12, 59)) == []
