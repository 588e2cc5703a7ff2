"""What probe readings say of a cooker: by hand, and on the hand-laid day."""

from __future__ import annotations

import numpy as np
import pytest

from solver.live.recalibration import recalibrated
from solver.live.strength import StrengthEstimate, _estimate, _explaining_strength
from tests.solver.checking.hand_laid import EVENT
from tests.solver.live.test_standing import Press, probed, seen

CORE_C = np.linspace(40.0, 104.0, 33)  # by strength, from 0.2 to 1.8: 2 °C for each 0.05


def test_a_reading_is_explained_by_the_strength_that_gives_it() -> None:
    found = _explaining_strength(CORE_C, 72.0, 120.0)

    assert found is not None
    assert found.value == pytest.approx(1.0)
    assert found.deviation == pytest.approx(2.0 / 40.0)  # 2 °C, where a whole strength is 40 °C


def test_near_the_boil_a_reading_says_at_least_so_strong_and_a_cold_one_at_most() -> None:
    at_boil = _explaining_strength(CORE_C, 99.0, 100.0)
    assert at_boil is not None
    assert at_boil.value == pytest.approx(1.65)  # 98 °C
    assert _explaining_strength(CORE_C + 40.0, 99.0, 100.0) is None  # as was expected anyhow
    cold = _explaining_strength(CORE_C, 30.0, 100.0)
    assert cold is not None
    assert cold.value == pytest.approx(0.2)
    assert _explaining_strength(np.full(33, 31.0), 30.0, 100.0) is None  # whatever its strength
    assert _explaining_strength(np.linspace(40.0, 44.0, 33), 42.0, 100.0) is None


def test_a_strength_moves_half_its_band_for_each_reading_and_its_band_is_eight_in_ten() -> None:
    mirror = EVENT.cooker("mirror")  # a band of 25 %

    once, twice = (_estimate(mirror, -0.4, 0.01, n) for n in (1, 2))

    assert (once.strength, twice.strength) == (0.875, 0.75)
    assert once.high - once.strength == pytest.approx(0.1 * 1.28)
    assert once.strength_band == pytest.approx(0.128 / 0.875)


def estimated(*presses: Press) -> dict[str, StrengthEstimate]:
    return {s.cooker_id: s for s in seen("11:30", *presses).strengths}


@pytest.mark.parametrize(
    ("presses", "readings"),
    [
        ((probed("10:00", "rice-1", 40.0),), 1),
        ((probed("09:35", "rice-1", 40.0),), 0),  # just put in
        ((probed("10:40", "rice-1", 60.0), ("lifted", "10:20", {"placement_id": "rice-1"})), 0),
        ((probed("10:24", "rice-1", 60.0), ("lifted", "10:20", {"placement_id": "rice-1"})), 1),
        ((probed("10:00", "rice-1", 60.0), ("to-burner", "09:50", {"placement_id": "rice-1"})), 0),
    ],
)
def test_a_reading_counts_while_its_pot_is_in_the_sun(
    presses: tuple[Press, ...], readings: int
) -> None:
    assert estimated(*presses)["box"].readings == readings


def test_one_low_reading_is_shared_out_between_the_sky_and_its_cooker() -> None:
    plain, low = estimated(), estimated(probed("10:30", "rice-1", 45.0))

    assert low["box"].strength < 0.95
    assert low["mirror"].strength == 1.0
    assert low["box"].high - low["box"].low < plain["box"].high - plain["box"].low
    assert seen("11:30", probed("10:30", "rice-1", 45.0)).haze < 0.99
    assert seen("11:30").haze == 1.0


def test_a_cooker_is_learnt_from_two_readings_on_and_never_less_sure_than_before() -> None:
    def said(readings: int, half: float) -> StrengthEstimate:
        return StrengthEstimate("mirror", 0.8, 0.8 - half, 0.8 + half, readings)

    assert recalibrated(EVENT, [said(1, 0.1)], "today") == []
    (better,) = recalibrated(EVENT, [said(2, 0.08)], "today")
    assert better.optical_efficiency == pytest.approx(
        EVENT.cooker("mirror").optical_efficiency * 0.8
    )
    assert better.strength_band_fraction == pytest.approx(0.1)
    (wide,) = recalibrated(EVENT, [said(2, 0.4)], "today")
    assert wide.strength_band_fraction == 0.25
