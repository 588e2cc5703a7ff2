"""Whom a load needs and when, by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from events.table import changed
from solver.scheduling.columns import (
    Second,
    make_column,
)
from solver.scheduling.pricing import Costs
from solver.scheduling.timed_load import TimedLoad
from solver.simulation.day_state import ReplanState
from tests.solver.checking import hand_laid
from tests.solver.scheduling.test_columns import (
    BOX,
    MIRROR,
    RING,
    clock,
    column,
    in_cooker,
)
from tests.solver.scheduling.test_timed_load import (
    NOON,
    START,
    day,
    stew,
)


def hands(one: TimedLoad, lift: int = NOON, **more: object) -> list[str]:
    """Return the hands that a column needs: when, how many, and what they must be allowed."""
    needs = sorted(column(one, lift, **more).needs, key=lambda n: (n.slot, str(n.ability)))
    return [f"{clock(n.slot * 5)} {n.people} {n.ability}" for n in needs]


HEAVY = stew(lift_helpers=3)


@pytest.mark.parametrize(
    ("one", "lift", "second", "needed"),
    [
        (in_cooker(BOX), NOON, None, "9:00 1 None, 12:00 1 lift"),
        (
            in_cooker(MIRROR, stew(stir_every_min=20, load_min=10)),
            NOON,
            None,
            # stirred until it is done, at ten
            "9:00 1 mirrors, 9:05 1 mirrors, 9:20 1 mirrors, 9:40 1 mirrors, 12:00 1 mirrors",
        ),
        (
            in_cooker(MIRROR, stew(stir_every_min=20)),
            START + 30,
            None,
            "9:00 1 mirrors, 9:20 1 mirrors, 9:30 1 mirrors",
        ),
        (
            in_cooker(BOX, HEAVY, stew(), done_min=(60.0, 60.0)),
            NOON,
            None,
            "9:00 1 None, 9:05 1 None, 12:00 1 lift, 12:00 2 lift",
        ),
        (
            in_cooker(MIRROR, HEAVY),
            START + 60,
            Second(RING, NOON),
            "9:00 1 mirrors, 10:00 2 lift, 10:00 1 mirrors, 12:00 1 burner, 12:00 2 lift",
        ),
        (
            in_cooker(changed(BOX, attended=True), HEAVY, preheat_min=10),
            START + 5,
            None,
            "8:50 1 lift, 8:55 1 lift, 9:00 1 lift, 9:05 1 lift, 9:05 2 lift",
        ),
        (
            in_cooker(BOX, stew(shape="baked"), preheat_min=10),
            START + 70,
            None,
            "8:50 1 None, 9:00 1 None, 10:00 1 None, 10:10 1 lift",
        ),
    ],
    ids=["plain", "stirred", "stirred-until-lifted", "heavy", "to-ring", "attended", "baked"],
)
def test_a_load_needs_hands_whenever_something_is_done_to_it(
    one: TimedLoad, lift: int, second: Second | None, needed: str
) -> None:
    assert ", ".join(hands(one, lift, second=second)) == needed


def test_hands_that_are_past_are_not_asked_for_again() -> None:
    now = ReplanState(
        plan=hand_laid.PLAN,
        minute=START,
        in_progress=(),
        warm_c={},
        spent_min={},
        finished_ids=frozenset(),
        unavailable=frozenset(),
        absences=(),
        aimed_at={},
        preheating={},
        representatives={},
        planned_uses={},
    )
    one = in_cooker(MIRROR, stew(load_min=10))

    needs = make_column(replace(day(), replan=now), one, lift=NOON, costs=Costs()).needs

    assert [n.slot * 5 for n in needs] == [START + 5, NOON]


# --- moved on
