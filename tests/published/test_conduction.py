"""Heat into the middle. Source: series solutions (Carslaw & Jaeger, from memory), computed."""

import numpy as np
import pytest

from events.model import Dish
from solver.thermal.food import modes


def _centre_c(
    shape: str, thickness_mm: float, a_mm2_s: float, *, start_c: float, min_: float
) -> float:
    dish = Dish(
        id="d",
        name="D",
        meal="m",
        portions=1,
        portion_kg=1,
        composition={"water": 1.0},
        shape=shape,
        thickness_mm=thickness_mm,
        diffusivity_mm2_s=a_mm2_s,
        done="melt",
        core_c=50,
    )
    found = modes(dish)
    lag = sum(
        a * np.exp(-min_ * 60 / tau) for a, tau in zip(found.amplitude, found.tau_s, strict=True)
    )
    return float(100.0 - (100.0 - start_c) * lag)


@pytest.mark.parametrize(("min_", "printed_c"), [(10, 60.2), (20, 89.8), (30, 97.4)])
def test_the_middle_of_a_5_cm_ball(min_: float, printed_c: float) -> None:
    # Printed to 0.05; our third mode gives up 0.03 °C here for the right lag in a warming pot.
    assert abs(_centre_c("pieces", 50.0, 0.145, start_c=20.0, min_=min_) - printed_c) < 0.08


@pytest.mark.parametrize(("min_", "printed_c"), [(5, 37.8), (10, 67.9), (15, 83.5), (20, 91.5)])
def test_the_middle_of_a_25_mm_slab(min_: float, printed_c: float) -> None:
    assert round(_centre_c("slab", 25.0, 0.14, start_c=5.0, min_=min_), 1) == printed_c
