"""Two groups on the hand-laid day: each rule of the rota from both sides of its limit."""

from __future__ import annotations

import inspect
from datetime import time

import pytest

from events.table import changed
from solver.checking import rota_rules
from solver.checking.breach import Breach
from solver.plan import Job, Plan
from solver.programme import RotaPlan
from tests.solver.checking.damage import again, edited
from tests.solver.checking.hand_laid import PLAN, at
from tests.solver.checking.hand_laid_rota import (
    BLUE,
    PAUSES,
    RED,
    ROTA,
    ROUND,
    other,
    rests,
    round_of,
    said,
    whole,
    without,
)


def test_the_hand_laid_rota_keeps_every_rule() -> None:
    assert whole(ROTA) == []


def test_a_rota_is_asked_for_where_groups_go_round_and_one_that_can_not_be_is_an_answer() -> None:
    assert whole(None) == [Breach("no-rota", ())]
    assert whole(None, changed(ROUND, groups=())) == []
    assert whole(RotaPlan(visits=(), pauses=(), levels=(), helps=("no-pause",))) == []


@pytest.mark.parametrize(
    ("rota", "ids"),
    [
        (other(RED[0], group_id="green"), ("green", "focus")),
        (other(RED[0], stop_id="pond"), ("red", "pond")),
    ],
)
def test_a_visit_of_nobody_or_to_nowhere_is_named(rota: RotaPlan, ids: tuple[str, str]) -> None:
    assert whole(rota) == [Breach("unknown-visit", ids)]


def test_a_pause_of_nobody_is_named() -> None:
    assert whole(rests(PAUSES[0], group_id="green")) == [Breach("unknown-group", ("green",))]


# --- each stop once, in time


def test_a_group_is_at_each_stop_once_but_for_those_it_skips() -> None:
    rule = rota_rules._every_stop_once
    skips = edited(ROUND, "groups", "red", skips=("build",))

    assert said(rule, without(RED[2])) == [Breach("wrong-number-of-visits", ("red", "build"), 0, 1)]
    assert said(rule, without(RED[2]), skips) == []
    assert said(rule, ROTA, skips) == [Breach("wrong-number-of-visits", ("red", "build"), 1, 0)]


def test_a_visit_has_its_stops_minutes() -> None:
    rule = rota_rules._every_stop_once
    longer = edited(ROUND, "stops", "focus", minutes=25)

    assert said(rule, other(RED[0], minutes=15)) == [
        Breach("wrong-visit-minutes", ("red", "focus"), 15, 20)
    ]
    assert said(rule, ROTA, longer) == [
        Breach("wrong-visit-minutes", ("red", "focus"), 20, 25),
        Breach("wrong-visit-minutes", ("blue", "focus"), 20, 25),
    ]


def test_a_visit_lies_in_the_rotas_and_its_groups_hours() -> None:
    rule = rota_rules._every_stop_once

    assert said(rule, ROTA, round_of(start=time(10, 1))) == [
        Breach("visit-outside-hours", ("blue", "build"), at("10:00"))
    ]
    assert said(rule, ROTA, round_of(end=time(11, 59))) == [
        Breach("visit-outside-hours", ("red", "build"), at("11:40"))
    ]
    assert said(rule, ROTA, edited(ROUND, "groups", "red", start=time(10, 25))) == []
    assert said(rule, ROTA, edited(ROUND, "groups", "red", start=time(10, 26))) == [
        Breach("visit-outside-hours", ("red", "focus"), at("10:25"))
    ]


def test_a_stop_has_one_group_at_once_and_its_minutes_between() -> None:
    rule = rota_rules._one_group_at_a_stop

    assert said(rule, other(RED[1], at=at("10:54"))) == [
        Breach("stop-not-free", ("glass", "blue", "red"), 4, 5)
    ]
    assert said(rule, other(RED[1], at=at("10:40"))) == [
        Breach("stop-not-free", ("glass", "blue", "red"), -10, 5)
    ]
    assert said(rule, ROTA, edited(ROUND, "stops", "glass", ready_min=0)) == []
    assert (
        said(rule, other(RED[1], at=at("10:50")), edited(ROUND, "stops", "glass", ready_min=0))
        == []
    )


# --- walks


def test_a_walk_has_its_time_and_the_young_go_slowly() -> None:
    """From the mirror to the box the young, at 40 m a minute, need 7.5 minutes for 300 m."""
    rule = rota_rules._walks_have_their_time

    assert said(rule, other(RED[1], at=at("10:53"))) == []
    assert said(rule, other(RED[1], at=at("10:52"))) == [
        Breach("walk-too-short", ("red", "focus", "glass"), 7, 7.5)
    ]
    slow = changed(ROUND, rota=changed(ROUND.rota, walk_m_min=30))  # so do all, then
    for clock, walked in (("10:55", None), ("10:54", 9)):
        found = [b for b in said(rule, other(RED[1], at=at(clock)), slow) if b.ids[0] == "red"]
        assert [b.value for b in found] == ([walked] if walked else [])
    grown = edited(ROUND, "groups", "red", young=False)
    assert said(rule, other(RED[1], at=at("10:50")), grown) == []  # 60 m a minute: five
    assert said(rule, other(RED[1], at=at("10:49")), grown) == [
        Breach("walk-too-short", ("red", "focus", "glass"), 4, 5)
    ]


def test_a_pause_between_two_visits_is_no_walk() -> None:
    rule = rota_rules._walks_have_their_time

    assert said(rule, rests(PAUSES[0], minutes=15)) == []  # blue: 20 minutes, 300 m are five
    assert said(rule, rests(PAUSES[0], minutes=16)) == [
        Breach("walk-too-short", ("blue", "glass", "focus"), 4, 5)
    ]
    assert said(rule, ROTA, round_of(walk_min_least=10)) == []
    assert said(rule, ROTA, round_of(walk_min_least=15)) == [
        Breach("walk-too-short", ("red", "focus", "glass"), 10, 15),
        Breach("walk-too-short", ("blue", "build", "glass"), 10, 15),
        Breach("walk-too-short", ("blue", "glass", "focus"), 10, 15),
    ]


def test_the_metres_of_a_walk_are_told_as_they_are() -> None:
    rule = rota_rules._walks_have_their_time

    assert said(rule, other(RED[1], walk_m=299)) == [
        Breach("wrong-walk", ("red", "focus", "glass"), 299, 300)
    ]
    assert said(rule, other(RED[0], walk_m=1)) == [Breach("wrong-walk", ("red", "focus"), 1, 0)]


# --- talks for all


def test_while_all_are_at_a_talk_or_on_their_way_none_is_at_a_stop() -> None:
    rule = rota_rules._talks_for_all_are_free
    event = edited(ROUND, "talks", "talk", groups="all")

    def heard(clock: str, long: int = 30, old: Plan = PLAN) -> list[Breach]:
        jobs = tuple(
            changed(j, at=at(clock), minutes=long) if j.id == "talk" else j for j in old.jobs
        )
        return said(rule, ROTA, event, changed(old, jobs=jobs))

    last = ("red", "build", "talk")
    assert heard("12:05") == []  # five minutes of walk after the last visit
    assert heard("12:04") == [Breach("visit-meets-a-talk", last, at("11:40"), at("12:04"))]
    first = Breach("visit-meets-a-talk", ("blue", "build", "talk"), at("10:00"), at("09:26"))
    assert heard("09:25") == []
    assert heard("09:26") == [first]
    assert heard("09:26", old=again("10:00")) == []  # that visit had begun
    assert heard("09:26", old=again("09:59")) == [first]
    assert said(rule) == []  # the talk at 11:05 is not for the groups


# --- pauses


def test_each_group_rests_once_whole_and_in_its_time() -> None:
    rule = rota_rules._groups_have_their_pause
    red, none = PAUSES[1], changed(ROTA, pauses=PAUSES[:1])

    assert said(rule, none) == [Breach("wrong-number-of-pauses", ("red",), 0, 1)]
    assert said(rule, none, round_of(pause_min=0)) == [
        Breach("wrong-number-of-pauses", ("blue",), 1, 0),
        Breach("wrong-pause-minutes", ("blue",), 10, 0),
    ]
    assert said(rule, rests(red, minutes=9)) == [Breach("wrong-pause-minutes", ("red",), 9, 10)]
    assert said(rule, ROTA, round_of(pause_until=time(11, 15))) == []
    outside = [Breach("pause-outside-its-time", ("red",), at("11:15"))]
    assert said(rule, ROTA, round_of(pause_until=time(11, 14))) == outside
    assert said(rule, ROTA, round_of(pause_from=time(10, 50))) == []
    assert said(rule, ROTA, round_of(pause_from=time(10, 51))) == [
        Breach("pause-outside-its-time", ("blue",), at("10:50"))
    ]
    free = round_of(pause_from=None, pause_until=None)
    assert said(rule, ROTA, free) == []
    assert said(rule, ROTA, edited(free, "groups", "red", end=time(11, 24))) == outside


def test_a_group_in_its_pause_is_at_no_stop() -> None:
    rule = rota_rules._groups_have_their_pause

    assert said(rule, rests(PAUSES[1], at=at("11:14"))) == [
        Breach("visit-in-a-pause", ("red", "glass"), at("10:55"), at("11:14"))
    ]
    assert said(rule, rests(PAUSES[1], at=at("11:30"))) == []
    late = changed(ROTA, pauses=(PAUSES[0], changed(PAUSES[1], at=at("11:31"))))
    assert said(rule, late, round_of(pause_until=None)) == [
        Breach("visit-in-a-pause", ("red", "build"), at("11:40"), at("11:31"))
    ]


def test_at_a_bell_no_visit_begins_while_others_last() -> None:
    rule = rota_rules._all_change_at_the_bell
    bell = round_of(bell=True)
    together = changed(
        ROTA,
        visits=(
            *(changed(v, at=at(t)) for v, t in zip(RED, ("10:00", "10:20", "11:00"), strict=True)),
            *(changed(v, at=at(t)) for v, t in zip(BLUE, ("10:00", "10:20", "11:00"), strict=True)),
        ),
    )

    assert said(rule, together, bell) == []
    odd = changed(
        together,
        visits=(*together.visits[:-1], changed(together.visits[-1], at=at("11:19"))),
    )
    assert said(rule, odd, bell) == [
        Breach("not-together-at-the-bell", (), at("11:19"), at("11:00"))
    ]
    assert said(rule, odd) == []


# --- people


def test_a_group_is_no_larger_than_its_stops_take() -> None:
    rule = rota_rules._groups_fit_and_are_led

    assert said(rule, ROTA, edited(ROUND, "stops", "focus", people_max=11)) == [
        Breach("group-too-large", ("red", "focus"), 12, 11)
    ]


def busy(who: str, clock: str, long: int = 5, old: Plan = PLAN) -> Plan:
    """Return the plan with a job more, `extra`, and a walk more."""
    more = Job(id="extra", kind="wash-up", at=at(clock), minutes=long, helper_ids=(who,))
    trip = changed(PLAN.walks[0], id="trip", at=at(clock), minutes=long, helper_id=who)
    return changed(old, jobs=(*old.jobs, more), walks=(*old.walks, trip))


@pytest.mark.parametrize(
    ("clock", "long", "named"),
    [("10:20", 5, False), ("10:20", 6, True), ("11:59", 5, True), ("12:00", 5, False)],
)
def test_the_young_have_an_adult_with_no_other_work_on_their_round(
    clock: str, long: int, named: bool
) -> None:
    rule = rota_rules._groups_fit_and_are_led

    found = said(rule, old=busy("eve", clock, long))

    elsewhere = [Breach("adult-elsewhere", ("red", "eve", w)) for w in ("extra", "trip")]
    assert found == (elsewhere if named else [])
    assert said(rule, old=busy("eve", "11:00", old=again("11:00"))) == []  # it is over
    assert said(rule, ROTA, edited(ROUND, "groups", "red", adult="")) == [
        Breach("young-without-an-adult", ("red",))
    ]
    assert said(rule, ROTA, edited(ROUND, "groups", "red", adult="A teacher")) == []


@pytest.mark.parametrize(
    ("clock", "long", "named"),
    [("09:55", 5, False), ("09:55", 6, True), ("10:50", 5, True), ("12:00", 5, False)],
)
def test_a_guide_has_no_other_work_from_the_first_visit_to_the_last(
    clock: str, long: int, named: bool
) -> None:
    rule = rota_rules._guides_are_at_their_stop

    found = said(rule, old=busy("dan", clock, long))

    elsewhere = [Breach("guide-elsewhere", ("build", "dan", w)) for w in ("extra", "trip")]
    assert found == (elsewhere if named else [])
    assert said(rule, without(RED[2], BLUE[0]), old=busy("dan", clock, long)) == []


def test_every_rule_of_the_rota_is_asked() -> None:
    written = {
        f
        for f in vars(rota_rules).values()
        if inspect.isgeneratorfunction(f)
        and list(inspect.signature(f).parameters) == ["case", "rota"]
    }

    assert set(rota_rules._RULES) == written
    assert whole(other(RED[0], minutes=15)) != []


def test_a_group_that_is_nowhere_breaks_nothing_but_its_count() -> None:
    nowhere = without(*RED)

    assert said(rota_rules._walks_have_their_time, nowhere) == []
    assert said(rota_rules._groups_fit_and_are_led, nowhere, old=busy("eve", "11:00")) == []


def test_a_pause_before_a_visit_takes_nothing_from_the_walk_after_it() -> None:
    assert said(rota_rules._walks_have_their_time, rests(PAUSES[1], at=at("10:10"))) == []


def test_a_bell_rings_after_the_longest_visit() -> None:
    long = changed(ROTA, visits=(changed(RED[0], at=at("10:00"), minutes=25), BLUE[0], RED[1]))
    soon = changed(long, visits=(*long.visits[:2], changed(RED[1], at=at("10:24"))))

    assert said(rota_rules._all_change_at_the_bell, long, round_of(bell=True)) == []
    assert said(rota_rules._all_change_at_the_bell, soon, round_of(bell=True)) == [
        Breach("not-together-at-the-bell", (), at("10:24"), at("10:00"))
    ]


def test_work_that_is_still_to_come_counts_when_the_day_is_planned_again() -> None:
    found = said(rota_rules._guides_are_at_their_stop, old=busy("dan", "11:01", old=again("11:00")))

    assert [b.rule for b in found] == ["guide-elsewhere", "guide-elsewhere"]
