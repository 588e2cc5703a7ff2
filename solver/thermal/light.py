"""The light that becomes heat in a cooker: its opening, its tilt, and the pot that stands in it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from events.model import Cooker
from solver.solar.turned import through_glass
from solver.thermal.pots import pot_side_m2

Array = NDArray[np.float64]

# A good folded panel shows about eight images of the pot: common practice, no published source.
PANEL_IMAGES = 8.0
TEST_LOAD_KG_M2 = 7.0  # of water for each m² of opening: ASAE S580.1
TEST_POT_LITRES_KG = 1.3  # the pot a test is made in, for each litre of its water: typical


def heating_w(
    cooker: Cooker, beam_w_m2: Array, diffuse_w_m2: Array, *, elevation_deg: Array | None
) -> Array:
    """Return the heat won from the sun (or the flame), minute by minute.

    `elevation_deg` is the sun's height, for an opening of fixed tilt; None where the sun stands
    square on the opening, as in a test. A panel's figure is that with a pot of the test's size.
    """
    if cooker.on_gas:
        return np.full_like(beam_w_m2, cooker.optical_efficiency * (cooker.power_w or 0.0))
    if not cooker.on_sun:
        return np.zeros_like(beam_w_m2)
    beam = beam_w_m2
    if cooker.glass_tilt_deg is not None and elevation_deg is not None:
        beam = beam * through_glass(cooker.glass_tilt_deg, elevation_deg)
    light = beam + cooker.diffuse_fraction * diffuse_w_m2
    return cooker.optical_efficiency * (cooker.aperture_m2 or 0.0) * light


def pot_light_fraction(cooker: Cooker, litres: float) -> float:
    """Return the light on a pot of some litres, against one of the size that a test is made in.

    A panel lights a small pot by its images, and a large one by all of its opening at most.
    """
    if not cooker.nature.lights_the_pot or cooker.aperture_m2 is None:
        return 1.0
    test_litres = TEST_LOAD_KG_M2 * cooker.aperture_m2 * TEST_POT_LITRES_KG
    return _caught(cooker.aperture_m2, litres) / _caught(cooker.aperture_m2, test_litres)


def _caught(aperture_m2: float, litres: float) -> float:
    """Return the share of a panel's light that meets the pot; images overlap on a large one."""
    return 1.0 - math.exp(-PANEL_IMAGES * pot_side_m2(litres) / aperture_m2)
