"""A contest on the day: tastings move only for what the sky does, and what begins soon stays."""

from __future__ import annotations

from datetime import timedelta

import pytest

from events.model import Event
from events.table import changed
from solver.checking.rules import check
from solver.contest.contest import contest_plan
from solver.contest_plan import ContestPlan, Tasting
from solver.live.replan import replan
from solver.plan import Plan
from solver.simulation.day import make_day
from tests.conftest import plan_of, sample_event, sample_plan
from tests.diaries import local, pressed

pytestmark = pytest.mark.slow


def pots() -> Event:
    return sample_event("twelve-pots")


def after(clock: str, *presses: tuple[str, str, dict[str, object]]) -> Plan:
    event = pots()
    return replan(event, sample_plan("twelve-pots"), pressed(event, *presses), local(event, clock))


def contest(plan: Plan) -> ContestPlan:
    assert plan.contest is not None
    return plan.contest


def by_entry(plan: Plan) -> dict[str, Tasting]:
    return {t.entry_id: t for t in contest(plan).tastings}


def test_as_forecast_nothing_moves() -> None:
    again = after("12:40")

    assert again.contest == sample_plan("twelve-pots").contest
    assert "tastings" not in again.gains


def test_after_a_cloud_only_what_it_makes_unsure_moves_and_says_from_when() -> None:
    again = after("11:00", ("cloud", "10:50", {"minutes": 60}))

    was, now = by_entry(sample_plan("twelve-pots")), by_entry(again)
    moved = {e for e in now if now[e].at != was[e].at}
    assert 1 <= len(moved) <= 6
    assert {e for e, t in now.items() if t.was_at is not None} == moved
    assert all(now[e].was_at == was[e].at for e in moved)
    assert len(now) == len(was)
    assert "tastings" in again.gains
    # What was on the sun stays as it was loaded, and the time from which it might be.
    at = local(pots(), "11:00")
    loaded = [e for e in now if was[e].loaded_at <= at]
    assert loaded
    assert all(now[e].loaded_at == was[e].loaded_at for e in loaded)
    assert all(now[e].cook_from == was[e].cook_from for e in loaded)
    assert all(now[e].loaded_at > at for e in now if e not in loaded)


def test_what_has_begun_or_soon_begins_stays() -> None:
    again = after("14:12", ("cloud", "14:10", {"minutes": 60}))

    at, was = local(pots(), "14:12"), by_entry(sample_plan("twelve-pots"))
    soon = [t for t in was.values() if t.at < at + timedelta(minutes=10)]
    assert len(soon) >= 3
    assert [by_entry(again)[t.entry_id].at for t in soon] == [t.at for t in soon]


def test_a_withdrawn_entry_moves_nobody_else() -> None:
    event, plan = pots(), sample_plan("twelve-pots")
    entries = tuple(changed(e, withdrawn=e.id == "e06") for e in event.entries)

    again = contest_plan(make_day(changed(event, entries=entries)), plan.contest)

    assert again is not None
    was = by_entry(plan)
    assert {t.entry_id for t in again.tastings} == set(was) - {"e06"}
    assert not [t for t in again.tastings if t.at != was[t.entry_id].at]


def test_a_tree_that_shades_a_place_is_in_its_minutes_and_the_check_agrees() -> None:
    event = pots()
    poplar = tuple(changed(o, bearing_deg=150.0, width_m=2) for o in event.station("p13").obstacles)
    stations = tuple(changed(s, obstacles=poplar if s.id == "p01" else ()) for s in event.stations)
    shaded = changed(event, stations=stations)  # e06 has asked for p01: it is not drawn

    plan = plan_of(shaded)

    assert check(shaded, plan) == []
    suns = {s.entry_id: s.sun_min for s in contest(plan).sun}
    assert suns.pop("e06") < min(suns.values()) - 5
