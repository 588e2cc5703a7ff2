"""A forecast's own doubt: columns of a table, members of an ensemble."""

from __future__ import annotations

import json
from datetime import date
from zoneinfo import ZoneInfo

import pytest

from events.errors import FaultyEvent
from events.reading.event_file import read_table
from events.reading.forecast_file import weather_from
from events.site import Weather
from service.text.faults import said
from tests.trial_events import event_table

DAY, ZONE = date(2026, 11, 28), ZoneInfo("Africa/Johannesburg")


def read(text: str) -> Weather:
    return weather_from(text, source="test", day=DAY, zone=ZONE)


def test_a_table_may_say_what_one_day_in_ten_is_under_and_over() -> None:
    hours = read("time,cloud_pct,cloud_low_pct,cloud_high_pct\n09:00,30,10,70\n10:00,20,,\n").hours

    assert (hours[0].cloud_low_pct, hours[0].cloud_high_pct) == (10, 70)
    assert (hours[1].cloud_low_pct, hours[1].cloud_high_pct) == (None, None)


def feed(*members: list[float | None]) -> str:
    clouds = {f"cloud_cover_member{n:02d}": values for n, values in enumerate(members, 1)}
    return json.dumps({"hourly": {"time": ["2026-11-28T09:00", "2026-11-28T10:00"], **clouds}})


def test_the_members_of_an_ensemble_give_the_middle_and_both_tenths() -> None:
    # 0, 10 … 100: the tenths of eleven evenly spread values are 10 and 90, their middle 50.
    hours = read(feed(*([10.0 * n, 40.0] for n in range(11)))).hours

    first = hours[0]
    assert first.cloud_low_pct == pytest.approx(10)
    assert first.cloud_pct == pytest.approx(50)
    assert first.cloud_high_pct == pytest.approx(90)
    assert hours[1].cloud_low_pct == hours[1].cloud_high_pct == pytest.approx(40)


def test_four_members_say_nothing_of_the_tenths() -> None:
    hours = read(feed(*([10.0 * n, None] for n in range(4)))).hours

    assert hours[0].cloud_low_pct is None


@pytest.mark.parametrize(
    ("key", "value", "limit"),
    [
        ("cloud_low_pct", 31, "at most cloud_pct, 30"),
        ("cloud_high_pct", 29, "at least cloud_pct, 30"),
    ],
)
def test_low_middle_and_high_stand_in_order(key: str, value: float, limit: str) -> None:
    table = event_table(2)
    fair = {"start": "08:00", "cloud_pct": 30, "cloud_low_pct": 30, "cloud_high_pct": 30}
    table["weather"] = {"hours": [fair]}
    read_table(table, source="in order")

    table["weather"] = {"hours": [fair | {key: value}]}
    with pytest.raises(FaultyEvent) as refused:
        read_table(table, source="out of order")

    (fault,) = refused.value.faults
    assert fault.key == f"hours.0.{key}"
    assert limit in said(fault).limit
