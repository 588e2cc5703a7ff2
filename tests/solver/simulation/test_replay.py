"""The replay walks a plan's own turns, and says where food and plan disagree."""

from __future__ import annotations

import dataclasses
from datetime import timedelta

import numpy as np
import pytest

from events.table import changed
from service.text.notices import refusal
from solver.notices import Refusal
from solver.plan import Placement
from solver.planning import placements
from solver.planning.pipeline import make_plan
from solver.simulation.day import Day, make_day
from solver.simulation.replay import Track, disagreements, pointing
from tests.conftest import sample_event, sample_plan


def track(**change: object) -> Track:
    """Return a track that does what the first batch of the harvest lunch is to do."""
    p = sample_plan("harvest-lunch").placements[0]
    return dataclasses.replace(Track(0.0, 30.0, 99.0, 90.0, 0.2, None, p.curve), **change)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "kind", "figures"),
    [
        ({"done_minute": 1400.0}, "never-done", {"reached_c": 99.0}),
        ({"clock_min": 241.0}, "too-long-warm", {"warm_min": 241.0, "limit_min": 240.0}),
        ({"coldest_c": 50.0}, "goes-cold", {"reached_c": 50.0, "limit_c": 63.0}),
    ],
)
def test_a_track_that_is_not_what_the_plan_says_is_named(
    change: dict[str, float], kind: str, figures: dict[str, float]
) -> None:
    event = sample_event("harvest-lunch")
    hot = tuple(changed(d, hazardous=True, serve_hot=True) for d in event.dishes)
    day = make_day(changed(event, dishes=hot))
    placement = sample_plan("harvest-lunch").placements[0]

    assert disagreements(day, placement, track()) == []
    (why,) = disagreements(day, placement, track(**change))
    assert (why.kind, why.figures) == (kind, figures)
    assert refusal(day.event, why)


def test_a_plan_whose_replay_disagrees_is_never_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    before = sample_plan("winter-refusal").placements
    late = track(done_minute=1400.0)
    monkeypatch.setattr(
        placements, "replay", lambda _, loads: [[late] * len(p.load.pots) for p in loads]
    )

    plan = make_plan(sample_event("winter-refusal"))

    assert before
    assert not plan.placements


def test_what_the_replay_refutes_is_planned_from_another_start(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The start that is chosen first is refuted; those around it are not tried."""
    before = sample_plan("winter-refusal").placements[0]
    refuted: list[Placement] = []

    def refutes(day: Day, placement: Placement, track: Track) -> list[Refusal]:
        if placement.dish_id != before.dish_id or placement.loaded_at != before.loaded_at:
            return disagreements(day, placement, track)
        refuted.append(placement)
        return [Refusal(kind="goes-cold", figures={"reached_c": 50.0, "limit_c": 63.0})]

    monkeypatch.setattr(placements, "disagreements", refutes)
    plan = make_plan(sample_event("winter-refusal"))

    assert len(refuted) == 1
    again = [p for p in plan.placements if p.dish_id == before.dish_id]
    assert all(abs(p.loaded_at - before.loaded_at) > timedelta(minutes=30) for p in again)


def test_a_mirror_left_too_long_loses_the_sun_in_the_replay() -> None:
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    day = make_day(event)
    mirror = next(c for c in event.cookers if c.id == "mirror-1")
    turns = [t for t in plan.turns if t.cooker_id == mirror.id]

    kept = pointing(day, turns, mirror)
    left = pointing(day, turns[:1], mirror)

    first = turns[0].at - day.sky.start_at
    span = slice(first // timedelta(minutes=1), first // timedelta(minutes=1) + 120)
    assert left[span].min() < 0.2 < kept[span].min()
    assert np.all(kept[: span.start] == 0)


def test_the_replay_flies_the_aim_that_is_ordered() -> None:
    """A wrong order loses power in the replay; done late, the tip goes to the same ring, later."""
    event, plan = sample_event("harvest-lunch"), sample_plan("harvest-lunch")
    day = make_day(event)
    turn = next(t for t in plan.turns if t.cooker_id == "mirror-1")
    cooker = event.cooker("mirror-1")
    minute = round((turn.at - day.sky.start_at).total_seconds() / 60)
    ring = int(turn.ring_min)

    ordered = pointing(day, [turn], cooker)
    wrong = pointing(day, [changed(turn, to_azimuth_deg=turn.to_azimuth_deg + 40)], cooker)
    late = changed(turn, at=turn.at + timedelta(minutes=10), to_elevation_deg=None)

    assert ordered[minute + ring] == 1.0
    assert wrong[minute + ring] == 0.0
    assert pointing(day, [late], cooker)[minute + 10 + ring] == 1.0
