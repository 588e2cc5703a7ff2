"""Clouds as they are reported: how long they hold, which report holds, what ends one."""

from __future__ import annotations

from datetime import timedelta

from events.diary import CLOUD_MIN, REST_OF_DAY_MIN, Cloud, cloud_over, clouds
from tests.conftest import sample_event
from tests.diaries import local, pressed

EVENT = sample_event("harvest-lunch")


def seen(*presses: tuple[str, str, dict[str, object]]) -> tuple[Cloud, ...]:
    return clouds(pressed(EVENT, *presses))


def test_a_cloud_lasts_as_long_as_it_was_said_to_look_and_no_minute_more() -> None:
    found = seen(("cloud", "10:00", {"minutes": 10}))

    assert found == (Cloud(local(EVENT, "10:00"), local(EVENT, "10:10")),)
    assert cloud_over(found, local(EVENT, "10:09")) == found[0]
    assert cloud_over(found, local(EVENT, "10:10")) is None
    assert cloud_over(found, local(EVENT, "09:59")) is None


def test_a_cloud_of_which_nobody_said_how_long_counts_half_an_hour() -> None:
    (one,) = seen(("cloud", "10:00", {}))

    assert one.ends_at - one.starts_at == timedelta(minutes=CLOUD_MIN)
    assert not one.for_the_day


def test_who_sees_the_sun_earlier_ends_it() -> None:
    (one,) = seen(("cloud", "10:00", {"minutes": REST_OF_DAY_MIN}), ("sun", "10:20", {}))

    assert one.ends_at == local(EVENT, "10:20")
    assert not one.for_the_day


def test_the_newest_report_holds_shorter_or_longer() -> None:
    shorter = seen(("cloud", "10:00", {"minutes": 60}), ("cloud", "10:10", {"minutes": 10}))
    longer = seen(("cloud", "10:00", {"minutes": 10}), ("cloud", "10:05", {"minutes": 60}))

    assert shorter[-1].ends_at == local(EVENT, "10:20")
    assert longer[-1].ends_at == local(EVENT, "11:05")
    assert [c.ends_at for c in shorter[:-1]] == [local(EVENT, "10:10")]


def test_a_report_that_comes_late_from_a_phone_counts_when_it_was_pressed() -> None:
    entries = pressed(EVENT, ("sun", "10:30", {}), ("cloud", "10:00", {"minutes": 60}))

    (one,) = clouds(entries)

    assert one.ends_at == local(EVENT, "10:30")
