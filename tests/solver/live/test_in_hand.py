"""Pots in hand: out of a cooker that broke, in sight and cooling until they go on or are eaten."""

from __future__ import annotations

from datetime import timedelta

import pytest

from events.diary import StoredEntry
from solver.live.pots import PotStatus, pot_statuses
from solver.live.replan import replan
from solver.live.status import day_status
from solver.plan import Placement, Plan
from tests.conftest import sample_event, sample_plan
from tests.diaries import local, pressed

NAME = "harvest-lunch"
EVENT = sample_event(NAME)
BROKE = local(EVENT, "10:30")
Press = tuple[str, str, dict[str, object]]


def plan_of_day() -> Plan:
    return sample_plan(NAME)


def in_mirror() -> Placement:
    """Return a pot that cooks alone in a mirror when it breaks, and is not done."""
    return next(
        p
        for p in plan_of_day().placements
        if p.loaded_at < BROKE < p.done_at and EVENT.cooker(p.cooker_id).nature.concentrates
    )


@pytest.fixture
def pot() -> Placement:
    return in_mirror()


@pytest.fixture(scope="module")
def again() -> Plan:
    """What is planned five minutes after it broke."""
    return replan(EVENT, plan_of_day(), entries(), local(EVENT, "10:35"))


def entries(*presses: Press) -> list[StoredEntry]:
    breaks: Press = ("out-of-action", "10:30", {"cooker_id": in_mirror().cooker_id})
    return pressed(EVENT, breaks, *presses)


def seen(clock: str, *presses: Press, plan: Plan | None = None) -> dict[str, PotStatus]:
    status = day_status(EVENT, plan or plan_of_day(), entries(*presses), local(EVENT, clock))
    return {p.placement_id: p for p in pot_statuses(status)}


def test_it_cools_from_the_minute_at_which_its_cooker_broke(pot: Placement) -> None:
    at_once, later = seen("10:30")[pot.id], seen("10:50")[pot.id]

    assert later.stage == "in-hand"
    assert later.off_heat_at == BROKE
    assert later.off_heat_c == at_once.off_heat_c
    assert later.core_c < at_once.core_c
    assert later.low_c <= later.core_c <= later.high_c
    assert not later.ready_now  # it was not done


def test_a_reading_since_is_believed_and_cools_on(pot: Placement) -> None:
    probe: Press = ("probed", "10:40", {"placement_id": pot.id, "core_c": 71.0})

    assert seen("10:40", probe)[pot.id].core_c == 71
    assert seen("10:55", probe)[pot.id].core_c < 71


def test_under_sixty_degrees_its_minutes_count(pot: Placement) -> None:
    cold: Press = ("probed", "10:40", {"placement_id": pot.id, "core_c": 55.0})

    before, after = seen("10:40", cold)[pot.id], seen("11:10", cold)[pot.id]

    assert after.clock_min == before.clock_min + 30


def test_what_was_done_when_its_cooker_broke_can_be_served_while_it_is_hot() -> None:
    done = next(
        p
        for p in plan_of_day().placements
        if p.lifted_at - p.done_at > timedelta(minutes=20) and EVENT.dish(p.dish_id).serve_hot
    )
    broke = done.done_at.astimezone(EVENT.zone) + timedelta(minutes=5)

    def after(minutes: int, *more: Press) -> PotStatus:
        breaks: Press = ("out-of-action", f"{broke:%H:%M}", {"cooker_id": done.cooker_id})
        at = broke + timedelta(minutes=minutes)
        status = day_status(EVENT, plan_of_day(), pressed(EVENT, breaks, *more), at)
        return next(p for p in pot_statuses(status) if p.placement_id == done.id)

    assert after(10).ready_now
    lukewarm: Press = (
        "probed",
        f"{broke + timedelta(minutes=9):%H:%M}",
        {"placement_id": done.id, "core_c": 40.0},
    )
    assert not after(10, lukewarm).ready_now


@pytest.mark.slow
def test_it_stays_in_sight_under_the_new_plan_until_it_is_loaded_anew(
    pot: Placement, again: Plan
) -> None:
    anew = next(p for p in again.placements if p.id == pot.id)
    assert [h.placement.id for h in again.in_hand] == [pot.id]
    assert anew.loaded_at > local(EVENT, "10:36")
    before = anew.loaded_at.astimezone(EVENT.zone) - timedelta(minutes=1)
    waiting = seen(f"{before:%H:%M}", plan=again)[pot.id]
    assert (waiting.stage, waiting.off_heat_at) == ("in-hand", BROKE)
    loaded = seen(f"{anew.loaded_at.astimezone(EVENT.zone):%H:%M}", plan=again)[pot.id]
    assert loaded.stage != "in-hand"


def test_planning_again_starts_from_how_warm_it_is_by_then(pot: Placement) -> None:
    off_c = seen("10:30")[pot.id].off_heat_c
    status = day_status(EVENT, plan_of_day(), entries(), local(EVENT, "10:45"))

    assert off_c is not None
    assert status.day.replan is not None
    assert status.day.replan.warm_c[pot.id] < off_c - 2


@pytest.mark.slow
def test_served_or_thrown_away_it_is_in_hand_no_longer(pot: Placement, again: Plan) -> None:
    for kind in ("served", "discarded"):
        press: Press = (kind, "10:36", {"placement_id": pot.id})
        assert pot.id not in seen("10:37", press)
        assert pot.id not in seen("10:37", press, plan=again)
