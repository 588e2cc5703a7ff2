"""A talk that floats, given twice by hand: each rule at its last fine value, and the next."""

from __future__ import annotations

import inspect
from datetime import time

import pytest

from events.model import Break, Event, Talk
from events.table import changed
from solver.checking import talk_rules
from solver.checking.breach import Breach
from solver.checking.show_rules import showing_loads_take_what_is_free
from solver.checking.talk_rules import floating_talks_are_kept
from solver.plan import Job, Plan
from solver.programme import Giving, NotGiven, TalkPlan
from tests.solver.checking.damage import edited, more, named
from tests.solver.checking.hand_laid import EVENT, PLAN, at, minutes
from tests.solver.checking.test_show_rules import SHOWS
from tests.solver.checking.test_show_rules import plan as show_plan

TALK = Talk(
    id="show",
    name="Show",
    minutes=15,
    start=time(9),
    end=time(11),
    times=3,
    apart_min=30,
    speakers=("cam", "ada"),
    moment="boil",
    dish="stew",
    cooker="mirror",
)
GIVEN = (
    Giving(
        talk_id="show",
        giving=1,
        at=at("09:20"),
        minutes=15,
        speaker_id="cam",
        cooker_id="mirror",
        of_100=80,
    ),
    Giving(
        talk_id="show",
        giving=2,
        at=at("10:40"),
        minutes=15,
        speaker_id="cam",
        cooker_id="mirror",
        of_100=95,
    ),
)
MISSING = NotGiven(talk_id="show", givings=1, reason="no-room")


def event(**values: object) -> Event:
    return changed(EVENT, talks=(*EVENT.talks, changed(TALK, **values)))


def plan(*given: Giving, missing: tuple[NotGiven, ...] = (MISSING,)) -> Plan:
    """Return the plan with these givings, each as a job of its speaker."""
    jobs = tuple(
        Job(
            id=f"talk-{g.talk_id}-{g.giving}",
            kind="talk",
            at=g.at,
            minutes=g.minutes,
            helper_ids=(g.speaker_id,) if g.speaker_id else (),
            talk_id=g.talk_id,
        )
        for g in given
    )
    return changed(more(jobs=jobs), talks=TalkPlan(given=given, not_given=missing))


def first(**values: object) -> Plan:
    return plan(changed(GIVEN[0], **values), GIVEN[1])


def second(**values: object) -> Plan:
    return plan(GIVEN[0], changed(GIVEN[1], **values))


def said(some: Plan, of: Event | None = None) -> list[Breach]:
    return named(floating_talks_are_kept, some, of or event())


def rules(some: Plan, of: Event | None = None) -> set[str]:
    return {b.rule for b in said(some, of)}


def test_a_plan_that_keeps_every_rule_breaks_none() -> None:
    assert said(plan(*GIVEN)) == []
    assert named(floating_talks_are_kept, PLAN, EVENT) == []


def test_every_rule_of_talks_is_asked() -> None:
    written = {
        f
        for f in vars(talk_rules).values()
        if inspect.isgeneratorfunction(f) and len(inspect.signature(f).parameters) == 3
    }
    assert set(talk_rules._RULES) == written
    assert showing_loads_take_what_is_free in written


def test_talks_that_float_are_in_the_plan_and_no_others() -> None:
    assert said(PLAN) == [Breach("no-talks", ())]
    assert said(first(talk_id="talk")) == [Breach("unknown-talk", ("talk",))]


@pytest.mark.parametrize(("times", "missing"), [(2, 0), (3, 1)])
def test_every_giving_is_given_or_stands_as_not_given(times: int, missing: int) -> None:
    left = (changed(MISSING, givings=missing),) if missing else ()

    assert said(plan(*GIVEN, missing=left), event(times=times)) == []
    wrong = [Breach("wrong-number-of-givings", ("show",), 2 + missing, times + 1)]
    assert said(plan(*GIVEN, missing=left), event(times=times + 1)) == wrong


@pytest.mark.parametrize(
    ("some", "rule"),
    [
        (first(at=at("09:00")), None),
        (first(at=at("08:59")), "talk-outside-its-hours"),
        (second(at=at("10:45")), None),
        (second(at=at("10:46")), "talk-outside-its-hours"),
        (first(minutes=14), "wrong-talk-minutes"),
        (first(at=at("09:55")), None),  # ten past ten, and half an hour until the next
        (first(at=at("09:56")), "givings-too-close"),
        (first(speaker_id="ben"), "wrong-speaker"),
        (first(speaker_id=None), "wrong-speaker"),
    ],
)
def test_a_giving_lies_in_its_hours_apart_from_the_next(some: Plan, rule: str | None) -> None:
    assert rules(some) == ({rule} if rule else set())


def test_a_giving_is_a_job_of_its_speaker_at_its_time() -> None:
    for values in ({"at": at("09:21")}, {"helper_ids": ("ada",)}, {"talk_id": "talk"}):
        good = plan(*GIVEN)
        jobs = tuple(changed(j, **values) if j.id == "talk-show-1" else j for j in good.jobs)
        assert Breach("talk-without-its-job", ("show",), at("09:20")) in said(
            changed(good, jobs=jobs)
        )


def test_another_talk_is_counted_by_itself_and_may_follow_at_once() -> None:
    """Ben has ten minutes from twenty to ten on, five minutes after the first giving."""
    brief = changed(TALK, id="brief", minutes=10, times=2, speakers=("ben",), moment=None)
    brief = changed(brief, dish=None, cooker=None, apart_min=60)
    both = changed(event(), talks=(*event().talks, brief))
    one = Giving(talk_id="brief", giving=1, at=at("09:40"), minutes=10, speaker_id="ben")
    left = NotGiven(talk_id="brief", givings=1, reason="no-room")

    assert said(plan(GIVEN[0], one, GIVEN[1], missing=(MISSING, left)), both) == []
    assert said(plan(GIVEN[0], one, GIVEN[1]), both) == [
        Breach("wrong-number-of-givings", ("brief",), 1, 2)
    ]


def test_no_giving_is_told_that_is_not_asked_for() -> None:
    more = plan(*GIVEN, missing=(changed(MISSING, givings=2),))

    assert rules(more) == {"wrong-number-of-givings"}


@pytest.mark.parametrize(("clock", "there"), [("08:20", True), ("08:15", False)])
def test_an_oven_that_stands_empty_on_the_sun_shows_how_it_gets_hot(
    clock: str, there: bool
) -> None:
    """It is heated from half past eight and loaded at nine; the talk takes a quarter of an hour."""
    one = changed(GIVEN[0], at=at(clock), cooker_id="oven", speaker_id=None)
    of_oven = event(
        cooker="oven", dish="bread", moment="over-100", start=time(8), times=1, speakers=()
    )

    found = rules(plan(one, missing=()), of_oven)

    assert found == (set() if there else {"nothing-to-show"})


def test_a_giving_is_a_talk_among_the_jobs() -> None:
    jobs = plan(*GIVEN).jobs
    other = changed(plan(*GIVEN), jobs=(*jobs[:-1], changed(jobs[-1], kind="greet")))

    assert "talk-without-its-job" in rules(other)


def test_a_talk_without_speakers_needs_nobody() -> None:
    nobody = [changed(g, speaker_id=None) for g in GIVEN]

    assert said(plan(*nobody), event(speakers=())) == []
    assert rules(plan(*GIVEN), event(speakers=())) == {"wrong-speaker"}
    assert rules(plan(*GIVEN), event(speakers=(), speaker="cam")) == set()
    assert rules(plan(*GIVEN), event(speakers=(), speaker="ada")) == {"wrong-speaker"}


def other_job(clock: str, who: str, **values: object) -> Job:
    row = {"id": "other", "kind": "load", "at": at(clock), "minutes": 5, "helper_ids": (who,)}
    return Job.model_validate({**row, **values})


@pytest.mark.parametrize(
    ("job", "rule"),
    [
        (other_job("09:15", "cam"), None),
        (other_job("09:16", "cam"), "speaker-not-free"),
        (other_job("09:34", "cam"), "speaker-not-free"),
        (other_job("09:35", "cam"), None),
        (other_job("09:20", "cam"), "speaker-not-free"),
        (other_job("09:20", "cam", talk_id="show"), "speaker-not-free"),  # water put on for it
        (other_job("09:20", "ada"), None),
        (other_job("09:20", "cam", kind="serve"), None),  # everybody's
        (other_job("09:34", "", kind="pack-down", helper_ids=()), "talk-while-all-work"),
        (other_job("09:10", "", kind="set-up", helper_ids=(), minutes=11), "talk-while-all-work"),
        (other_job("09:10", "", kind="set-up", helper_ids=(), minutes=10), None),
    ],
)
def test_a_speaker_has_no_other_work_and_nobody_sets_up_meanwhile(
    job: Job, rule: str | None
) -> None:
    assert rules(more(plan(*GIVEN), jobs=(job,))) == ({rule} if rule else set())


def test_a_speaker_does_not_walk_and_has_no_break_and_is_there() -> None:
    """Ada stirs at half past nine and walks at 9:40, each for five minutes."""
    for clock, rule in (("09:35", set()), ("09:36", {"speaker-not-free"})):
        one = changed(GIVEN[0], at=at(clock), minutes=5, speaker_id="ada")
        assert rules(plan(one, changed(GIVEN[1], minutes=5)), event(minutes=5)) == rule

    def cam(**values: object) -> Event:
        return edited(event(), "helpers", "cam", **values)

    for starts, rule in ((time(9, 5), set()), (time(9, 6), {"speaker-has-a-break"})):
        rest = (Break(at=starts, minutes=15),)
        assert rules(plan(*GIVEN), cam(breaks=rest)) == rule
    late = (Break(at=time(9, 35), minutes=15),)
    assert rules(plan(*GIVEN), cam(breaks=late)) == set()
    assert rules(plan(*GIVEN), cam(start=time(9, 20), end=time(10, 55))) == set()
    assert rules(plan(*GIVEN), cam(start=time(9, 21))) == {"speaker-not-there"}
    assert rules(plan(*GIVEN), cam(end=time(10, 54))) == {"speaker-not-there"}


@pytest.mark.parametrize(("clock", "meets"), [("09:05", False), ("09:06", True), ("09:35", False)])
def test_visitors_are_at_one_talk_at_a_time(clock: str, meets: bool) -> None:
    fixed = other_job(clock, "ben", kind="talk", talk_id="talk", minutes=15)

    assert rules(more(plan(*GIVEN), jobs=(fixed,))) == ({"talks-meet"} if meets else set())
    two = other_job("12:00", "ben", kind="talk", talk_id="talk"), other_job("12:00", "ben")
    twice = more(plan(*GIVEN), jobs=(two[0], changed(two[0], id="again")))
    assert rules(twice) == set()  # two that stand fixed are the organiser's


@pytest.mark.parametrize(
    ("values", "rule"),
    [
        ({"of_100": 0}, None),
        ({"of_100": -5}, "chance-not-in-steps"),
        ({"of_100": 96}, "chance-not-in-steps"),
        ({"of_100": 100}, "chance-not-in-steps"),
        ({"of_100": 82}, "chance-not-in-steps"),
        ({"of_100": None}, "chance-not-in-steps"),
        ({"cooker_id": "box"}, "shown-elsewhere"),
        ({"cooker_id": None}, "shown-elsewhere"),
        # The stew is lifted at 10:20; the next is loaded at 10:30.
        ({"at": at("10:21"), "giving": 1}, "nothing-to-show"),
    ],
)
def test_what_is_shown_is_there_and_its_chance_in_steps_of_five(
    values: dict[str, object], rule: str | None
) -> None:
    short = event(minutes=5, apart_min=0)
    given = (changed(GIVEN[0], minutes=5, **values), changed(GIVEN[1], minutes=5))

    assert rules(plan(*given), short) == ({rule} if rule else set())


def test_where_no_cooker_is_asked_for_any_is_fine_and_none_is_not() -> None:
    anywhere = event(cooker=None)

    assert rules(plan(*GIVEN), anywhere) == set()
    assert rules(first(cooker_id=None), anywhere) == {"shown-elsewhere"}


def test_what_is_put_on_for_a_talk_shows_it_where_nothing_is_cooked() -> None:
    found = {b.rule for b in named(floating_talks_are_kept, show_plan(), SHOWS)}

    assert "nothing-to-show" not in found


@pytest.mark.parametrize(("moment", "clock"), [("lifted", "10:10"), ("loading", "10:15")])
def test_of_two_loads_in_its_time_one_is_enough(moment: str, clock: str) -> None:
    """At 10:20 the first stew is lifted, at 10:30 the second is loaded."""
    one = changed(GIVEN[0], at=at(clock), minutes=30)
    missing = (changed(MISSING, givings=2),)
    long = event(moment=moment, minutes=30)

    assert "nothing-to-show" not in rules(plan(one, missing=missing), long)


def test_of_another_dish_nothing_is_shown() -> None:
    assert rules(plan(*GIVEN), event(dish="rice")) == {"nothing-to-show"}
    assert rules(plan(*GIVEN), event(dish=None)) == set()


@pytest.mark.parametrize(
    ("moment", "clock", "shown"),
    [
        ("loading", "09:00", True),
        ("loading", "09:01", False),
        ("loading", "10:18", True),  # the next is loaded at half past ten
        ("loading", "10:17", False),
        ("lifted", "10:08", True),  # 10:20 is three minutes before its end
        ("lifted", "10:07", False),
        ("lifted", "10:20", False),
    ],
)
def test_work_of_hands_is_seen_whole_three_minutes_before_the_end(
    moment: str, clock: str, shown: bool
) -> None:
    one = changed(GIVEN[0], at=at(clock), speaker_id="cam")
    missing = (changed(MISSING, givings=2),)

    found = rules(plan(one, missing=missing), event(moment=moment))

    assert found == (set() if shown else {"nothing-to-show"})


def test_a_talk_about_nothing_has_no_chance() -> None:
    plain = [changed(g, cooker_id=None, of_100=None) for g in GIVEN]

    assert said(plan(*plain), event(moment=None, cooker=None)) == []
    for value in ({"of_100": 80}, {"cooker_id": "mirror"}):
        odd = [changed(plain[0], **value), plain[1]]
        assert said(plan(*odd), event(moment=None, cooker=None)) == [
            Breach("chance-of-nothing", ("show",))
        ]


def test_what_has_begun_may_have_another_speaker_and_show_what_is_gone() -> None:
    """Planned again at 9:20 the first has begun, at 9:19 it has not."""
    odd = first(speaker_id="ben", cooker_id="box")

    assert rules(changed(odd, replanned_at=GIVEN[0].at)) == set()
    early = changed(odd, replanned_at=GIVEN[0].at - minutes(1))
    assert rules(early) == {"wrong-speaker", "shown-elsewhere"}
