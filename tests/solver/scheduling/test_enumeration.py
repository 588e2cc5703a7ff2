"""Which loads are offered to the timetable."""

from __future__ import annotations

import pytest

from solver.scheduling import enumeration
from solver.scheduling.columns import Candidate
from solver.simulation.day import make_day
from tests.scale import grown


def _names(candidate: Candidate) -> tuple[str, ...]:
    return tuple(b.id for b in candidate.batches)


def test_of_the_sets_for_a_box_those_that_take_most_nearly_equally_long_are_tried(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    day = make_day(grown(14, 4, 2))
    every = enumeration.enumerate_candidates(day).candidates
    monkeypatch.setattr(enumeration, "FELLOWS_MOST", 1)
    few = enumeration.enumerate_candidates(day).candidates
    lone: dict[tuple[str, str], int] = {}
    for c in every:
        if len(c.batches) == 1 and c.column.route == "sun":
            key = (c.column.cooker_id, c.batches[0].id)
            lone[key] = min(lone.get(key, 9999), c.load.done[0] - c.load.start)

    def spread_min(box: str, names: tuple[str, ...]) -> int:
        minutes = [lone[(box, name)] for name in names]
        return max(minutes) - min(minutes)

    joint = {(c.column.cooker_id, _names(c)) for c in every if len(c.batches) > 1}
    tried = {(c.column.cooker_id, _names(c)) for c in few if len(c.batches) > 1}
    assert tried < joint
    for box, names in tried:
        spreads = [spread_min(box, other) for of, other in joint if of == box]
        assert spread_min(box, names) == min(spreads)
