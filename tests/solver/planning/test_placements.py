"""A chosen column as a placement: its own turns, what it spent before, what the replay refutes."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from events.table import changed
from solver.notices import Refusal
from solver.planning import placements
from solver.scheduling.columns import Candidate
from solver.simulation.replay import Track
from tests.solver.checking.hand_laid import PLAN, at
from tests.solver.scheduling.test_columns import BOX, again_with, column, in_cooker
from tests.solver.scheduling.test_timed_load import NOON, day

WHY = Refusal(kind="goes-cold", figures={"reached_c": 50.0, "limit_c": 63.0})
TRACK = Track(
    done_minute=600.0,
    clock_min=30.0,
    peak_c=95.0,
    coldest_c=80.0,
    steam_kg=0.1,
    boil_dry_min=None,
    curve=(),
)


def candidate(preheat_min: int = 0) -> Candidate:
    """Return a pot in the box from nine to noon."""
    one = in_cooker(BOX, preheat_min=preheat_min)
    named = replace(one, batches=(replace(one.batches[0], id="a"),))
    return Candidate(column(named, NOON), named)


def test_what_the_replay_does_not_bear_out_is_refuted(monkeypatch: pytest.MonkeyPatch) -> None:
    some = candidate()
    monkeypatch.setattr(placements, "replay", lambda here, loads: [[TRACK]])
    for found in ([], [WHY]):
        monkeypatch.setattr(placements, "disagreements", lambda *_, found=found: found)
        said = placements.place(day(), [some], ())
        assert said.refuted == tuple((some, why) for why in found)
        assert [p.id for p in said.placements] == ["a"]


def test_a_load_is_replayed_with_the_turns_of_its_own_time() -> None:
    """Its box is set on the sun at half past eight, empty, and emptied at noon."""

    def kept(clock: str, cooker: str = "box") -> bool:
        until = at(clock) + timedelta(hours=1)
        turn = changed(PLAN.turns[0], cooker_id=cooker, at=at(clock), holds_until=until)
        return placements._planned(day(), candidate(preheat_min=30), [turn]).turns == (turn,)

    clocks = ("08:29", "08:30", "11:59", "12:00")
    assert [kept(c) for c in clocks] == [False, True, True, False]
    assert not kept("09:00", "oven")


def test_what_a_pot_spent_before_counts_on() -> None:
    for here, spent_min in ((day(), 0), (again_with(33.0), 33)):
        found = placements._placement(here, candidate(), 0, TRACK)
        assert (found.spent_min, found.between_5_and_60_min) == (spent_min, 30 + spent_min)
