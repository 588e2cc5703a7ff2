"""Cloud: expected and seeded skies agree on how much sun is left.

Source: Bright et al. 2015, Solar Energy 115:229 (factors inside cloud). That the mean of many
minute skies equals the expected sky, p + (1 - p) f = 1 - n, is our own condition on them.
"""

from __future__ import annotations

import numpy as np
import pytest

from events.model import Weather, WeatherHour
from events.reading.event_file import read_event, sample_text
from solver.solar.irradiance import expected_sky, in_cloud_factor, seeded_sky, sunlit_share


@pytest.mark.parametrize("cloud", [0, 0.25, 0.5, 0.75, 0.875, 1])
def test_the_shares_leave_what_the_forecast_leaves(cloud: float) -> None:
    p, f = sunlit_share(cloud), in_cloud_factor(cloud)

    assert p + (1 - p) * f == pytest.approx(1 - cloud)
    assert 0 <= f <= 1 - cloud
    assert 0 <= p <= 1


@pytest.mark.parametrize("cloud", [0, 25, 50, 75, 87.5, 100])
def test_the_mean_of_a_thousand_skies_is_the_expected_sky(cloud: float) -> None:
    event = read_event(sample_text("harvest-lunch"))
    hours = (WeatherHour.model_validate({"start": "08:00", "cloud_pct": cloud}),)
    event = event.model_copy(update={"weather": Weather(hours=hours)})
    expected = expected_sky(event)
    lit = expected.clear_beam_w_m2 > 300

    skies = [seeded_sky(event, seed=k).beam_w_m2[lit] for k in range(1000)]

    left = np.mean(skies) / expected.clear_beam_w_m2[lit].mean()
    assert left == pytest.approx(1 - cloud / 100, abs=0.01)
