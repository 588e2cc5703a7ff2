"""The check's own sun: a sky told every ten minutes, skylines and trees, counted by hand."""

from __future__ import annotations

from datetime import date, datetime, time

import pytest

from events.model import Event
from events.site import Obstacle, ShadeFact
from events.table import changed
from solver.checking import sun_rules
from solver.checking.breach import Breach
from solver.checking.sun_rules import sun_is_counted
from solver.contest_plan import EntrySun
from solver.plan import SunStep
from tests.solver.checking.damage import case, edited
from tests.solver.checking.hand_laid import at, minutes
from tests.solver.checking.hand_laid_contest import COOK_OFF, DAY, ONE, PLACES, SHOW, TWO

NORTH = COOK_OFF.station(PLACES["one"])


def step(n: int, beam: float = 700.0, *, diffuse: float = 0.0, **sun: float) -> SunStep:
    """Return the n-th ten minutes from ten o'clock on."""
    row = {"elevation_deg": 40.0, "azimuth_deg": 180.0, **sun}
    return SunStep.model_validate(
        {
            "at": at("10:00") + minutes(10 * n),
            "beam_w_m2": beam,
            "diffuse_w_m2": diffuse,
            "clear_w_m2": 700.0,
            "blocked": False,
            **row,
        }
    )


def counted(
    *steps: SunStep, start: str = "10:00", end: str = "11:00", event: Event = COOK_OFF
) -> float | None:
    on = case(changed(DAY, sun=steps), event)
    return sun_rules._sun_min(on, event.station(NORTH.id), at(start), at(end))


STEADY = tuple(step(n) for n in range(6))


def test_a_minute_of_sun_is_700_watts_and_a_tenth_of_the_skys_own() -> None:
    assert counted(*STEADY) == pytest.approx(60.0)
    assert counted(*STEADY, end="10:40") == pytest.approx(40.0)
    assert counted(*(step(n, 350.0, diffuse=700.0) for n in range(6))) == pytest.approx(36.0)


@pytest.mark.parametrize(
    ("start", "end", "known"),
    [
        ("10:00", "11:00", True),
        ("09:59", "11:00", False),
        ("10:00", "11:01", False),
    ],
)
def test_beyond_the_plans_own_sky_nothing_is_counted(start: str, end: str, known: bool) -> None:
    assert (counted(*STEADY, start=start, end=end) is not None) == known
    assert counted() is None


def sky(steps: tuple[SunStep, ...], clock: str) -> tuple[float, float, float, float]:
    return sun_rules._sky_at(steps, at(clock))


def test_between_the_middles_of_two_steps_the_sky_changes_evenly() -> None:
    """Five and fifteen past are the middles of the first two."""
    two = (
        step(0, 100.0, diffuse=40.0, elevation_deg=30.0, azimuth_deg=350.0),
        step(1, 300.0, diffuse=80.0, elevation_deg=34.0, azimuth_deg=10.0),
    )

    assert sky(two, "10:05") == pytest.approx((100.0, 40.0, 30.0, 350.0))
    assert sky(two, "10:10") == pytest.approx((200.0, 60.0, 32.0, 0.0))
    assert sky(two, "10:13") == pytest.approx((260.0, 72.0, 33.2, 6.0))
    assert sky(two, "10:15") == pytest.approx((300.0, 80.0, 34.0, 10.0))
    # Before the first middle and after the last it goes on as there, never below nothing.
    assert sky(two, "10:18")[0] == pytest.approx(360.0)
    assert sky(two, "10:00")[:2] == pytest.approx((0.0, 20.0))
    back = (two[1], changed(two[0], at=two[1].at + minutes(10)))
    assert sky(back, "10:20")[3] == pytest.approx(0.0)


def test_each_moment_has_the_two_steps_about_it() -> None:
    rising = tuple(step(n, 100.0 * n**2) for n in range(4))

    assert [sky(rising, c)[0] for c in ("10:10", "10:20", "10:30")] == pytest.approx(
        [50.0, 250.0, 650.0]
    )


# --- what stands around a place


def skyline(azimuth: float, event: Event = COOK_OFF) -> float:
    return sun_rules._skyline_deg(case(DAY, event), event.station(NORTH.id), azimuth)


def test_a_skyline_is_straight_between_its_points_right_round() -> None:
    event = edited(COOK_OFF, "stations", NORTH.id, skyline=((270.0, 30.0), (90.0, 10.0)))

    for azimuth, height in ((90, 10), (180, 20), (270, 30), (315, 25), (0, 20), (45, 15)):
        assert skyline(azimuth, event) == pytest.approx(height), azimuth
    assert skyline(180) == 0.0
    one = edited(COOK_OFF, "stations", NORTH.id, skyline=((90.0, 10.0),))
    assert skyline(300, one) == pytest.approx(10.0)


def test_a_place_without_a_skyline_of_its_own_has_the_sites() -> None:
    site = changed(COOK_OFF.site, skyline=((90.0, 12.0), (180.0, 12.0)))
    event = changed(COOK_OFF, site=site)

    assert skyline(100, event) == pytest.approx(12.0)
    own = edited(event, "stations", NORTH.id, skyline=((90.0, 5.0), (180.0, 5.0)))
    assert skyline(100, own) == pytest.approx(5.0)


@pytest.mark.parametrize("where", ["site", "station"])
def test_a_tree_hides_what_is_behind_its_width(where: str) -> None:
    """Ten metres high and away it is 45° high; four metres wide, 11.3° to either side of north."""
    tree = Obstacle(bearing_deg=0.0, height_m=10.0, distance_m=10.0, width_m=4.0)
    event = edited(COOK_OFF, "stations", NORTH.id, obstacles=(tree,))
    if where == "site":
        event = changed(COOK_OFF, site=changed(COOK_OFF.site, obstacles=(tree,)))

    assert skyline(0, event) == pytest.approx(45.0)
    assert skyline(11.2, event) == skyline(348.8, event) == pytest.approx(45.0)
    assert skyline(11.4, event) == skyline(348.6, event) == skyline(180, event) == 0.0
    behind = ((350.0, 60.0), (10.0, 60.0))
    hill = edited(event, "stations", NORTH.id, skyline=behind)
    assert skyline(0, hill) == pytest.approx(60.0)


@pytest.mark.parametrize(("height", "minutes_of_sun"), [(39.9, 60.0), (40.0, 6.0), (40.1, 6.0)])
def test_a_sun_that_is_not_above_its_skyline_leaves_the_skys_own_light(
    height: float, minutes_of_sun: float
) -> None:
    event = edited(COOK_OFF, "stations", NORTH.id, skyline=((90.0, height), (270.0, height)))
    steps = tuple(step(n, 630.0, diffuse=700.0) for n in range(6))

    assert counted(*steps, event=event) == pytest.approx(minutes_of_sun)


# --- what is told


def said(
    *told: tuple[str, int], event: Event = COOK_OFF, until: datetime | None = None
) -> list[Breach]:
    suns = tuple(EntrySun(entry_id=e, sun_min=m, water_min=None) for e, m in told)
    tastings = (ONE, changed(TWO, at=until or TWO.at))
    plan = changed(SHOW, sun=suns, tastings=tastings)
    return list(sun_is_counted(case(changed(DAY, contest=plan), event), plan))


def test_an_entrys_minutes_are_counted_from_when_it_may_be_cooked() -> None:
    """Three hours before two, and before ten past, at 700 W/m²."""
    assert said(("one", 180), ("two", 180)) == []
    assert said(("one", 181), ("two", 179)) == []
    assert said(("one", 182), ("two", 178)) == [
        Breach("wrong-sun-minutes", ("one",), 182, 180),
        Breach("wrong-sun-minutes", ("two",), 178, 180),
    ]
    assert said(("one", 180), ("two", 180), until=TWO.at + minutes(20)) == [
        Breach("wrong-sun-minutes", ("two",), 180, 200)
    ]


def test_what_other_rules_name_or_hangs_on_another_days_sun_is_not_counted() -> None:
    wrong = (("one", 1), ("two", 1))
    shade = (ShadeFact(date=date(2027, 6, 1), at=time(10)),)
    assert len(said(*wrong)) == 2
    assert [b.ids for b in said(wrong[0])] == [("one",)]
    gone = changed(COOK_OFF, stations=tuple(s for s in COOK_OFF.stations if s.id != NORTH.id))
    assert [b.ids for b in said(*wrong, event=gone)] == [("two",)]
    seen = edited(COOK_OFF, "stations", NORTH.id, shade=shade)
    assert [b.ids for b in said(*wrong, event=seen)] == [("two",)]
    everywhere = changed(COOK_OFF, site=changed(COOK_OFF.site, shade=shade))
    assert said(*wrong, event=everywhere) == []
