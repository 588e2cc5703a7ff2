"""Lethality. Sources: UK ACMSF 2007 (70 °C for 2 min, z 6); Listeria z 7.5; UK FSA equivalents."""

import numpy as np
import pytest

from solver.thermal.safety import lethality_rate


def test_a_ramp_from_60_to_75_wins_the_computed_minutes() -> None:
    seconds = np.arange(0, 30 * 60, 1.0) + 0.5
    core_c = 60.0 + 0.5 * seconds / 60

    minutes = float(lethality_rate(core_c).sum() / 60)

    assert abs(minutes - 28.822) < 0.001  # printed for the smaller of both z


# z = 6: 65 °C takes 13.6 min and 75 °C takes 18 s to be worth two minutes at 70 °C. The smaller
# rate is taken, so below 70 °C z 6 rules and above it z 7.5 does (75 °C: 26 s).
def test_65_degrees_take_as_long_as_acmsf_prints() -> None:
    rate = float(lethality_rate(np.asarray([65.0]))[0])

    assert round(2 / rate, 1) == 13.6


def test_from_60_degrees_on_it_counts_by_z_6() -> None:
    rate = float(lethality_rate(np.asarray([60.0]))[0])

    assert 2 / rate == pytest.approx(2 * 10 ** (10 / 6))  # 93 min


@pytest.mark.parametrize("core_c", [59.9, 40.0, 5.0, -10.0])
def test_nothing_is_won_below_60_degrees(core_c: float) -> None:
    assert float(lethality_rate(np.asarray([core_c]))[0]) == 0.0


def test_75_degrees_are_never_credited_more_than_acmsf_does() -> None:
    rate = float(lethality_rate(np.asarray([75.0]))[0])

    assert 2 / rate * 60 >= 18.0
