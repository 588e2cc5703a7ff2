"""Openings that are turned but not tilted, under a sun laid by hand."""

from __future__ import annotations

import numpy as np
import pytest

from events.model import Cooker
from solver.solar.tracking import interval_min
from solver.solar.turned import choose_facing, turned_share, worst_share
from tests.published.runs import cooker_like
from tests.solver.solar.test_sky import laid

LEVEL = cooker_like("box-large", glass_tilt_deg=0.0, acceptance_deg=10.0, lost_deg=20.0)
STEEP = cooker_like("box-large", glass_tilt_deg=60.0, acceptance_deg=60.0, lost_deg=80.0)
TILTED = cooker_like("mirror-140cm", acceptance_deg=0.5, lost_deg=1.0)
NOON = 720


def one(values: float) -> np.ndarray:
    return np.asarray([values])


@pytest.mark.parametrize(("aside", "share"), [(0.0, 1.0), (-30.0, 0.513), (30.0, 0.513)])
def test_a_sun_aside_is_as_far_off_as_on_the_sphere(aside: float, share: float) -> None:
    """At 60° up, 30° aside are 2 asin(cos 60° sin 15°) = 14.87° apart; 20° is lost, 10° is not."""
    assert turned_share(LEVEL, one(60.0), one(aside))[0] == pytest.approx(share, abs=1e-3)


def test_the_least_of_an_aim_is_where_the_sun_has_run_farthest_from_it() -> None:
    """The sun runs half a degree a minute before noon, and stands after it."""
    azimuth = 180.0 + np.minimum(np.arange(1440.0) - NOON, 0.0) / 2
    sky = laid([20.0] * 1440, azimuth.tolist())
    every = 60  # an aim lasts: half an hour to either side

    assert interval_min(LEVEL, declination_deg=0.0) == every

    least = worst_share(LEVEL, sky, 0.0)

    aside = turned_share(LEVEL, one(20.0), one(every / 4))[0]  # half an hour before: 15°
    assert aside < 0.7
    assert least[NOON] == pytest.approx(aside * 0.99)
    assert least[NOON + every] == pytest.approx(0.99)


def test_what_is_tilted_keeps_what_the_end_of_its_interval_leaves() -> None:
    """Five minutes at the equinox are 1.25°: aimed ahead, 0.625° off; a whole degree is lost."""
    sky = laid([60.0] * 1440, [180.0] * 1440)

    assert worst_share(TILTED, sky, 0.0) == pytest.approx(np.full(1440, 0.75), abs=1e-3)


def facing(
    azimuth: list[float], height: list[float], stood: float | None, box: Cooker = STEEP
) -> float:
    sky = laid(height, azimuth)
    return choose_facing(box, sky, now=0, until=len(azimuth) - 1, stood_deg=stood)


def test_a_box_faces_where_the_dials_mark_keeps_the_most_of_the_sun() -> None:
    azimuth = [100.0 + k for k in range(61)]

    assert facing(azimuth, [30.0] * 61, None) in (122.5, 130.0, 137.5)
    # A sun that climbs is worth the most at the end: level glass turns a low one back.
    late = facing(azimuth, [5.0] * 55 + [60.0] * 6, None, LEVEL)
    assert late >= 145.0
    assert (late - 100.0) % 7.5 == 0.0  # a mark of the dial by the sun of now


def test_a_box_is_turned_no_farther_than_it_must_be_also_over_north() -> None:
    azimuth, height = [355.0 + k / 6 for k in range(61)], [30.0] * 61  # 355° to 5°
    azimuth = [a % 360.0 for a in azimuth]

    assert facing(azimuth, height, 2.0) == 2.0  # as it stands it is as good
    turned = facing(azimuth, height, 60.0)
    assert turned < 60.0  # not back round past north
