"""Rules of the timetable on a plan laid by hand: capacity, sun, talks, levels."""

from __future__ import annotations

from datetime import time

import pytest

from events.model import Event
from events.table import changed
from solver.checking.breach import Breach
from solver.checking.rules import (
    levels_are_what_they_say,
    one_load_at_a_time,
    pots_are_stock,
    sun_is_there,
    talks_get_their_dish,
)
from solver.plan import Plan, Stretch, Window
from solver.policy import CHANGE_STEPS
from tests.solver.checking.damage import (
    again,
    edited,
    event,
    named,
    place,
)
from tests.solver.checking.hand_laid import EVENT, PLAN, at

# --- capacity


def test_a_sun_cooker_holds_one_load() -> None:
    touching = place("stew-2", loaded_at=at("10:20"))
    over = place("stew-2", loaded_at=at("10:19"))

    assert named(one_load_at_a_time, touching) == []
    assert named(one_load_at_a_time, over) == [Breach("cooker-overfull", ("mirror",), 2, 1)]
    roomy = event("cookers", "mirror", pots_max=3)
    assert named(one_load_at_a_time, over, roomy) == [Breach("cooker-overfull", ("mirror",), 2, 1)]
    preheated = place("stew-2", preheat_at=at("10:19"))
    assert named(one_load_at_a_time, preheated)


@pytest.mark.parametrize(
    ("cooker", "values", "most"),
    [("ring", {"pots_max": 1}, 2), ("hay", {"pots_max": 1}, None)],
)
def test_a_ring_and_an_insulated_box_hold_as_many_pots_as_they_may(
    cooker: str, values: dict[str, object], most: int | None
) -> None:
    """Tea is on the ring from 11:30 to noon; the second stew comes to it at 11:40."""
    found = named(one_load_at_a_time, event=event("cookers", cooker, **values))

    assert found == ([Breach("cooker-overfull", (cooker,), most, 1)] if most else [])


def test_places_on_a_ring_are_taken_until_the_pot_leaves_it() -> None:
    one = event("cookers", "ring", pots_max=1)

    assert named(one_load_at_a_time, place("tea-1", lifted_at=at("11:40")), one) == []
    assert named(one_load_at_a_time, place("tea-1", lifted_at=at("11:41")), one)
    late = place("tea-1", loaded_at=at("12:45"), lifted_at=at("12:50"))
    assert named(one_load_at_a_time, late, one) == []
    assert named(one_load_at_a_time, place("tea-1", late, loaded_at=at("12:44")), one)
    no_end = place(
        "stew-2", place("tea-1", loaded_at=at("12:29"), lifted_at=at("13:00")), off_at=None
    )
    assert named(one_load_at_a_time, no_end, one)  # it stays there until it is served
    assert named(one_load_at_a_time, place("tea-1", no_end, loaded_at=at("12:30")), one) == []


def test_two_pots_of_a_load_take_two_places_on_a_ring() -> None:
    onto = {"then_cooker_id": "ring", "off_at": at("13:00"), "lifted_at": at("12:50")}
    on_gas = {"cooker_id": "ring", "loaded_at": at("12:45")}
    for values in (onto, on_gas):
        both = place("rice-1", place("lentils-1", **values), **values)
        assert named(one_load_at_a_time, both) == []
        tea = place("tea-1", both, loaded_at=at("12:46"), lifted_at=at("12:55"))
        assert named(one_load_at_a_time, tea) == [Breach("cooker-overfull", ("ring",), 3, 2)]


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("cooker_id", "oven"),
        ("loaded_at", at("09:35")),
        ("lifted_at", at("12:00")),
        ("served_at", at("12:05")),
    ],
)
def test_what_is_loaded_together_stays_together(key: str, value: object) -> None:
    found = named(one_load_at_a_time, place("rice-1", **{key: value}))

    assert Breach("load-not-together", ("box-09:30",)) in found


def test_planned_again_pots_of_a_load_may_leave_it_one_by_one() -> None:
    """Lentils stay until one o'clock, rice leaves at 11:30: the box is taken until one."""
    apart = place("rice-1", fill="box-other", lifted_at=at("11:30"))
    begun = again("11:00", "rice-1", "lentils-1", old=apart)

    def next_in(clock: str, old: Plan) -> list[Breach]:
        return named(
            one_load_at_a_time,
            place("tea-1", old, cooker_id="box", loaded_at=at(clock), lifted_at=at("13:30")),
        )

    assert named(one_load_at_a_time, begun) == []
    assert next_in("13:00", begun) == []
    assert next_in("12:59", begun) == [Breach("cooker-overfull", ("box",), 2, 1)]
    other_way = place("lentils-1", lifted_at=at("11:30"), fill="box-other")
    begun = again("11:00", "rice-1", "lentils-1", old=other_way)
    assert next_in("12:59", begun) == [Breach("cooker-overfull", ("box",), 2, 1)]
    assert named(one_load_at_a_time, apart)


def test_planned_again_only_what_is_to_come_takes_a_place() -> None:
    """The first stew left the mirror at 10:20, and its insulated box at 12:30."""
    early = place("stew-2", loaded_at=at("10:00"))
    assert named(one_load_at_a_time, early)
    assert named(one_load_at_a_time, again("10:20", "stew-1", "stew-2", old=early)) == []
    in_hay = place("stew-2", then_cooker_id="hay")
    assert named(one_load_at_a_time, in_hay)
    assert named(one_load_at_a_time, again("10:20", old=in_hay)) == []  # where it is, is not judged
    assert named(one_load_at_a_time, again("10:19", old=in_hay))


def test_a_load_that_waits_in_the_plan_before_is_taken_from_its_loading() -> None:
    begun = again("08:00", "stew-1")
    ends = place("stew-2", begun, loaded_at=at("08:30"), lifted_at=at("09:00"))

    assert named(one_load_at_a_time, ends) == []
    assert named(one_load_at_a_time, place("stew-2", ends, lifted_at=at("09:01")))


def test_pots_are_stock() -> None:
    """Two pots: the first stew's is washed by 12:15."""
    one = event("pots", "pot", count=1)
    assert named(pots_are_stock) == []
    assert named(pots_are_stock, event=one) == [Breach("too-few-pots", ("pot",), 2, 1)]
    later = place("stew-2", loaded_at=at("12:15"))
    assert named(pots_are_stock, later, one) == []
    assert named(pots_are_stock, place("stew-2", loaded_at=at("12:14")), one)
    assert named(pots_are_stock, event=event("pots", "small", count=1))
    # The oven is heated empty from 8:30; its tin is needed when bread goes in, at nine.
    before = place("tea-1", pot_id="tin", loaded_at=at("08:00"), served_at=at("08:45"))
    assert named(pots_are_stock, before) == []
    assert named(pots_are_stock, place("tea-1", before, served_at=at("08:46")))


def test_planned_again_a_pot_is_taken_from_now_on() -> None:
    one = event("pots", "pot", count=1)
    late = place("stew-2", loaded_at=at("12:00"))

    assert named(pots_are_stock, again("12:15", old=late), one) == []
    assert named(pots_are_stock, again("12:14", old=late), one)


# --- sun, talks, levels


def in_sun(cooker: str, *spans: tuple[str, str]) -> Plan:
    stretches = tuple(Stretch(starts_at=at(a), ends_at=at(b)) for a, b in spans)
    rows = (Window(cooker_id=cooker, stretches=stretches),)
    return changed(PLAN, windows=(*(w for w in PLAN.windows if w.cooker_id != cooker), *rows))


def test_a_sun_cooker_is_set_up_and_loaded_in_the_sun() -> None:
    """The oven is set up at 8:30 and loaded at 9; the sky is by the minute."""

    def said(*spans: tuple[str, str]) -> list[Breach]:
        return named(sun_is_there, in_sun("oven", *spans))

    assert said(("08:31", "08:59")) == []
    assert said(("08:32", "09:00")) == [Breach("no-usable-sun", ("bread-1", "oven"), at("08:30"))]
    assert said(("08:30", "08:58")) == [Breach("no-usable-sun", ("bread-1", "oven"), at("09:00"))]
    assert said(("08:00", "08:29"), ("09:01", "10:00")) == []
    assert len(said()) == 2
    nowhere = changed(PLAN, windows=())
    assert {b.ids[0] for b in named(sun_is_there, nowhere)} == {
        "stew-1", "stew-2", "rice-1", "lentils-1", "bread-1",
    }  # fmt: skip


def talk(**values: object) -> Event:
    return event("talks", "talk", **values)


@pytest.mark.parametrize(
    ("stage", "start", "count", "fine"),
    [
        ("simmering", "11:00", 40, True),
        ("simmering", "10:59", 30, False),
        ("simmering", "11:00", 41, False),
        ("loaded", "10:30", 30, True),
        ("loaded", "10:31", 30, False),
        ("loaded", "10:00", 30, True),
        ("loaded", "10:00", 29, False),
        ("lifted", "11:40", 30, True),
        ("lifted", "11:41", 30, False),
        ("lifted", "11:20", 20, True),
        ("lifted", "11:20", 19, False),
    ],
)
def test_a_dish_is_at_its_stage_during_its_talk(
    stage: str, start: str, count: int, fine: bool
) -> None:
    days = talk(stage=stage, at=at(start).time(), minutes=count)

    found = named(talks_get_their_dish, event=days)

    breach = Breach("dish-not-at-its-stage", ("talk", "stew-1", "stew-2"), stage)
    assert found == ([] if fine else [breach])


def test_a_talk_without_a_stage_or_of_what_is_begun_or_over_asks_for_nothing() -> None:
    wrong = talk(stage="loaded", at=time(13, 30))

    assert named(talks_get_their_dish, event=wrong)
    assert named(talks_get_their_dish, event=talk(stage=None, at=time(13, 30))) == []
    assert named(talks_get_their_dish, event=edited(wrong, "talks", "talk", dish="soup")) == []
    assert named(talks_get_their_dish, again("09:00", "stew-1"), wrong) == []
    assert named(talks_get_their_dish, again("09:00", "rice-1"), wrong)
    assert named(talks_get_their_dish, again("13:30"), wrong) == []
    assert named(talks_get_their_dish, again("13:29"), wrong)


@pytest.mark.parametrize("key", ["placed", "missed", "gas", "short", "stale"])
def test_a_level_is_what_its_plan_comes_to(key: str) -> None:
    levels = tuple(changed(v, value=v.value + 1) if v.key == key else v for v in PLAN.levels)
    right = next(v.value for v in PLAN.levels if v.key == key)

    found = named(levels_are_what_they_say, changed(PLAN, levels=levels))

    assert found == [Breach("wrong-level", (key,), right + 1, right)]


def counted(row: Plan, days: Event = EVENT) -> dict[str, object]:
    """Return the levels as the check counts them."""
    wrong = changed(row, levels=tuple(changed(v, value=-1) for v in PLAN.levels))
    return {b.ids[0]: b.limit for b in named(levels_are_what_they_say, wrong, days)}


def test_levels_are_counted_by_hand() -> None:
    """Each step of missed is 3 of 100 dishes; gas costs a tenth of a dish an hour."""
    assert counted(PLAN) == {"placed": 192, "missed": 16, "gas": 95, "short": 15, "stale": 120}
    assert counted(PLAN, event("dishes", "stew", priority=1))["placed"] == 130
    assert counted(PLAN, event("dishes", "lentils", fresh_min=40))["stale"] == 110
    assert counted(PLAN, event("dishes", "lentils", fresh_min=46))["stale"] == 105
    assert counted(PLAN, changed(EVENT, wanted_margin_min=6))["short"] == 1
    assert counted(PLAN, changed(EVENT, wanted_margin_min=5))["short"] == 0
    assert counted(PLAN, changed(EVENT, gas_price_dishes_h=0.0))["missed"] == 10
    assert counted(place("stew-2", off_at=None))["gas"] == 30  # a breach of its own
    whole = place("stew-2", missed_fraction=0.9)
    assert counted(whole)["missed"] == 16 - 2 + 30


def test_only_what_may_still_change_counts_when_the_day_is_planned_again() -> None:
    """At 10:20 the first stew is out of the sun; at 12:45 the second is off its ring."""
    at_1020 = counted(again("10:20", "stew-1"))
    assert "placed" not in at_1020
    assert (at_1020["missed"], at_1020["stale"]) == (14, 60)
    assert counted(again("10:19", "stew-1"))["missed"] == 16
    assert counted(again("10:20"))["missed"] == 16
    on_ring = counted(again("12:44", "stew-2"))
    assert (on_ring["gas"], on_ring["missed"]) == (95, 16)
    off_ring = counted(again("12:45", "stew-2"))
    assert (off_ring["gas"], off_ring["missed"]) == (30, 10)
    late = again("10:19", "rice-1", old=place("rice-1", served_at=at("12:30")))
    assert counted(late) == counted(again("10:19", "rice-1"))  # by what was promised
    moved = changed(PLAN.levels[0], key="moved", value=2)
    told = changed(PLAN, levels=(*PLAN.levels, moved))
    wrong = changed(told, levels=(moved, *(changed(v, value=-1) for v in PLAN.levels)))
    found = {b.ids[0]: b.limit for b in named(levels_are_what_they_say, wrong)}
    assert found["missed"] == 16 + 2 * CHANGE_STEPS
    tea = counted(again("12:00", "tea-1"))
    assert (tea["gas"], tea["short"]) == (65, 0)
