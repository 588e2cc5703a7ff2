"""Boiling point by altitude. Source: ICAO standard atmosphere with IAPWS-IF97, computed."""

import pytest

from events.errors import OutOfRange
from solver.thermal.food import boiling_c


@pytest.mark.parametrize(
    ("altitude_m", "printed"),
    [(0, 99.97), (500, 98.31), (1000, 96.65), (1500, 94.98), (2000, 93.32), (3000, 89.97)],
)
def test_water_boils_where_the_standard_says(altitude_m: float, printed: float) -> None:
    assert round(boiling_c(altitude_m), 2) == printed


def test_an_altitude_off_the_earth_is_refused_with_its_value() -> None:
    with pytest.raises(OutOfRange, match="altitude_m, 9000"):
        boiling_c(9000.0)


def test_nan_never_passes() -> None:
    with pytest.raises(OutOfRange):
        boiling_c(float("nan"))
