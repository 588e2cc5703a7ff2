"""How long a cooker is on the sun and how long one aim holds, worked out by hand.

On 21 June the sun's declination is 23.44° (almanacs), so it runs 15° x 0.9175 = 13.76° an hour.
Aimed ahead a mirror of ±5° keeps it for 10 / 13.76 h = 43.6 min, in whole slots 40; one of ±5.5°
for 48 min, in whole slots 45 (11 / 15 h at an equinox: 40); a box of ±20° for 174 min, but it is
looked at hourly.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from events.model import Cooker
from events.table import changed
from solver.rostering.tasks import exposures_of
from solver.scheduling.columns import Candidate, Costs, make_column
from solver.simulation.day import Day
from solver.simulation.day_state import LoadInProgress
from tests.solver.scheduling.test_columns import BOX, HAY, MIRROR, RING, again_with, in_cooker
from tests.solver.scheduling.test_timed_load import NOON, START, day, stew

SLOT = 5
TEN = 10 * 60


def candidate(
    cooker: Cooker,
    *,
    lift: int = NOON,
    begun: str = "",
    preheat_min: int = 0,
    on: Day | None = None,
) -> Candidate:
    load = in_cooker(cooker, stew(), preheat_min=preheat_min)
    column = make_column(on or day(), load, lift=lift, costs=Costs())
    in_progress = None
    if begun:  # only where it stands is asked of it
        in_progress = object.__new__(LoadInProgress)
        object.__setattr__(in_progress, "stage", begun)
    return Candidate(column, load, in_progress=in_progress)


@pytest.mark.parametrize(
    ("cooker", "holds_min"),
    [
        (MIRROR, 40),
        (BOX, 60),
        (changed(MIRROR, acceptance_deg=2.0), 15),
        (changed(MIRROR, acceptance_deg=5.5), 45),
    ],
)
def test_an_aim_holds_for_twice_its_acceptance_of_the_suns_way(
    cooker: Cooker, holds_min: int
) -> None:
    (exposure,) = exposures_of(day(), [candidate(cooker)])

    assert exposure.every * SLOT == holds_min
    assert (exposure.start * SLOT, exposure.end * SLOT) == (START, NOON)
    assert exposure.now < 0


def test_a_cooker_is_on_the_sun_from_when_it_is_heated_empty() -> None:
    (exposure,) = exposures_of(day(), [candidate(BOX, preheat_min=30)])

    assert exposure.start * SLOT == START - 30


@pytest.mark.parametrize("cooker", [RING, HAY])
def test_what_the_sun_does_not_heat_is_not_turned(cooker: Cooker) -> None:
    assert exposures_of(day(), [candidate(cooker)]) == []


def again(**values: object) -> Day:
    here = again_with(0.0)
    assert here.replan is not None
    return replace(here, replan=replace(here.replan, minute=TEN, **values))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("aimed", "start"),
    [
        (TEN - 15, TEN - 15),  # its last aim still holds for a while
        (TEN - 120, TEN + SLOT - 40),  # overdue: it is turned at once, in the first slot from now
    ],
)
def test_in_the_midst_of_the_day_its_last_aim_counts(aimed: int, start: int) -> None:
    now = again(aimed_at={MIRROR.id: aimed})

    (exposure,) = exposures_of(now, [candidate(MIRROR, begun="cooking", on=now)])

    assert exposure.start * SLOT == start
    assert exposure.now * SLOT == TEN + SLOT
    assert exposure.every * SLOT == 40
    assert exposure.end * SLOT == NOON


def test_what_leaves_at_once_or_is_broken_or_has_left_is_not_turned() -> None:
    now = again()
    broken = again(unavailable=frozenset({MIRROR.id}))

    assert exposures_of(now, [candidate(MIRROR, lift=TEN + SLOT, begun="cooking", on=now)]) == []
    assert exposures_of(broken, [candidate(MIRROR, begun="cooking", on=broken)]) == []
    assert exposures_of(now, [candidate(MIRROR, begun="lifted", on=now)]) == []
    assert len(exposures_of(now, [candidate(MIRROR, begun="cooking", on=now)])) == 1
