"""A month's cloud on its days: about its mean, often clear or overcast; typical where asked."""

from __future__ import annotations

import numpy as np
import pytest

from events.table import changed
from solver.solar.cloud_climate import climate_of, cloud_of_days, share_under
from tests.conftest import sample_event

SITE = sample_event("harvest-lunch").site


@pytest.mark.parametrize("sunlit_pct", [0, 20, 50, 80, 100])
def test_days_lie_about_the_month_and_fewest_between(sunlit_pct: int) -> None:
    days = cloud_of_days(sunlit_pct)

    assert float(days.mean()) == pytest.approx(1 - sunlit_pct / 100, abs=0.02)
    if sunlit_pct == 50:
        middle = np.mean((days > 0.4) & (days < 0.6))
        assert middle < np.mean(days < 0.2)
        assert middle < np.mean(days > 0.8)


def test_a_sunnier_month_has_more_days_under_any_cloud() -> None:
    shares = [share_under(cloud_of_days(pct), 0.5) for pct in (10, 40, 70, 95)]

    assert shares == sorted(shares)
    assert share_under(cloud_of_days(70), 1.0) == 1
    assert share_under(cloud_of_days(70), -1.0) == 0


def test_a_sites_own_figures_come_before_those_of_its_latitude() -> None:
    own = changed(SITE, sunlit_pct=tuple(range(40, 52)))

    assert climate_of(own).source == "given"
    assert climate_of(own).sunlit_pct == own.sunlit_pct
    typical = climate_of(changed(SITE, sunlit_pct=()))
    assert typical.source == "typical"
    assert len(set(typical.sunlit_pct)) == 1
    north, south = (
        climate_of(changed(SITE, sunlit_pct=(), latitude_deg=deg)) for deg in (30.0, -30.0)
    )
    assert north == south
