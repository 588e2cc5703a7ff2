"""Rings on the hand-laid day: what the plan itself has on them, and who gets a place on one."""

from __future__ import annotations

from datetime import time

import pytest

from events.model import Cooker
from events.table import changed
from solver.plan import Rescue
from solver.risk import rescue
from solver.risk.rescue import Look, RingUse, _dealt, _planned_uses, rescues
from tests.solver.checking.damage import edited, place
from tests.solver.checking.hand_laid import EVENT, PLACEMENTS, PLAN, at
from tests.solver.scheduling.test_timed_load import day

RING, RICE = EVENT.cooker("ring"), PLACEMENTS[2]  # a ring holds two pots


def look(name: str, minute: int = 720, *, gain: float = 0.5) -> Look:
    return Look(changed(RICE, id=name), minute, below_c=70, gain=gain, ring_min=25)


def saved(some: list[list[Look]], *rings: Cooker, taken: tuple[RingUse, ...] = ()) -> list[str]:
    found = _dealt(some, rings, {r.id: [*taken] for r in rings})
    return [f"{look.placement.id} at {look.minute} on {ring}" for look, ring in found.saved]


def test_the_plan_has_its_own_pots_on_rings_from_when_they_come_until_they_leave() -> None:
    """Tea from half past eleven to noon; a stew is moved there at 11:40, and off at 12:45."""
    tea, stew = RingUse(690, 720), RingUse(700, 765)

    assert _planned_uses(day(), PLAN, "ring") == [tea, stew]
    assert _planned_uses(day(), PLAN, "hay") == [RingUse(620, 750)]
    kept = place("stew-2", off_at=None)  # until it is served
    assert _planned_uses(day(), kept, "ring") == [tea, RingUse(700, 750)]


def test_as_many_pots_are_on_a_ring_as_it_holds() -> None:
    some = [[look(name)] for name in "abc"]
    one = changed(RING, pots_max=1)

    assert saved(some, RING) == ["a at 720 on ring", "b at 720 on ring"]
    assert saved(some, one) == ["a at 720 on ring"]
    assert saved(some, one, taken=(RingUse(600, 721),)) == []
    assert saved(some, RING, taken=(RingUse(600, 721),)) == ["a at 720 on ring"]
    later = [[look("a")], [look("b", 749)], [look("c", 750)]]  # five to move it, 25 on the ring
    assert saved(later, one) == ["a at 720 on ring", "c at 750 on ring"]


@pytest.mark.parametrize(
    ("hours", "free"),
    [
        ({}, True),
        ({"opens": time(12), "closes": time(12, 30)}, True),
        ({"opens": time(12, 1)}, False),
        ({"closes": time(12, 29)}, False),
        ({"closes": time(11)}, False),
    ],
)
def test_no_pot_is_saved_on_a_ring_out_of_its_hours(
    monkeypatch: pytest.MonkeyPatch, hours: dict[str, time], free: bool
) -> None:
    """A look at noon: five minutes to move it, then twenty-five. One more ring is shut as well."""
    monkeypatch.setattr(rescue, "savable", lambda *given: [RICE])
    monkeypatch.setattr(rescue, "flown", lambda *given: [RICE])
    monkeypatch.setattr(rescue, "_looks", lambda drawn: iter([look("rice-1")]))
    days = day(edited(EVENT, "cookers", "ring", **hours))

    found = rescues(days, changed(PLAN, placements=()))

    assert len(found.rescues) == free
    assert found.unsaved_ids == (() if free else ("rice-1",))
    assert found.one_more_dishes == 0.0


def test_a_rescue_says_what_its_look_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rescue, "savable", lambda *given: [RICE])
    monkeypatch.setattr(rescue, "flown", lambda *given: [RICE])
    monkeypatch.setattr(rescue, "_looks", lambda drawn: iter([look("rice-1")]))

    found = rescues(day(), changed(PLAN, placements=()))

    assert found.rescues == (
        Rescue(placement_id="rice-1", at=at("12:00"), below_c=70.0, ring_min=25, ring_id="ring"),
    )
    assert (found.unsaved_ids, found.one_more_dishes) == ((), 0.0)
