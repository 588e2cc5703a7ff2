"""How cookers are brought back to the sun: which way, how far, and what the card then shows."""

from __future__ import annotations

import math
from datetime import date

import pytest

from events.model import Cooker, Event
from events.reading.catalogue import resolve
from events.table import changed
from solver.plan import Turn
from solver.solar.aiming import Pose, make_turn, pose_of, radius_cm
from solver.solar.irradiance import at_minute, expected_sky
from solver.solar.tracking import ring_for
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
