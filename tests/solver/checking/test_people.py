"""Rules of work on a plan laid by hand: posts, watchers, breaks, the young."""

from __future__ import annotations

from datetime import time

import pytest

from events.model import Break, Event
from events.table import changed
from solver.checking.breach import Breach
from solver.checking.people_rules import (
    attended_cookers_are_attended,
    helpers_have_their_breaks,
    mirrors_are_watched,
    nobody_is_in_two_places,
    packing_waits_for_the_last_meal,
    the_young_have_light_jobs_only,
    visitors_are_greeted_when_they_come,
)
from solver.plan import LIGHT_JOBS, Job, JobKind, Plan
from tests.solver.checking.damage import (
    again,
    edited,
    event,
    job,
    more,
    named,
    plan,
    walk,
    without,
)
from tests.solver.checking.hand_laid import EVENT, PLAN, at

# --- two places at once, hours


def test_a_helper_does_one_thing_at_a_time() -> None:
    """Ben loads the oven at 9:00 for five minutes and walks to it at 9:10."""
    long = job("load-09:00-bread-1", minutes=10)
    longer = job("load-09:00-bread-1", minutes=11)

    assert named(nobody_is_in_two_places, long) == []
    assert named(nobody_is_in_two_places, longer) == [
        Breach("two-things-at-once", ("ben", "load-09:00-bread-1", "walk-09:10"))
    ]
    assert named(nobody_is_in_two_places, walk("walk-09:10", minutes=20)) == []
    assert named(nobody_is_in_two_places, walk("walk-09:10", minutes=21)) == [
        Breach("two-things-at-once", ("ben", "walk-09:10", "load-09:30-lentils-1+rice-1"))
    ]


def test_all_who_do_a_job_are_busy() -> None:
    both = job("insulate-10:20-stew-1", minutes=11)

    assert {b.ids[0] for b in named(nobody_is_in_two_places, both)} == {"ada", "ben"}


@pytest.mark.parametrize(
    ("hours", "outside"),
    [
        ({"start": at("08:30").time()}, set()),
        ({"start": at("08:31").time()}, {"preheat-08:30-bread-1"}),
        ({"end": at("13:05").time()}, set()),
        ({"end": at("13:04").time()}, {"lift-13:00-lentils-1+rice-1"}),
        (
            {"end": at("12:20").time()},
            {"walk-12:20", "lift-12:45-stew-2", "lift-13:00-lentils-1+rice-1"},
        ),
    ],
)
def test_nobody_works_outside_their_hours(hours: dict[str, object], outside: set[str]) -> None:
    found = named(nobody_is_in_two_places, event=event("helpers", "ben", **hours))

    assert {b.ids for b in found} == {("ben", name) for name in outside}
    assert {b.rule for b in found} <= {"outside-their-hours"}


def test_a_talk_may_be_outside_the_hours_but_keeps_its_speaker_busy() -> None:
    gone = event("helpers", "cam", start=at("13:00").time())
    by_cam = job("stir-11:00-stew-2", helper_ids=("cam",), minutes=6)

    assert named(nobody_is_in_two_places, event=gone) == []
    assert named(nobody_is_in_two_places, by_cam) == [
        Breach("two-things-at-once", ("cam", "stir-11:00-stew-2", "talk"))
    ]


@pytest.mark.parametrize("kind", ["serve", "set-up", "pack-down"])
def test_what_everybody_does_stands_in_nobodys_way(kind: JobKind) -> None:
    assert named(nobody_is_in_two_places, job("serve", kind=kind)) == []
    assert named(nobody_is_in_two_places, job("serve", kind="wash-up"))


def test_planned_again_what_is_past_is_not_asked() -> None:
    longer = job("load-09:00-bread-1", minutes=11)
    late = walk("walk-09:10", minutes=21)

    assert named(nobody_is_in_two_places, again("09:00", old=longer)) == []
    assert named(nobody_is_in_two_places, again("08:59", old=longer))
    assert named(nobody_is_in_two_places, again("09:10", old=late)) == []
    assert named(nobody_is_in_two_places, again("09:09", old=late))


# --- attended cookers


def post(who: str = "ada", start: str = "09:00", count: int = 81, cooker: str = "mirror") -> Job:
    return Job(
        id="post", kind="attend", at=at(start), minutes=count, helper_ids=tuple(who.split()),
        cooker_id=cooker,
    )  # fmt: skip


SHOWN = event("cookers", "mirror", attended=True)


@pytest.mark.parametrize(
    ("stay", "stays"),
    [
        (post(), True),
        (post(count=80), False),
        (post(start="09:01"), False),
        (post(start="08:00", count=200), True),
        (post(who="ben"), False),
        (post(who="ada cam"), False),
        (post(cooker="box"), False),
        (changed(post(), kind="stir"), False),
    ],
)
def test_at_an_attended_cooker_one_who_may_stays_from_first_to_last(stay: Job, stays: bool) -> None:
    found = named(attended_cookers_are_attended, more(jobs=(stay,)), SHOWN)
    mine = [b for b in found if b.ids[0] == "mirror-09:00"]

    left = Breach("cooker-not-attended", ("mirror-09:00", "mirror"), at("09:00"))
    assert mine == ([] if stays else [left])


def test_other_cookers_need_nobody_who_stays() -> None:
    assert named(attended_cookers_are_attended) == []
    anybody = edited(SHOWN, "cookers", "mirror", trained=False)
    found = named(attended_cookers_are_attended, more(jobs=(post(who="ben"),)), anybody)
    assert [b.ids[0] for b in found] == ["mirror-10:30"]


def test_a_preheated_cooker_is_attended_from_its_preheat() -> None:
    shown = event("cookers", "oven", attended=True)
    late, early = post("ben", "08:31", 200, "oven"), post("ben", "08:30", 200, "oven")

    assert named(attended_cookers_are_attended, more(jobs=(late,)), shown)
    assert named(attended_cookers_are_attended, more(jobs=(early,)), shown) == []


def test_planned_again_somebody_stays_from_the_next_slot_on() -> None:
    def said(clock: str) -> list[Breach]:
        found = named(
            attended_cookers_are_attended,
            again("09:30", old=more(jobs=(post(start=clock),))),
            SHOWN,
        )
        return [b for b in found if b.ids[0] == "mirror-09:00"]

    assert said("09:35") == []
    assert said("09:36")
    out = again("10:20", old=more(jobs=(post(start="12:00"),)))
    assert [b.ids[0] for b in named(attended_cookers_are_attended, out, SHOWN)] == ["mirror-10:30"]


def test_work_at_ones_own_post_is_part_of_it() -> None:
    stays = more(jobs=(post(),))

    assert named(nobody_is_in_two_places, without("walks", "walk-09:40", old=stays)) == []
    both = named(nobody_is_in_two_places, stays)
    assert both == [Breach("two-things-at-once", ("ada", "post", "walk-09:40"))]
    own = plan("walks", "walk-09:40", stays, turn_ids=("mirror-09:40",))
    assert named(nobody_is_in_two_places, own) == []
    at_oven = without("jobs", "stir-09:30-stew-1", old=more(jobs=(post(cooker="oven"),)))
    at_oven = plan("jobs", "load-09:00-stew-1", at_oven, at=at("08:55"))
    assert named(nobody_is_in_two_places, at_oven) == both
    away = plan("jobs", "stir-09:30-stew-1", stays, cooker_id="box")
    assert len(named(nobody_is_in_two_places, without("walks", "walk-09:40", old=away))) == 1
    other = more(jobs=(post("cam"),))
    assert named(nobody_is_in_two_places, other) == []
    elsewhere = plan("jobs", "load-09:30-lentils-1+rice-1", other, helper_ids=("ada",))
    assert [b.rule for b in named(nobody_is_in_two_places, elsewhere)] == ["two-things-at-once"]
    early = more(jobs=(post(count=20),))
    assert named(nobody_is_in_two_places, without("walks", "walk-09:40", old=early)) == []
    left = plan("jobs", "load-09:30-lentils-1+rice-1", early, helper_ids=("ada",))
    left = without("walks", "walk-09:40", old=left)
    assert [b.rule for b in named(nobody_is_in_two_places, left)] == ["two-things-at-once"]
    longest = more(jobs=(post(count=31), post("cam", cooker="box")))
    longest = without("walks", "walk-09:40", old=longest)
    assert named(nobody_is_in_two_places, longest) == []
    cut = plan("jobs", "stir-09:30-stew-1", longest, at=at("09:31"))
    assert named(nobody_is_in_two_places, cut) == []


# --- mirrors, the young, breaks


def test_a_mirror_is_watched_while_it_is_on_the_sun() -> None:
    """Cam speaks from 11:05 to 11:35; the mirror is on the sun until 11:40."""
    at_1130 = event("helpers", "ada", end=at("11:30").time())
    unseen = [Breach("mirror-not-watched", ("stew-2", "mirror"), at("11:30"))]

    assert named(mirrors_are_watched, event=event("helpers", "ada", end=at("11:35").time())) == []
    assert named(mirrors_are_watched, event=at_1130) == unseen
    late = event("helpers", "ada", start=at("10:00").time())
    assert named(mirrors_are_watched, event=late) == []  # Cam watches until she speaks
    not_cam = job("talk", helper_ids=("ben",))
    assert named(mirrors_are_watched, not_cam, at_1130) == []
    assert named(mirrors_are_watched, again("11:35", old=PLAN), at_1130) == []
    assert named(mirrors_are_watched, again("11:30", old=PLAN), at_1130) == unseen


def watchers(*, start: str = "08:00", end: str = "14:00", **values: object) -> Event:
    hours = {"start": at(start).time(), "end": at(end).time(), **values}
    return edited(event("helpers", "ada", **hours), "helpers", "cam", **hours)


def test_who_watches_is_there_from_its_first_minute_to_its_last() -> None:
    silent = without("jobs", "talk")

    assert named(mirrors_are_watched, silent, watchers(start="09:00")) == []
    assert [b.value for b in named(mirrors_are_watched, silent, watchers(start="09:01"))] == [
        at("09:00")
    ]
    assert named(mirrors_are_watched, silent, watchers(end="11:40")) == []
    assert [b.value for b in named(mirrors_are_watched, silent, watchers(end="11:35"))] == [
        at("11:35")
    ]


def test_only_a_trained_adult_watches() -> None:
    assert len(named(mirrors_are_watched, event=watchers(adult=False))) == 2
    assert len(named(mirrors_are_watched, event=watchers(may=("lift", "burner")))) == 2


def light(*who: str, kind: JobKind = "carry-plates") -> Plan:
    row = Job(id="light", kind=kind, at=at("12:00"), minutes=10, helper_ids=who)
    return more(jobs=(row,))


CLASS = changed(
    EVENT,
    helpers=(
        *EVENT.helpers,
        *(changed(EVENT.helper("kid"), id=f"k{n}") for n in range(4)),
    ),
)


@pytest.mark.parametrize(
    "kind", ["load", "lift", "stir", "preheat", "probe", "move", "insulate", "attend"]
)
def test_the_young_work_at_no_cooker_and_lift_no_pot(kind: JobKind) -> None:
    found = named(the_young_have_light_jobs_only, light("kid", "ben", kind=kind))

    assert found == [Breach("not-for-the-young", ("light", "kid"))]
    assert named(the_young_have_light_jobs_only, light("ada", "ben", kind=kind)) == []


@pytest.mark.parametrize("kind", LIGHT_JOBS)
def test_a_named_adult_stands_with_four_young_at_most(kind: JobKind) -> None:
    def said(*who: str) -> list[Breach]:
        return named(the_young_have_light_jobs_only, light(*who, kind=kind), CLASS)

    assert said("ben") == []
    assert said("kid", "ben") == []
    assert said("kid", "k0", "k1", "k2", "ben") == []
    assert said("kid", "k0", "k1", "k2", "k3", "ben") == [
        Breach("too-many-young", ("light",), 5, 4)
    ]
    assert said("kid", "k0") == [Breach("no-adult-beside-the-young", ("light", "k0", "kid"))]
    assert said("kid", "kid") == [Breach("no-adult-beside-the-young", ("light", "kid"))]


def test_the_young_may_speak_and_walk_to_no_cooker() -> None:
    assert named(the_young_have_light_jobs_only, job("talk", helper_ids=("kid",))) == []
    by_kid = walk("walk-10:30", helper_id="kid")
    assert named(the_young_have_light_jobs_only, by_kid) == [
        Breach("not-for-the-young", ("walk-10:30", "kid"))
    ]
    assert named(the_young_have_light_jobs_only, again("10:30", old=by_kid)) == []
    assert named(the_young_have_light_jobs_only, again("10:29", old=by_kid))
    assert (
        named(the_young_have_light_jobs_only, again("12:00", old=light("kid", kind="lift"))) == []
    )


@pytest.mark.parametrize(
    ("start", "count", "found"),
    [
        ("09:05", 5, []),
        ("09:04", 5, ["load-09:00-bread-1"]),
        ("08:45", 15, []),
        ("08:45", 16, ["load-09:00-bread-1"]),
        ("09:05", 6, ["walk-09:10"]),
        ("09:15", 15, []),
        ("09:14", 15, ["walk-09:10"]),
    ],
)
def test_nobody_works_in_a_break(start: str, count: int, found: list[str]) -> None:
    pause = Break(at=at(start).time(), minutes=count)

    said = named(helpers_have_their_breaks, event=event("helpers", "ben", breaks=(pause,)))

    row = {j.id: j.at for j in (*PLAN.jobs, *PLAN.walks)}
    assert said == [
        Breach("work-in-a-break", ("ben", name), row[name], at(start)) for name in found
    ]


def test_ones_own_talk_may_be_in_a_break() -> None:
    pause = Break(at=at("11:00").time(), minutes=60)

    assert named(helpers_have_their_breaks, event=event("helpers", "cam", breaks=(pause,))) == []


def test_packing_down_waits_for_the_end_of_the_last_meal() -> None:
    """The late meal is from two to three."""

    def packed(clock: str) -> Plan:
        row = {"id": "pack", "kind": "pack-down", "at": at(clock), "minutes": 30, "helper_ids": ()}
        return more(jobs=(Job.model_validate(row),))

    early = packed("14:59")
    assert named(packing_waits_for_the_last_meal, packed("15:00")) == []
    assert named(packing_waits_for_the_last_meal, early) == [
        Breach("packed-before-the-last-meal", ("pack",), at("14:59"), at("15:00"))
    ]
    assert named(packing_waits_for_the_last_meal, again("14:59", old=early)) == []
    assert named(packing_waits_for_the_last_meal, again("14:58", old=early))
    short = event("meals", "late", end=time(14, 55))
    assert named(packing_waits_for_the_last_meal, early, short) == []


def test_nobody_greets_before_the_visitors_come() -> None:
    """They come at half past ten; Ben and the kid greet at ten to eleven."""
    greet = "greet-10:50-"
    early = job(greet, at=at("10:29"))

    assert named(visitors_are_greeted_when_they_come) == []
    assert named(visitors_are_greeted_when_they_come, job(greet, at=at("10:30"))) == []
    assert named(visitors_are_greeted_when_they_come, early) == [
        Breach("nobody-to-greet", (greet,), at("10:29"), at("10:30"))
    ]
    assert named(visitors_are_greeted_when_they_come, again("10:29", old=early)) == []
    nobody = changed(EVENT, site=changed(EVENT.site, visitors_from=None))
    assert named(visitors_are_greeted_when_they_come, PLAN, nobody) == [
        Breach("nobody-to-greet", (greet,), at("10:50"))
    ]
