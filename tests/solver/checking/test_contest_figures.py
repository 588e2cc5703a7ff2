"""When entries cook, how hot they are and what is told of them, on the hand-laid day."""

from __future__ import annotations

from datetime import time

import pytest

from events.model import Event
from events.table import changed
from solver.checking import contest_rules
from solver.checking.breach import Breach
from solver.plan import Job, Plan
from tests.solver.checking.damage import again, edited
from tests.solver.checking.hand_laid import PLAN, at
from tests.solver.checking.hand_laid_contest import (
    BEGUN,
    COOK_OFF,
    DAY,
    PLACES,
    SHOW,
    SUN,
    first,
    level,
    middles,
    rules,
    said,
)

# --- cooking


COOKED = contest_rules._entries_are_cooked_in_time


def test_an_entry_is_loaded_from_its_own_time_or_from_one_for_all() -> None:
    soon = first(cook_from=at("10:59"))
    assert said(COOKED, soon) == [Breach("wrong-cooking-time", ("one",), at("10:59"), at("11:00"))]
    assert said(COOKED, first(loaded_at=at("11:00"))) == []
    assert said(COOKED, first(loaded_at=at("10:55"))) == [
        Breach("loaded-too-soon", ("one",), at("10:55"), at("11:00"))
    ]
    moved = first(cook_from=at("10:40"), was_at=at("13:40"))  # it was to be tasted then
    assert said(COOKED, moved) == []
    assert said(COOKED, first(cook_from=at("10:40"), was_at=at("13:30"))) != []
    together = rules(together_at=time(11))
    assert said(COOKED, SHOW, together) == [
        Breach("wrong-cooking-time", ("two",), at("11:10"), at("11:10"))
    ]
    assert said(COOKED, soon, old=BEGUN) == []


def test_an_entry_is_ready_when_it_is_tasted_and_told_as_it_is() -> None:
    assert said(COOKED, first(ready_at=at("14:00"), held_min=10, cautious_at=None)) == []
    assert said(COOKED, first(ready_at=at("14:01"), held_min=9, cautious_at=None)) == [
        Breach("not-ready-when-tasted", ("one",), at("14:01"), at("14:00"))
    ]
    at_once = first(ready_at=at("11:30"), held_min=160, cautious_at=None)
    assert said(COOKED, at_once, rules(held_max_min=120)) == [
        Breach("not-ready-when-tasted", ("one",), at("11:30"), at("14:00")),
        Breach("entry-held-too-long", ("one",), 160, 120),
    ]
    assert said(COOKED, first(cautious_at=at("13:29"))) == [
        Breach("estimates-not-in-order", ("one",))
    ]
    assert said(COOKED, first(cautious_at=at("13:30"))) == []
    assert said(COOKED, first(held_min=41)) == [Breach("wrong-held-minutes", ("one",), 41, 40)]


def test_an_entry_is_held_no_longer_than_ruled_from_done_to_the_tastings_end() -> None:
    assert said(COOKED, SHOW, rules(held_max_min=50)) == []
    assert said(COOKED, SHOW, rules(held_max_min=49)) == [
        Breach("entry-held-too-long", ("two",), 50, 49)
    ]


@pytest.mark.parametrize("key", ["of_100", "chosen_of_100"])
@pytest.mark.parametrize(
    ("told", "named"), [(-5, True), (0, False), (42, True), (95, False), (100, True)]
)
def test_a_chance_is_told_in_steps_and_is_never_certain(key: str, told: int, named: bool) -> None:
    wrong = [Breach("chance-not-in-steps", ("one",), told)]

    assert said(COOKED, first(**{key: told})) == (wrong if named else [])


# --- safety


SAFE = contest_rules._entries_are_safe


def with_dish(**values: object) -> Event:
    return edited(COOK_OFF, "entries", "one", dish=changed(COOK_OFF.entry("one").dish, **values))


def test_an_entry_is_warm_no_longer_than_its_clock_allows() -> None:
    assert said(SAFE, first(between_5_and_60_min=240)) == []
    over = Breach("entry-too-long-between-5-and-60", ("one",), 241, 240)
    assert said(SAFE, first(between_5_and_60_min=241)) == [over]
    assert said(SAFE, first(between_5_and_60_min=241), with_dish(hazardous=False)) == []
    weak = changed(COOK_OFF, vulnerable_guests=True)
    assert said(SAFE, first(between_5_and_60_min=121), weak) == [
        Breach("entry-too-long-between-5-and-60", ("one",), 121, 120)
    ]
    assert said(SAFE, first(between_5_and_60_min=241), old=BEGUN) == []


def test_an_entry_is_hot_until_all_have_tasted_it() -> None:
    assert said(SAFE, first(coolest_c=62.9)) == []
    assert said(SAFE, first(coolest_c=62.8)) == [Breach("entry-goes-cold", ("one",), 62.8, 63.0)]
    american = changed(COOK_OFF, site=changed(COOK_OFF.site, food_rules="US"))
    assert said(SAFE, first(coolest_c=57.0), american) == []


def test_what_is_tasted_cold_counts_as_warm_from_when_it_is_ready() -> None:
    cold = with_dish(serve_hot=False)

    assert said(SAFE, first(coolest_c=20.0, between_5_and_60_min=40), cold) == []
    assert said(SAFE, first(coolest_c=20.0, between_5_and_60_min=39), cold) == [
        Breach("entry-stands-uncounted", ("one",), 39, 40)
    ]


KEPT_HOT = contest_rules._entries_stay_hot_once_hot_through


def test_what_was_hot_through_may_not_cool_and_be_warmed_again() -> None:
    """It is at 75 °C by 13:20, done at 13:30 and tasted until 14:10."""

    def cooled(*dips: tuple[str, float], event: Event = COOK_OFF, old: Plan = DAY) -> list[Breach]:
        return said(KEPT_HOT, first(middle_c=middles("14:00", dict(dips))), event, old)

    def cools(degrees: float) -> list[Breach]:
        return [Breach("entry-cools", ("one",), degrees, 63.0)]

    assert said(KEPT_HOT) == []
    assert cooled(("14:10", 62.9)) == []
    assert cooled(("14:10", 62.8)) == cools(62.8)
    assert cooled(("13:30", 40.0)) == cools(40.0)
    assert cooled(("13:20", 75.0), ("13:30", 74.0)) == []
    between = first(ready_at=at("13:35"), middle_c=middles("14:00", {"13:30": 40.0}))
    assert said(KEPT_HOT, between) == []  # it is not ready yet
    # Hot through before one o'clock, then under a cloud for half an hour.
    through = ("12:50", 75.1), ("13:00", 40.0)
    assert cooled(*through) == cools(40.0)
    assert cooled(("12:50", 75.0), ("13:00", 40.0)) == []
    assert cooled(*through, event=with_dish(hazardous=False)) == []
    assert cooled(("14:10", 40.0), event=with_dish(hazardous=False)) == cools(40.0)
    assert cooled(("14:10", 40.0), event=with_dish(serve_hot=False)) == []
    assert cooled(*through, event=with_dish(core_c=76.0)) == []
    assert cooled(*through, old=BEGUN) == []
    american = changed(COOK_OFF, site=changed(COOK_OFF.site, food_rules="US"))
    lean = with_dish(core_c=None, done="simmer", ordinary_min=20)
    lean = changed(lean, site=american.site)
    assert cooled(("12:50", 74.0), ("13:00", 56.8), event=lean) == [
        Breach("entry-cools", ("one",), 56.8, 57.0)
    ]
    assert cooled(("12:50", 73.9), ("13:00", 56.8), event=lean) == []


def test_an_entrys_middle_is_told_from_loading_to_its_tastings_end() -> None:
    whole = middles("14:00")

    for told in ((), whole[:-1], (*whole, 80.0)):
        assert said(KEPT_HOT, first(middle_c=told)) == [
            Breach("wrong-count-of-middles", ("one",), len(told), 17)
        ]
    assert said(KEPT_HOT, first(middle_c=()), with_dish(serve_hot=False)) == []


# --- people and figures


CREW = contest_rules._crew_of_the_contest_is_free


def busy(who: str, clock: str, old: Plan = DAY) -> Plan:
    more = Job(id="extra", kind="wash-up", at=at(clock), minutes=10, helper_ids=(who, "ben"))
    trip = changed(PLAN.walks[0], id="trip", at=at(clock), minutes=10, helper_id=who)
    return changed(old, jobs=(*old.jobs, more), walks=(*old.walks, trip))


@pytest.mark.parametrize(
    ("clock", "named"), [("13:50", False), ("13:51", True), ("14:59", True), ("15:00", False)]
)
def test_who_carries_plates_or_judges_has_no_other_work_in_tasting_hours(
    clock: str, named: bool
) -> None:
    judging = edited(rules(runner=None), "judges", "una", helper="eve")

    for who, event in (("dan", COOK_OFF), ("eve", judging)):
        elsewhere = [
            Breach("contest-crew-elsewhere", (w, who), at(clock)) for w in ("extra", "trip")
        ]
        assert said(CREW, SHOW, event, busy(who, clock)) == (elsewhere if named else [])
    assert said(CREW, SHOW, rules(runner=None), busy("dan", clock)) == []
    over = busy("dan", "14:10", changed(DAY, replanned_at=at("14:10")))
    assert said(CREW, old=over) == []
    assert said(CREW, old=busy("dan", "14:10", again("14:09", old=DAY))) != []


@pytest.mark.parametrize("n", range(5))
def test_the_levels_are_counted_again(n: int) -> None:
    levels = [*SHOW.levels]
    right = levels[n]
    levels[n] = changed(right, value=right.value + 1)

    found = said(contest_rules._levels_are_counted, changed(SHOW, levels=tuple(levels)))

    assert found == [Breach("wrong-contest-level", (right.key,), right.value + 1, right.value)]


def test_moves_are_against_another_plan_and_each_tasted_entry_has_its_sun() -> None:
    rule = contest_rules._levels_are_counted

    moved = changed(SHOW, levels=(*SHOW.levels, level("moved", 7)))
    assert said(rule, moved) == []
    assert said(rule, changed(SHOW, sun=SHOW.sun[:1])) == [Breach("sun-of-other-entries", ())]


@pytest.mark.parametrize(("told", "named"), [(178, True), (179, False), (181, False), (182, True)])
def test_the_minutes_of_sun_are_counted_again_from_the_plans_sky(told: int, named: bool) -> None:
    """A beam of 700 W/m² is a minute of sun each minute: three hours are 180."""
    sun = (changed(SHOW.sun[0], sun_min=told), SHOW.sun[1])
    show = changed(SHOW, sun=sun, levels=())

    wrong = [Breach("wrong-sun-minutes", ("one",), told, 180)]
    assert said(contest_rules._levels_are_counted, show) == (wrong if named else [])


def test_a_place_behind_a_wall_has_the_skys_own_light_alone() -> None:
    """A tenth of 140 W/m² on 700 is 0.02 of a minute; of three hours, 3.6."""
    bright = changed(DAY, sun=tuple(changed(s, diffuse_w_m2=140.0) for s in SUN))
    event = edited(COOK_OFF, "stations", PLACES["one"], skyline=((170.0, 50.0), (190.0, 50.0)))
    show = changed(SHOW, levels=())

    assert said(contest_rules._levels_are_counted, show, event, bright) == [
        Breach("wrong-sun-minutes", ("one",), 180, 4),
        Breach("wrong-sun-minutes", ("two",), 180, 184),
    ]
    tree = {"bearing_deg": 180.0, "height_m": 10.0, "distance_m": 10.0, "width_m": 1.0}
    shaded = edited(COOK_OFF, "stations", PLACES["one"], obstacles=(tree,))
    assert said(contest_rules._levels_are_counted, show, shaded) == [
        Breach("wrong-sun-minutes", ("one",), 180, 0)
    ]
    low = {**tree, "height_m": 8.0}  # 38.7°, and the sun stands at 40
    seen = edited(COOK_OFF, "stations", PLACES["one"], obstacles=(low,))
    assert said(contest_rules._levels_are_counted, show, seen) == []


def test_a_middle_is_told_to_a_tenth_and_no_coarser() -> None:
    assert said(SAFE, first(coolest_c=62.86)) != []
