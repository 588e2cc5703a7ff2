"""The beam through an opening that turns but does not tilt, against pvlib's own code.

Source: cosine of incidence, and ASHRAE's 1 - b (1 / cos - 1) with b = 0.1 (from memory), both as
in pvlib; a box of level glass loses what the finding's Hay-Davies runs showed (+146 % at 20°, +32 %
1.32 at 45°, 1.10 at 60°; what glass turns back at a slant comes on top.
"""

from __future__ import annotations

import numpy as np
import pytest
from pvlib import iam, irradiance

from events.model import Cooker
from solver.solar.turned import through_glass
from solver.thermal.light import heating_w
from tests.published.runs import cooker_like

HEIGHTS = np.linspace(5.0, 90.0, 35)


@pytest.mark.parametrize("tilt", [0.0, 20.0, 30.0, 60.0])
def test_the_share_is_that_of_the_reference(tilt: float) -> None:
    aoi = irradiance.aoi(tilt, 180.0, 90.0 - HEIGHTS, np.full_like(HEIGHTS, 180.0))
    reference = np.cos(np.radians(aoi)) * iam.ashrae(aoi, b=0.1)

    assert np.abs(through_glass(tilt, HEIGHTS) - np.maximum(reference, 0.0)).max() < 1e-6


def test_a_box_that_is_tilted_square_takes_all_of_the_beam_and_a_level_one_less() -> None:
    def light(height: float, **own: object) -> float:
        box: Cooker = cooker_like("box-plain", **own)
        beam, diffuse = np.array([800.0]), np.array([100.0])
        return float(heating_w(box, beam, diffuse, elevation_deg=np.array([height]))[0])

    square = heating_w(
        cooker_like("box-plain"), np.array([800.0]), np.array([100.0]), elevation_deg=None
    )[0]

    assert light(60.0) == pytest.approx(square, rel=1e-6)  # 30° of slope: square at 60°
    for height, low, high in ((20.0, 2.3, 3.1), (45.0, 1.25, 1.5), (60.0, 1.05, 1.2)):
        assert low <= square / light(height, glass_tilt_deg=0.0) <= high
