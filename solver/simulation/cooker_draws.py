"""How a cooker may differ from its description on the day: what it wins, and what it loses.

Spreads are judged, none measured.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from solver.thermal.energy_balance import Array

BAND_TO_SIGMA = 1 / 1.28  # a band is read as eight of ten cookers: 1.28 standard deviations
LOSS_SHARE = 0.5  # losses are off by half as much as strength, apart from it: judgement
# Dust, a shadow, a turn that is not quite right: what goes wrong on the day only takes away. One
# standard deviation of a one-sided normal: judgement.
SLIPS_FRACTION = 0.05
GLAZED_SLIPS_FRACTION = 0.12  # glass over food that warms fogs, and a lid's seal leaks
LEAST = 0.3


@dataclass(frozen=True)
class CookerDraws:
    """Factors on one cooker's gain and on its losses, by draw: 1 is as described."""

    strength: Array
    loss: Array


def drawn_cooker(band_fraction: float, normal: Callable[[], Array], *, glazed: bool) -> CookerDraws:
    """Return draws of a cooker whose strength lies in a band; `normal` gives fresh normals."""
    sigma = band_fraction * BAND_TO_SIGMA
    slips = GLAZED_SLIPS_FRACTION if glazed else SLIPS_FRACTION
    strength = (1.0 + sigma * normal()) * (1.0 - slips * np.abs(normal()))
    loss = 1.0 + LOSS_SHARE * sigma * normal()
    return CookerDraws(np.maximum(strength, LEAST), np.maximum(loss, LEAST))
