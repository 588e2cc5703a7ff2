"""The visitors' board in words: every dish until it is eaten, what is next, the sun now."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from events.diary import Entry, EntryKind, StoredEntry
from events.model import Event
from events.table import changed
from service.text.board import board, sun_now
from solver.plan import Plan
from tests.conftest import SAMPLES, sample_event, sample_plan

pytestmark = pytest.mark.slow


def entry(kind: EntryKind, at: datetime, **more: object) -> StoredEntry:
    pressed = Entry.model_validate({"id": f"test-{kind}", "kind": kind, "at": at, **more})
    return StoredEntry(entry=pressed, received_at=at, happened_at=at, number=1)


@pytest.mark.parametrize("name", SAMPLES)
def test_every_dish_stands_there_until_its_last_plate(name: str) -> None:
    event, plan = sample_event(name), sample_plan(name)
    instants = {p.loaded_at for p in plan.placements} | {p.served_at for p in plan.placements}

    for at in sorted(instants):
        foods = {row.food for row in board(event, plan, at, []).rows}
        left = {p.dish_id for p in plan.placements if p.last_plate_at > at}
        assert foods == {event.dish(d).name for d in left}

    end = max((p.last_plate_at for p in plan.placements), default=plan.sun[-1].at)
    after = board(event, plan, end, [])
    assert after.rows == ()
    assert all(event.dish(p.dish_id).name in after.eaten for p in plan.placements)


def test_the_row_follows_a_pot_from_its_loading_to_the_plate(
    harvest: Event, harvest_plan: Plan
) -> None:
    pot = next(p for p in harvest_plan.placements if p.batches == 1 and p.route == "sun")
    dish, cooker = harvest.dish(pot.dish_id), harvest.cooker(pot.cooker_id)

    def row(at: datetime) -> tuple[str, str]:
        shown = board(harvest, harvest_plan, at, []).rows
        found = next(r for r in shown if r.food == dish.name)
        return found.state, found.clock

    minute = timedelta(minutes=1)
    assert row(pot.loaded_at - minute)[0].startswith(f"goes into {cooker.name} at ")
    assert row(pot.loaded_at + minute)[0].startswith(f"warming in {cooker.name}, about ")
    assert f"in {cooker.name}, about " in row(pot.lifted_at - minute)[0]
    assert row(pot.lifted_at)[0] == "out of its cooker, waiting for you"
    assert row(pot.served_at)[1] == "now"


def test_a_probe_stands_before_the_estimate_and_what_was_thrown_away_is_not_offered(
    harvest: Event, harvest_plan: Plan
) -> None:
    pot = harvest_plan.placements[0]
    food, at = harvest.dish(pot.dish_id).name, pot.loaded_at + timedelta(minutes=10)
    read = entry("probed", at, placement_id=pot.id, core_c=63)
    gone = [
        entry("discarded", at, placement_id=p.id)
        for p in harvest_plan.placements
        if p.dish_id == pot.dish_id
    ]

    probed = {r.food: r.state for r in board(harvest, harvest_plan, at, [read]).rows}
    later = board(harvest, harvest_plan, at + timedelta(minutes=20), [read])
    thrown = {r.food for r in board(harvest, harvest_plan, at, gone).rows}

    assert "63 °C in the middle" in probed[food]
    assert "about" in next(r.state for r in later.rows if r.food == food)
    assert food not in thrown


def test_the_sun_is_said_by_the_sky_of_the_plan_and_by_who_sees_a_cloud(
    harvest: Event, harvest_plan: Plan
) -> None:
    noon = max(harvest_plan.sun, key=lambda s: s.beam_w_m2)
    by_step = {s.at: sun_now(harvest, harvest_plan, s.at, []) for s in harvest_plan.sun}

    assert by_step[noon.at].words == "Strong sun"
    assert [by_step[s.at].rays for s in sorted(harvest_plan.sun, key=lambda s: s.beam_w_m2)] == [
        *sorted(sun.rays for sun in by_step.values())
    ]
    for step in harvest_plan.sun:
        if step.blocked and step.elevation_deg > 0:
            assert by_step[step.at].words == "The sun is behind something"
    cloud = entry("cloud", noon.at)
    assert sun_now(harvest, harvest_plan, noon.at, [cloud]).cloud
    assert not sun_now(harvest, harvest_plan, noon.at, [cloud, entry("sun", noon.at)]).cloud
    night = harvest_plan.sun[-1].at + timedelta(hours=3)
    assert sun_now(harvest, harvest_plan, night, []).down


def test_what_is_next_are_a_talk_and_a_pot_in_the_order_of_the_clock(
    harvest: Event, harvest_plan: Plan
) -> None:
    talk = min(harvest.talks, key=lambda t: t.at)
    before = harvest.instant(talk.at) - timedelta(minutes=5)

    words = [c.words for c in board(harvest, harvest_plan, before, []).coming]

    assert f"Talk: {talk.name}" in words
    assert len(words) == 2


def test_every_kind_of_cooker_in_use_is_explained_once(harvest: Event, harvest_plan: Plan) -> None:
    kinds = {harvest.cooker(p.cooker_id).kind for p in harvest_plan.placements}
    at = harvest_plan.placements[0].loaded_at

    how = board(harvest, harvest_plan, at, []).how

    assert len(how) == len(set(how)) == len(kinds)
    quiet = changed(harvest_plan, jobs=tuple(j for j in harvest_plan.jobs if j.kind != "talk"))
    assert board(changed(harvest, talks=()), quiet, at, []).how == how


def test_on_another_day_nothing_is_said_to_cook_and_no_sun_is_shown(
    harvest: Event, harvest_plan: Plan
) -> None:
    before = harvest_plan.placements[0].loaded_at - timedelta(days=1)
    after = harvest_plan.placements[0].loaded_at + timedelta(days=1)

    eve = board(harvest, harvest_plan, before, [])
    past = board(harvest, harvest_plan, after, [])

    assert "28 November 2026" in eve.heading
    assert all(row.state.startswith("goes into") for row in eve.rows)
    assert eve.sun is past.sun is None
    assert past.rows == past.coming == ()
    assert past.eaten
