"""How cookers are brought back to the sun: which way, how far, and what the card then shows."""

from __future__ import annotations

import itertools
import math
from datetime import date

import numpy as np
import pytest

from events.model import Cooker, Event
from events.reading.catalogue import resolve
from events.table import changed
from solver.plan import Turn
from solver.solar.aiming import (
    Pose,
    _as_ordered,
    _dial_hour,
    _kind,
    _tries,
    direction,
    lever_cm,
    make_turn,
    most_swing_deg,
    pose_of,
    radius_cm,
)
from solver.solar.irradiance import at_minute, expected_sky
from solver.solar.tracking import aim_position, factor, interval_min, ring_for
from tests.conftest import sample_event


def cooker(like: str) -> Cooker:
    return Cooker.model_validate(resolve("cooker", {"like": like, "id": like, "name": like}))


def moved(latitude: float, longitude: float, zone: str, day: date) -> Event:
    event = sample_event("harvest-lunch")
    where = {"latitude_deg": latitude, "longitude_deg": longitude, "timezone": zone}
    return changed(event, date=day, site=changed(event.site, **where))


def turns_of_a_day(event: Event, of: Cooker, *, every: int, clock: range) -> list[Turn]:
    sky = expected_sky(event)
    pose, out = None, []
    for minute in clock:
        turn, pose = make_turn(
            of,
            sky,
            id=f"t-{minute}",
            at=at_minute(sky, minute),
            holds_until=at_minute(sky, minute + every),
            before=pose,
        )
        out.append(turn)
    return out


@pytest.fixture(scope="module")
def equator() -> Event:
    return moved(0.0, 37.0, "Africa/Nairobi", date(2027, 3, 20))


def test_at_the_equator_the_tip_stays_at_twelve_all_day(equator: Event) -> None:
    """A cooker that is tipped over takes its card along: ahead is towards 12 before and after."""
    day = turns_of_a_day(equator, cooker("mirror-140cm"), every=20, clock=range(480, 960, 20))

    assert {t.clock_hour for t in day} == {12.0}
    assert [t.kind for t in day].count("tip-over") == 1
    assert {t.kind for t in day} == {"aim", "tilt", "tip-over"}
    assert [t.over for t in day] == sorted(t.over for t in day)  # over once, and over it stays
    assert all(t.tilt_deg > 0 for t in day)


def test_a_panel_is_turned_round_not_tipped_over(equator: Event) -> None:
    day = turns_of_a_day(equator, cooker("panel-deep"), every=40, clock=range(640, 840, 40))

    assert "turn-round" in {t.kind for t in day}
    assert not any(t.over for t in day)


def test_a_tip_over_and_back_is_read_off_the_turn(equator: Event) -> None:
    day = turns_of_a_day(equator, cooker("box-large"), every=40, clock=range(600, 900, 40))

    over = next(t for t in day if t.over)
    pose = pose_of(over)
    assert pose is not None
    assert pose.over
    assert pose == Pose(pytest.approx(90.0, abs=3), pytest.approx(180 - over.to_elevation_deg))


def test_the_rim_of_a_box_is_half_its_side_and_of_a_mirror_its_radius() -> None:
    box, mirror = cooker("box-large"), cooker("mirror-140cm")
    assert box.aperture_m2 is not None
    assert mirror.aperture_m2 is not None

    assert radius_cm(box) == pytest.approx(50 * math.sqrt(box.aperture_m2))
    assert radius_cm(mirror) == pytest.approx(70.0, abs=0.1)  # 1.4 m across


@pytest.mark.parametrize(
    ("interval", "ring"),
    [(5, 0), (10, 5), (15, 10), (20, 10), (25, 10), (30, 15), (35, 20), (60, 30), (65, 30)],
)
def test_an_aim_is_ahead_by_a_ring_or_halfway_between_two(interval: int, ring: int) -> None:
    assert ring_for(interval) == ring


@pytest.mark.parametrize("latitude", [-34.6, -60.0, 35.0, 60.0])
def test_at_noon_the_tip_lies_east_in_the_south_and_west_in_the_north(latitude: float) -> None:
    """The sun goes west. Seen from its front, a card that faces north has west at 3 o'clock."""
    event = moved(latitude, 0.0, "UTC", date(2027, 3, 20))

    (turn,) = turns_of_a_day(event, cooker("mirror-140cm"), every=20, clock=range(717, 718))

    assert turn.clock_hour == (3.0 if latitude < 0 else 9.0)


def test_hands_move_a_rim_by_a_radius_and_a_box_about_its_front_edge() -> None:
    box, mirror = cooker("box-large"), cooker("mirror-140cm")

    assert lever_cm(box) == 2 * radius_cm(box)
    assert lever_cm(mirror) == radius_cm(mirror)
    # 60 cm at a rim of 70 cm are 49°; at 25 cm more than the 60° that one turn may be.
    assert most_swing_deg(mirror) == pytest.approx(math.degrees(60 / 70), abs=0.1)
    assert most_swing_deg(changed(box, aperture_m2=0.25)) == 60.0


def test_an_order_says_its_centimetres_at_the_rim_and_at_the_upper_edge(equator: Event) -> None:
    box = cooker("box-large")

    for t in turns_of_a_day(equator, box, every=40, clock=range(480, 700, 40))[1:]:
        assert t.tip_cm == pytest.approx(
            math.radians(abs(t.tilt_deg)) * 2 * radius_cm(box), abs=0.2
        )
        assert t.rim_cm == pytest.approx(math.radians(abs(t.turn_deg)) * radius_cm(box), abs=0.2)


@pytest.mark.parametrize(
    ("swing", "tilt", "kind"),
    [
        (10.0, 5.0, "turn"),
        (-10.0, 5.0, "turn"),
        (3.0, -8.0, "tilt"),
        (0.5, 0.3, "hold"),
        (55.0, 0.0, "turn-round"),
        (-55.0, 0.0, "turn-round"),
    ],
)
def test_an_order_is_named_after_its_greater_movement(swing: float, tilt: float, kind: str) -> None:
    mirror = cooker("mirror-140cm")  # 0.82 cm and 0.5 cm are no movement: hands hold it there
    before, after = Pose(10.0, 40.0), Pose((10.0 + swing) % 360, 40.0 + tilt)
    rim_cm, tip_cm = (math.radians(abs(a)) * 70.0 for a in (swing, tilt))

    assert _kind(mirror, before, after, rim_cm=rim_cm, tip_cm=tip_cm) == kind
    across = Pose(10.0, 140.0)
    assert _kind(mirror, before, across, rim_cm=0.0, tip_cm=122.0) == "tip-over"


def test_each_order_begins_where_the_one_before_it_ended(equator: Event) -> None:
    day = turns_of_a_day(equator, cooker("mirror-140cm"), every=20, clock=range(480, 960, 20))

    assert [t.first for t in day] == [True] + [False] * (len(day) - 1)
    assert (day[0].was_ring_deg, day[0].was_clock_hour) == (None, None)
    for before, after in itertools.pairwise(day):
        assert after.from_azimuth_deg == before.to_azimuth_deg
        assert after.was_ring_deg is not None
    # At the equinox on the equator the sun runs a quarter of a degree a minute.
    assert all(t.ring_deg == pytest.approx(t.ring_min / 4, abs=0.1) for t in day)


def test_tips_lie_on_half_hours_of_the_card() -> None:
    event = moved(35.0, 0.0, "UTC", date(2027, 5, 20))

    day = turns_of_a_day(event, cooker("mirror-140cm"), every=20, clock=range(480, 960, 20))

    hours = {t.clock_hour for t in day}
    assert all(h is not None and (2 * h) % 1 == 0 and 0.5 <= h <= 12 for h in hours)
    assert any(h is not None and h % 1 == 0.5 for h in hours)


def test_a_box_that_is_turned_only_is_told_by_the_hour_of_a_level_dial() -> None:
    """It faces south, the sun stands 30° west of that: the shadow lies 30° to the right of 12."""
    sun = direction(210.0, 40.0)

    assert _dial_hour(Pose(180.0, 60.0), sun) == 1.0
    assert _dial_hour(Pose(180.0, 0.0), sun) == 1.0
    assert _dial_hour(Pose(200.0, 60.0), sun) == 0.25  # 10° are a third of an hour: to the quarter


def test_a_box_that_is_turned_only_stays_as_steep_as_its_glass() -> None:
    event = moved(35.0, 0.0, "UTC", date(2027, 5, 20))
    box = changed(cooker("box-large"), glass_tilt_deg=30.0)  # its glass looks 60° up

    day = turns_of_a_day(event, box, every=40, clock=range(480, 960, 40))

    assert {t.to_elevation_deg for t in day} == {60.0}
    assert {t.tilt_deg for t in day} == {0.0}
    assert {t.ring_min for t in day} == {None}
    assert day[0].turn_deg == pytest.approx(0.0, abs=20.0)  # it is set on the sun first
    assert sum(abs(t.turn_deg) for t in day[1:]) > 60


def test_near_the_zenith_poses_with_less_swing_look_as_nearly_at_the_sun_as_they_can() -> None:
    """Facing 90° beside the sun, straight up is nearest; facing it, its own height is."""
    exact = Pose(90.0, 85.0)

    tried = {round(p.facing_deg): p.tilt_deg for p in list(_tries(Pose(60.0, 80.0), exact))[2:]}

    assert tried[90] == pytest.approx(85.0)
    assert tried[0] == pytest.approx(90.0)
    assert tried[120] == pytest.approx(math.degrees(math.atan2(11.4300523, math.cos(0.5235988))))
    assert sorted(tried) == list(range(0, 121, 5))


def test_what_no_order_can_bring_about_is_no_aim() -> None:
    high, zenith = direction(180.0, 60.0), direction(180.0, 89.5)

    assert _as_ordered(Pose(180.0, 56.0), high, 0.25) is not None  # 4° off: the ring of 15 min
    assert _as_ordered(Pose(180.0, 49.0), high, 0.25) is None  # 11°: beyond the outermost ring
    # With the sun this near the zenith no swing brings the tip halfway to 3 o'clock.
    assert _as_ordered(Pose(90.0, 86.0), zenith, 0.25) is not None
    assert _as_ordered(Pose(180.0, 86.0), direction(270.0, 86.0), 0.25) is None


def test_between_acceptance_and_lost_a_cooker_fades_straight() -> None:
    share = factor(np.asarray([0.0, 10.0, 15.0, 20.0, 30.0]), acceptance_deg=10.0, lost_deg=20.0)

    assert share.tolist() == [1.0, 1.0, 0.5, 0.0, 0.0]


def test_who_knows_only_the_ring_aims_at_the_sun_of_halfway(equator: Event) -> None:
    sky = expected_sky(equator)

    azimuth, elevation = aim_position(sky, 600, 640)

    assert (azimuth, elevation) == (sky.azimuth_deg[620], sky.elevation_deg[620])


@pytest.mark.parametrize(("acceptance", "minutes"), [(0.3, 5), (4.7, 35), (5.1, 40), (20.0, 60)])
def test_a_cooker_is_turned_before_the_sun_leaves_it_in_whole_slots(
    acceptance: float, minutes: int
) -> None:
    """At the equinox the sun runs 15° an hour: 4.7° to either side are 37.6 minutes."""
    mirror = changed(cooker("mirror-140cm"), acceptance_deg=acceptance, lost_deg=40.0)

    assert interval_min(mirror, declination_deg=0.0) == minutes
