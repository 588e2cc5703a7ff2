"""How cloudy a month is on its days: from a site's own twelve figures, or typical of its latitude.

A day's cloud is drawn about the month's: many days nearly clear, many nearly overcast, few between
(common practice, no published source).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from events.site import Site
from solver.solar.position import Array

# Sunny hours of 100 of daylight, by degrees from the equator: zonal means over a year, from
# memory, no published source; the same in each month. A site's own figures are better.
TYPICAL_SUNLIT_PCT = ((10, 45), (20, 55), (35, 58), (45, 45), (55, 35), (66, 32), (90, 35))
SPREAD = 1.2  # of the beta distribution of a day's cloud: under 2 has two peaks (judgement)
DRAWN, SEED = 4000, 12


@dataclass(frozen=True)
class CloudClimate:
    """Sunny hours of 100 of daylight, by month, and where they are from."""

    sunlit_pct: tuple[int, ...]
    source: Literal["given", "typical"]


def climate_of(site: Site) -> CloudClimate:
    """Return a site's own figures, or those typical of its latitude."""
    if site.sunlit_pct:
        return CloudClimate(site.sunlit_pct, "given")
    away_deg = abs(site.latitude_deg)
    typical = next(pct for up_to_deg, pct in TYPICAL_SUNLIT_PCT if away_deg <= up_to_deg)
    return CloudClimate((typical,) * 12, "typical")


def cloud_of_days(sunlit_pct: int) -> Array:
    """Return the cloud (0 to 1) of many days of a month, sorted; their mean is the month's."""
    mean = np.clip(1 - sunlit_pct / 100, 0.01, 0.99)
    rng = np.random.Generator(np.random.PCG64(SEED))
    return np.sort(rng.beta(mean * SPREAD, (1 - mean) * SPREAD, DRAWN))


def share_under(days: Array, most: float) -> float:
    """Return the share of days with no more cloud than some; none where even a clear day fails."""
    return float(np.searchsorted(days, most, side="right")) / days.size if most >= 0 else 0.0
