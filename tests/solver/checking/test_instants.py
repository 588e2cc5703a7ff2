"""Rules of the timetable on a plan laid by hand: instants, servings, hours, wind."""

from __future__ import annotations

from datetime import time

import pytest

from events.site import Weather, WeatherHour
from events.table import changed
from solver.checking.breach import Breach
from solver.checking.rules import (
    hours_are_kept,
    instants_are_in_order,
    served_when_promised,
)
from tests.solver.checking.damage import (
    again,
    edited,
    event,
    named,
    place,
)
from tests.solver.checking.hand_laid import EVENT, PLAN, at, minutes

# --- instants


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("bread-1", {"preheat_at": at("09:01")}),
        ("rice-1", {"hot_at": at("09:29")}),
        ("rice-1", {"done_at": at("10:19"), "fast_at": at("10:00")}),
        ("rice-1", {"done_at": at("12:01")}),
        ("rice-1", {"lifted_at": at("10:59")}),
        ("rice-1", {"lifted_at": at("13:01")}),
        ("rice-1", {"last_plate_at": at("11:59")}),
        ("rice-1", {"served_at": at("10:59")}),
        ("stew-1", {"off_at": at("09:59"), "lifted_at": at("09:50")}),
        ("stew-1", {"off_at": at("12:31")}),
        ("rice-1", {"hot_at": at("09:30"), "done_at": at("09:30"), "fast_at": at("09:30")}),
    ],
)
def test_instants_are_in_order(name: str, values: dict[str, object]) -> None:
    found = named(instants_are_in_order, place(name, **values))

    assert Breach("times-not-in-order", (name,)) in found


def test_a_pot_may_stay_hot_where_it_is_until_its_last_plate() -> None:
    """It may also be lifted the minute it is done, or served the minute it is lifted."""
    for clock in ("11:00", "12:00", "12:30", "13:00"):
        row = place("rice-1", lifted_at=at(clock))
        assert named(instants_are_in_order, row) == []


def test_a_move_has_its_end_after_its_beginning() -> None:
    no_end = named(instants_are_in_order, place("stew-1", off_at=None))
    no_move = named(instants_are_in_order, place("stew-1", then_cooker_id=None))
    assert [b.rule for b in no_end] == ["move-without-its-end"]
    assert [b.rule for b in no_move] == ["move-without-its-end"]
    for values in ({"lifted_at": at("09:00")}, {"lifted_at": at("12:30")}):
        found = named(instants_are_in_order, place("stew-1", **values))
        said = Breach("move-not-in-order", ("stew-1",), values["lifted_at"], at("12:30"))
        assert found == [said]
    just = place("stew-1", lifted_at=at("12:29"))
    assert named(instants_are_in_order, just) == []


def test_a_fast_sky_is_sooner_and_a_poor_one_later() -> None:
    def said(**values: object) -> list[str]:
        return [b.rule for b in named(instants_are_in_order, place("rice-1", **values))]

    assert said(fast_at=at("11:00"), cautious_at=at("11:00")) == []
    assert said(cautious_at=None) == []
    assert said(fast_at=at("11:01")) == ["estimates-not-in-order"]
    assert said(cautious_at=at("10:59")) == ["estimates-not-in-order"]


def test_food_is_ready_and_rested_when_it_is_served() -> None:
    """Bread is done at 10 and rests for 15 min; tea at 11:50 rests for 5."""
    slow = event("dishes", "tea", rest_min=10)
    slower = event("dishes", "tea", rest_min=11)

    assert named(instants_are_in_order, place("tea-1", margin_min=0), slow) == []
    assert named(instants_are_in_order, place("tea-1", margin_min=-1), slower) == [
        Breach("not-ready-when-served", ("tea-1",), -1, 0)
    ]


def test_minutes_say_what_instants_say() -> None:
    margin = named(instants_are_in_order, place("bread-1", margin_min=120))
    assert margin == [Breach("wrong-margin", ("bread-1",), 120, 105)]
    held = named(instants_are_in_order, place("bread-1", held_min=105))
    assert held == [Breach("wrong-margin", ("bread-1",), 105, 105)]


def test_food_is_not_held_longer_than_it_may() -> None:
    assert named(instants_are_in_order, event=event("dishes", "stew", holding_max_min=120)) == []
    assert named(instants_are_in_order, event=event("dishes", "stew", holding_max_min=119)) == [
        Breach("held-too-long", ("stew-1",), 120, 119)
    ]
    # While it rests it is held as well.
    assert named(instants_are_in_order, event=event("dishes", "bread", holding_max_min=119)) == [
        Breach("held-too-long", ("bread-1",), 120, 119)
    ]


# --- served, hours


@pytest.mark.parametrize(("name", "begins"), [("stew-1", "12:00"), ("stew-2", "12:30")])
def test_a_batch_is_promised_for_its_wave(name: str, begins: str) -> None:
    def said(clock: str) -> list[str]:
        row = place(name, promised_at=at(clock), served_at=at(clock))
        return [b.rule for b in named(served_when_promised, row)]

    start = at(begins)
    assert said(begins) == []
    assert said((start - minutes(4)).strftime("%H:%M")) == []
    assert said((start - minutes(5)).strftime("%H:%M")) == ["not-its-meals-time"]
    assert said((start + minutes(1)).strftime("%H:%M")) == ["not-its-meals-time"]


def test_every_batch_has_its_own_wave() -> None:
    """Of three batches for two waves, the first two are for the first."""
    rows = [(1, "12:00"), (2, "12:00"), (3, "12:30")]
    for batch, clock in rows:
        row = place(
            "stew-1", batch=batch, batches=3, promised_at=at("10:00"), served_at=at("10:00")
        )
        found = [b for b in named(served_when_promised, row) if b.ids == ("stew-1", "lunch")]
        assert found == [Breach("not-its-meals-time", ("stew-1", "lunch"), at("10:00"), at(clock))]


def test_only_a_pot_that_had_begun_is_served_late() -> None:
    late, early = place("rice-1", served_at=at("12:05")), place("rice-1", served_at=at("11:55"))

    for row, clock in ((late, "12:05"), (early, "11:55")):
        found = named(served_when_promised, row)
        assert found == [Breach("not-served-when-promised", ("rice-1",), at(clock), at("12:00"))]
    assert named(served_when_promised, again("11:00", "rice-1", old=late)) == []
    assert named(served_when_promised, again("11:00", "rice-1", old=early))


def open_for(start: str | None, end: str | None, *, site: bool = False) -> list[Breach]:
    hours = {
        "opens": at(start).time() if start else None,
        "closes": at(end).time() if end else None,
    }
    hours = {k: v for k, v in hours.items() if v is not None}
    if site:
        days = changed(EVENT, site=changed(EVENT.site, **hours))
    else:
        days = event("cookers", "oven", **hours)
    return named(hours_are_kept, event=days)


def test_cookers_are_used_in_their_hours_and_the_sites() -> None:
    """The oven is preheated from 8:30 and empty at 10:10."""
    outside = [Breach("cooker-outside-its-hours", ("bread-1", "oven"))]

    assert open_for("08:30", "10:10") == []
    assert open_for("08:31", None) == outside
    assert open_for(None, "10:09") == outside
    assert open_for("07:00", "17:00") == []
    assert open_for("08:31", None, site=True) == outside
    assert [b.ids[0] for b in open_for(None, "12:59", site=True)] == ["rice-1", "lentils-1"]


def test_a_ring_to_which_a_pot_is_moved_on_has_its_hours_and_its_wind_too() -> None:
    """Stew stands on it from 11:40 to 12:45, in 4 m/s from noon on; tea from 11:30 to noon."""

    def said(name: str, **values: object) -> list[str]:
        return [b.ids[0] for b in named(hours_are_kept, event=event("cookers", name, **values))]

    assert said("ring", opens=time(11, 30), closes=time(12, 45), wind_limit_m_s=4.0) == []
    assert said("ring", opens=time(11, 31)) == ["tea-1"]
    assert said("ring", opens=time(11, 41)) == ["tea-1", "stew-2"]
    assert said("ring", closes=time(12, 44)) == ["stew-2"]
    assert said("ring", wind_limit_m_s=3.9) == ["stew-2"]
    # An insulated box burns nothing: pots stay in it for as long as people eat.
    assert said("hay", opens=time(12), closes=time(12, 5), wind_limit_m_s=0.1) == []


def test_no_cooker_stands_in_more_wind_than_it_can() -> None:
    """1 m/s until noon, then 4, and 6 from two o'clock."""

    def said(name: str, limit: float) -> list[tuple[str, object, object]]:
        found = named(hours_are_kept, event=event("cookers", name, wind_limit_m_s=limit))
        return [(b.ids[0], b.value, b.limit) for b in found]

    assert said("mirror", 1.0) == []
    assert said("mirror", 0.9) == [("stew-1", 1.0, 0.9), ("stew-2", 1.0, 0.9)]
    assert said("box", 4.0) == []
    assert said("box", 3.9) == [("rice-1", 4.0, 3.9), ("lentils-1", 4.0, 3.9)]
    reverse = changed(EVENT, weather=Weather(hours=EVENT.weather.hours[::-1]))
    reverse = edited(reverse, "cookers", "box", wind_limit_m_s=3.9)
    assert len(named(hours_are_kept, event=reverse)) == 2
    calm = edited(changed(reverse, weather=Weather()), "cookers", "box", wind_limit_m_s=0.1)
    assert named(hours_are_kept, event=calm) == []


def test_the_first_hours_wind_is_that_of_the_morning_too_and_the_strongest_counts() -> None:
    days = event("cookers", "oven", wind_limit_m_s=5.0)

    def said(*hours: tuple[int, float]) -> list[object]:
        rows = tuple(WeatherHour(start=time(h), wind_m_s=w) for h, w in hours)
        return [
            b.value for b in named(hours_are_kept, event=changed(days, weather=Weather(hours=rows)))
        ]

    assert said((14, 6.0)) == [6.0]
    assert said((6, 6.0), (9, 1.0)) == [6.0]
    assert said((6, 1.0), (9, 6.0)) == [6.0]


def test_wind_is_that_of_the_hours_it_stands_there() -> None:
    """The tea stands alone on its ring from 11:30 to 12:00, not longer; the oven from 8:30."""
    days = edited(
        event("cookers", "ring", wind_limit_m_s=1.0), "cookers", "oven", wind_limit_m_s=1.0
    )
    alone = changed(PLAN, placements=tuple(p for p in PLAN.placements if p.id != "stew-2"))
    hours = (
        changed(EVENT.weather.hours[0], start=time(8, 40), wind_m_s=1.0),
        *EVENT.weather.hours[1:],
    )

    assert named(hours_are_kept, alone, days) == []
    gust = changed(hours[0], start=time(9), wind_m_s=3.0)
    first = changed(days, weather=Weather(hours=(gust, *hours[1:])))
    assert {b.ids[0] for b in named(hours_are_kept, alone, first)} == {"bread-1", "tea-1"}
    later = changed(days, weather=Weather(hours=(hours[0], changed(gust, start=time(10, 10)))))
    assert {b.ids[0] for b in named(hours_are_kept, alone, later)} == {"tea-1"}
    passed = changed(gust, start=time(6)), changed(hours[0], start=time(8, 30), wind_m_s=1.0)
    for after in (hours[1:], ()):
        gone = changed(days, weather=Weather(hours=(*passed, *after)))
        assert named(hours_are_kept, alone, gone) == []
