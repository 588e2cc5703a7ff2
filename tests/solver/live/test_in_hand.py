"""Pots in hand: out of a cooker that broke, in sight and cooling until they go on or are eaten."""

from __future__ import annotations

from datetime import timedelta

from events.diary import StoredEntry
from solver.live.pots import PotStatus, pot_statuses
from solver.live.replan import replan
from solver.live.status import day_status
from solver.plan import Placement, Plan
from tests.conftest import sample_event, sample_plan
from tests.diaries import local, pressed

NAME = "harvest-lunch"
EVENT, PLAN = sample_event(NAME), sample_plan(NAME)
BROKE = local(EVENT, "10:30")
Press = tuple[str, str, dict[str, object]]


def in_mirror(plan: Plan = PLAN) -> Placement:
    """Return a pot that cooks alone in a mirror when it breaks, and is not done."""
    return next(
        p
        for p in plan.placements
        if p.loaded_at < BROKE < p.done_at and EVENT.cooker(p.cooker_id).nature.concentrates
    )


POT = in_mirror()
BREAKS: Press = ("out-of-action", "10:30", {"cooker_id": POT.cooker_id})


def entries(*presses: Press) -> list[StoredEntry]:
    return pressed(EVENT, BREAKS, *presses)


def seen(clock: str, *presses: Press, plan: Plan = PLAN) -> dict[str, PotStatus]:
    status = day_status(EVENT, plan, entries(*presses), local(EVENT, clock))
    return {p.placement_id: p for p in pot_statuses(status)}


def test_it_cools_from_the_minute_at_which_its_cooker_broke() -> None:
    at_once, later = seen("10:30")[POT.id], seen("10:50")[POT.id]

    assert later.stage == "in-hand"
    assert later.off_heat_at == BROKE
    assert later.off_heat_c == at_once.off_heat_c
    assert later.core_c < at_once.core_c
    assert later.low_c <= later.core_c <= later.high_c
    assert not later.ready_now  # it was not done


def test_a_reading_since_is_believed_and_cools_on() -> None:
    probe: Press = ("probed", "10:40", {"placement_id": POT.id, "core_c": 71.0})

    assert seen("10:40", probe)[POT.id].core_c == 71
    assert seen("10:55", probe)[POT.id].core_c < 71


def test_under_sixty_degrees_its_minutes_count() -> None:
    cold: Press = ("probed", "10:40", {"placement_id": POT.id, "core_c": 55.0})

    before, after = seen("10:40", cold)[POT.id], seen("11:10", cold)[POT.id]

    assert after.clock_min == before.clock_min + 30


def test_what_was_done_when_its_cooker_broke_can_be_served_while_it_is_hot() -> None:
    done = next(
        p
        for p in PLAN.placements
        if p.lifted_at - p.done_at > timedelta(minutes=20) and EVENT.dish(p.dish_id).serve_hot
    )
    broke = done.done_at.astimezone(EVENT.zone) + timedelta(minutes=5)

    def after(minutes: int, *more: Press) -> PotStatus:
        breaks: Press = ("out-of-action", f"{broke:%H:%M}", {"cooker_id": done.cooker_id})
        at = broke + timedelta(minutes=minutes)
        status = day_status(EVENT, PLAN, pressed(EVENT, breaks, *more), at)
        return next(p for p in pot_statuses(status) if p.placement_id == done.id)

    assert after(10).ready_now
    lukewarm: Press = (
        "probed",
        f"{broke + timedelta(minutes=9):%H:%M}",
        {"placement_id": done.id, "core_c": 40.0},
    )
    assert not after(10, lukewarm).ready_now


def test_it_stays_in_sight_under_the_new_plan_until_it_is_loaded_anew() -> None:
    again = replan(EVENT, PLAN, entries(), local(EVENT, "10:35"))
    anew = next(p for p in again.placements if p.id == POT.id)
    assert [h.placement.id for h in again.in_hand] == [POT.id]
    assert anew.loaded_at > local(EVENT, "10:36")
    before = anew.loaded_at.astimezone(EVENT.zone) - timedelta(minutes=1)
    waiting = seen(f"{before:%H:%M}", plan=again)[POT.id]
    assert (waiting.stage, waiting.off_heat_at) == ("in-hand", BROKE)
    loaded = seen(f"{anew.loaded_at.astimezone(EVENT.zone):%H:%M}", plan=again)[POT.id]
    assert loaded.stage != "in-hand"


def test_planning_again_starts_from_how_warm_it_is_by_then() -> None:
    off_c = seen("10:30")[POT.id].off_heat_c
    status = day_status(EVENT, PLAN, entries(), local(EVENT, "10:45"))

    assert off_c is not None
    assert status.day.replan is not None
    assert status.day.replan.warm_c[POT.id] < off_c - 2


def test_served_or_thrown_away_it_is_in_hand_no_longer() -> None:
    again = replan(EVENT, PLAN, entries(), local(EVENT, "10:35"))

    for kind in ("served", "discarded"):
        press: Press = (kind, "10:36", {"placement_id": POT.id})
        assert POT.id not in seen("10:37", press, plan=PLAN)
        assert POT.id not in seen("10:37", press, plan=again)
