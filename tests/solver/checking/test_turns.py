"""Rules of work on a plan laid by hand: turns and walks."""

from __future__ import annotations

from datetime import date, timedelta

import pvlib
import pytest

from events.model import Event
from events.table import changed
from solver.checking import people_rules
from solver.checking.breach import Breach
from solver.checking.people_rules import (
    turns_are_walked,
    turns_keep_the_sun,
)
from solver.plan import Plan, Turn, Walk, turners
from solver.solar.tracking import declination_deg, interval_min, longest_min
from tests.solver.checking.damage import (
    again,
    event,
    more,
    named,
    plan,
    turn,
    untrained,
    walk,
    without,
)
from tests.solver.checking.hand_laid import EVENT, PLAN, TURNS, at

# --- turns


@pytest.mark.parametrize("row", TURNS, ids=lambda t: t.id)
def test_each_turn_is_needed(row: Turn) -> None:
    found = named(turns_keep_the_sun, without("turns", row.id))

    loads = {
        "box": ["box-09:30"],
        "oven": ["oven-09:00"],
        "mirror": ["mirror-09:00", "mirror-10:30"],
    }
    if row.first:
        rule, value = "not-aimed-at-its-start", row.at
        assert [b for b in found if (b.rule, b.value) == (rule, value)]
    elif row.id in ("oven-09:10", "oven-09:40", "box-12:20", "mirror-11:05"):
        pass  # the aim before reaches far enough, or is the last one: tried below
    else:
        assert [b.rule for b in found] == ["turns-too-far-apart"]
    assert {b.ids for b in found} <= {(fill, row.cooker_id) for fill in loads[row.cooker_id]}


def aims(*clocks: str, until: str = "10:20", cooker: str = "mirror") -> tuple[Turn, ...]:
    """Return the turns of the first load in the mirror at other clock times, each till the next."""
    ends = [*clocks[1:], until] if clocks else []
    pattern = next(t for t in TURNS if t.cooker_id == cooker)
    return tuple(
        changed(pattern, id=f"{cooker}-{a}", at=at(a), holds_until=at(b), first=n == 0)
        for n, (a, b) in enumerate(zip(clocks, ends, strict=True))
    )


def aimed(*clocks: str, days: Event = EVENT, old: Plan = PLAN, until: str = "10:20") -> list[str]:
    """Return what is said of the mirror's first load, aimed at some clock times only."""
    others = tuple(t for t in PLAN.turns if t.cooker_id != "mirror" or t.at > at("10:20"))
    found = named(
        turns_keep_the_sun, changed(old, turns=(*others, *aims(*clocks, until=until))), days
    )
    return [b.rule for b in found if b.ids[0] not in ("mirror-10:30", "mirror-11:05")]


FAR = ["turns-too-far-apart", "turn-holds-too-long"]


def test_an_aim_holds_while_the_sun_crosses_twice_the_acceptance() -> None:
    """5° each way at midsummer: 40 min / cos 23.45° = 43.6 min, and 5 more for the last."""
    assert aimed("09:00", "09:43") == []
    assert aimed("09:00", "09:44") == FAR
    assert aimed("09:00", "09:32") == []
    assert aimed("09:00", "09:31") == FAR
    spring = changed(EVENT, date=date(2027, 3, 22))
    assert aimed("09:00", "09:40", days=spring) == []
    assert aimed("09:00", "09:41", days=spring) == FAR


def test_a_breach_of_turns_says_how_far_and_what_holds() -> None:
    far = changed(PLAN, turns=(*TURNS[:3], *aims("09:00", "09:50"), *TURNS[5:]))
    apart, holds = named(turns_keep_the_sun, far)

    assert apart == Breach("turns-too-far-apart", ("mirror-09:00", "mirror"), 50, 44)
    assert holds == Breach("turn-holds-too-long", ("mirror-09:00",), 50, 44)


def test_the_suns_declination_is_spencers() -> None:
    for day in range(1, 366, 7):
        when = date(2027, 1, 1) + timedelta(days=day - 1)
        ours = people_rules._declination_deg(_case_of(changed(EVENT, date=when)))
        theirs = pvlib.solarposition.declination_spencer71(day)
        assert ours == pytest.approx(float(theirs) * 180 / 3.141592653589793, abs=1e-6)


@pytest.mark.parametrize("year", [2027, 2028])
def test_an_aim_of_whole_slots_is_never_refused_for_seconds(year: int) -> None:
    """On 5 May an aim of ±3° holds 25 min 0.1 s; Cooper's formula says 24 min 57 s: no plan."""
    mirror = next(c for c in EVENT.cookers if c.id == "mirror")
    for day in range(365):
        when = date(year, 1, 1) + timedelta(days=day)
        case, dec = _case_of(changed(EVENT, date=when)), declination_deg(when)
        for acceptance_deg in (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0):
            cooker = changed(mirror, acceptance_deg=acceptance_deg)
            limit = people_rules.longest_aim_min(case, cooker)
            assert limit >= interval_min(cooker, declination_deg=dec)
            assert limit <= max(5.0, longest_min(acceptance_deg, declination_deg=dec)) + 0.4


def _case_of(days: Event) -> people_rules.Case:
    return people_rules.Case(days, PLAN, {}, {}, {}, {}, {})


def test_even_a_wide_cooker_is_looked_at_each_hour() -> None:
    wide = event("cookers", "mirror", acceptance_deg=20.0)

    assert aimed("09:00", "10:00", days=wide) == []
    assert aimed("09:00", "10:01", days=wide) == FAR


def test_even_a_narrow_cooker_is_turned_no_more_than_each_slot() -> None:
    narrow = event("cookers", "mirror", acceptance_deg=0.5)
    clocks = [f"09:{m:02d}" for m in range(0, 60, 5)] + ["10:00", "10:05", "10:10"]

    assert aimed(*clocks, days=narrow) == []
    assert aimed(*clocks[:3], *clocks[4:], days=narrow) == FAR


def test_an_aim_says_itself_how_long_it_holds() -> None:
    def said(**values: object) -> list[Breach]:
        return named(turns_keep_the_sun, turn("mirror-09:00", **values))

    assert said(holds_until=at("09:43")) == []
    assert said(holds_until=at("09:45")) == [
        Breach("turn-holds-too-long", ("mirror-09:00",), 45, 44)
    ]
    assert [b.value for b in said(holds_until=at("09:00"))] == [0]
    assert said(holds_until=at("09:01")) == []


def test_turns_of_another_cooker_or_another_load_do_not_count() -> None:
    other = turn("mirror-09:40", cooker_id="oven")
    late = turn("mirror-11:05", at=at("11:40"))

    assert "turns-too-far-apart" in {b.rule for b in named(turns_keep_the_sun, other)}
    assert "turns-too-far-apart" in {b.rule for b in named(turns_keep_the_sun, late)}
    before = turn("mirror-10:30", at=at("10:29"))
    assert [b.rule for b in named(turns_keep_the_sun, before)] == ["not-aimed-at-its-start"]
    after = turn("mirror-10:30", at=at("10:31"))
    assert "not-aimed-at-its-start" in [b.rule for b in named(turns_keep_the_sun, after)]


def test_planned_again_a_load_on_the_sun_is_aimed_already() -> None:
    """At 9:30 the aim of 9 o'clock still holds; the next is due 43 min from then."""
    later = again("09:30", "stew-1")

    assert aimed("10:13", old=later, until="10:20") == []
    assert aimed("10:14", old=later, until="10:20") == ["turns-too-far-apart"]
    assert aimed("09:00", "10:13", old=later) == []  # what the first aim says is past
    assert aimed("09:40", old=again("09:30")) == []  # not begun by its press, but by the clock


def test_planned_again_what_a_past_aim_says_is_past() -> None:
    long = turn("mirror-09:40", holds_until=at("10:40"))

    assert [b.rule for b in named(turns_keep_the_sun, long)] == ["turn-holds-too-long"]
    assert named(turns_keep_the_sun, again("09:40", "stew-1", old=long)) == []


def test_planned_again_only_a_load_that_has_begun_is_aimed_already() -> None:
    """At 10:25 somebody loads the second stew, five minutes before its time."""
    rest = without("turns", "mirror-10:30")
    bare = without("turns", "mirror-10:30", "mirror-11:05")

    assert named(turns_keep_the_sun, again("10:25", "stew-2", old=rest)) == []
    assert [b.rule for b in named(turns_keep_the_sun, again("10:25", old=rest))] == [
        "not-aimed-at-its-start"
    ]
    assert "not-aimed-at-its-start" in {
        b.rule for b in named(turns_keep_the_sun, again("10:25", old=bare))
    }


def test_planned_again_a_load_that_stays_on_the_sun_is_turned_until_it_leaves() -> None:
    """With no other turn the aim of that minute must last: 44 min, and 5 more for the last."""
    past = without("turns", "mirror-11:05")
    bare = without("turns", "mirror-11:05", "mirror-10:30")

    def said(clock: str, old: Plan) -> list[Breach]:
        return named(turns_keep_the_sun, again(clock, "stew-2", old=old))

    assert said("10:40", past) == said("10:40", bare)
    assert said("10:40", past) == [
        Breach("turns-too-far-apart", ("mirror-10:30", "mirror"), 60, 44)
    ]
    assert [b.value for b in said("10:51", past)] == [49]
    assert said("10:52", past) == []
    assert said("10:40", PLAN) == []
    assert said("11:40", bare) == []  # it is out
    late = plan("turns", "mirror-11:05", at=at("11:30"))
    assert [b.value for b in named(turns_keep_the_sun, again("10:40", "stew-2", old=late))] == [50]


def test_a_cooker_without_sun_is_not_aimed() -> None:
    assert not [b for b in named(turns_keep_the_sun) if b.ids[1] in ("ring", "hay")]
    assert {t.cooker_id for t in TURNS} == {"mirror", "box", "oven"}


# --- walks


def test_a_walk_has_one_to_three_turns() -> None:
    def said(*turns: str) -> list[Breach]:
        found = named(turns_are_walked, walk("walk-09:40", turn_ids=turns))
        return [b for b in found if b.rule == "turns-on-one-walk"]

    assert said("mirror-09:40", "oven-09:40", "a") == []
    assert said("mirror-09:40", "oven-09:40", "a", "b") == [
        Breach("turns-on-one-walk", ("walk-09:40",), 4, 3)
    ]
    assert said() == [Breach("turns-on-one-walk", ("walk-09:40",), 0, 3)]


def test_a_walk_is_at_the_time_of_its_turns_by_one_who_may() -> None:
    late = named(turns_are_walked, walk("walk-10:30", at=at("10:35")))
    assert late == [Breach("turn-not-at-its-walks-time", ("walk-10:30", "box-10:30"))]
    unknown = named(turns_are_walked, walk("walk-10:30", turn_ids=("box-10:30", "b")))
    assert unknown == [Breach("turn-not-at-its-walks-time", ("walk-10:30", "b"))]
    by_ben = named(turns_are_walked, walk("walk-11:05", helper_id="ben"))
    assert by_ben == [Breach("may-not-turn", ("walk-11:05", "ben", "mirror"))]
    assert named(turns_are_walked, walk("walk-11:05", helper_id="ben"), untrained()) == []


def test_every_turn_but_the_first_aim_is_on_one_walk() -> None:
    none = named(turns_are_walked, without("walks", "walk-11:05"))
    assert none == [Breach("turn-on-wrong-number-of-walks", ("mirror-11:05",), 0, 1)]
    twice = Walk(id="w", at=at("11:05"), minutes=5, helper_id="cam", turn_ids=("mirror-11:05",))
    found = named(turns_are_walked, more(walks=(twice,)))
    assert found == [Breach("turn-on-wrong-number-of-walks", ("mirror-11:05",), 2, 1)]
    first = Walk(id="w", at=at("09:00"), minutes=5, helper_id="cam", turn_ids=("mirror-09:00",))
    found = named(turns_are_walked, more(walks=(first,)))
    assert found == [Breach("turn-on-wrong-number-of-walks", ("mirror-09:00",), 1, 0)]


def test_planned_again_past_turns_need_no_walk() -> None:
    rest = without("walks", "walk-11:05")

    assert named(turns_are_walked, again("11:05", old=rest)) == []
    assert named(turns_are_walked, again("11:04", old=rest))


def test_who_sets_a_cooker_on_the_sun_is_the_first_with_a_job_there() -> None:
    first = next(t for t in TURNS if t.first)
    there = [j for j in PLAN.jobs if (j.cooker_id, j.at) == (first.cooker_id, first.at)]
    later = changed(there[0], id="later", helper_ids=("someone-else",))

    assert turners(changed(PLAN, jobs=(*PLAN.jobs, later)))[first.id] == there[0].helper_ids[0]
