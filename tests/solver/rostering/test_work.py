"""The work of one load laid by hand, what is on the sun when, and the jobs around the day."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from functools import partial

import pytest

from events.model import Cooker, Event
from events.table import changed
from solver.plan import Turn
from solver.rostering.programme import Work, around, programme, with_past
from solver.rostering.tasks import SunExposure, Task, exposures_of, tasks_of
from solver.rostering.turns import Trip, turns_of
from solver.scheduling.columns import Candidate, Costs, Second, make_column
from solver.simulation.day import Day
from solver.solar.aiming import Pose
from tests.solver.checking import hand_laid
from tests.solver.scheduling.test_columns import BOX, HAY, MIRROR, RING, clock, in_cooker
from tests.solver.scheduling.test_formulation import in_progress, replanned
from tests.solver.scheduling.test_hands import HEAVY
from tests.solver.scheduling.test_timed_load import EVENT, NOON, START, day, stew
from tests.solver.scheduling.test_timed_load import day as a_day


def placed(cooker: Cooker, *dishes: object, lift: int = NOON, **more: object) -> Candidate:
    """Return a load's candidate; `to` is its second cooker and when it leaves that."""
    to: Second | None = more.pop("to", None)  # type: ignore[assignment]
    one = in_cooker(cooker, *dishes, **more)  # type: ignore[arg-type]
    column = make_column(day(), one, lift=lift, costs=Costs(), second=to)
    return Candidate(column, one, to.cooker if to else None)


def said(task: Task) -> str:
    abilities = "+".join(str(a) for a in task.abilities) or "-"
    return f"{clock(task.slot * 5)} {task.job.kind} {task.job.minutes} {abilities}"


@pytest.mark.parametrize(
    ("candidate", "jobs"),
    [
        (placed(BOX), "9:00 load 5 None, 12:00 lift 5 lift"),
        (
            placed(MIRROR, stew(stir_every_min=25, load_min=12)),
            "9:00 load 15 mirrors, 9:25 stir 5 mirrors, 9:50 stir 5 mirrors, 12:00 lift 5 mirrors",
        ),
        (
            placed(BOX, stew(shape="baked"), preheat_min=20, lift=START + 70),
            "8:40 preheat 5 None, 9:00 load 5 None, 10:00 probe 5 None, 10:10 lift 5 lift",
        ),
        (
            placed(MIRROR, HEAVY, lift=START + 60, to=Second(RING, NOON)),
            "9:00 load 5 mirrors, 10:00 move 5 mirrors+lift+lift, 12:00 lift 5 burner+lift+lift",
        ),
        (
            placed(BOX, HEAVY, stew(), done_min=(60.0, 60.0), lift=START + 60, to=Second(HAY, 780)),
            "9:00 load 10 None, 10:00 insulate 5 lift+lift+lift",
        ),
        (
            placed(changed(MIRROR, attended=True), HEAVY, preheat_min=10, lift=START + 20),
            "8:50 attend 35 mirrors, 8:50 preheat 5 -, 9:00 load 5 -, 9:20 lift 5 lift+lift",
        ),
        (
            placed(BOX, stew(stir_every_min=25), stew(shape="baked"), done_min=(60.0, 90.0)),
            "9:00 load 10 None, 9:25 stir 5 None, 9:50 stir 5 None, 10:15 stir 5 None, "
            "10:30 probe 5 None, 12:00 lift 5 lift",
        ),
        (
            placed(MIRROR, stew(stir_every_min=25), lift=START + 50, to=Second(HAY, 780)),
            "9:00 load 5 mirrors, 9:25 stir 5 mirrors, 9:50 insulate 5 mirrors",
        ),
        (
            placed(changed(BOX, attended=True)),
            "9:00 attend 185 lift, 9:00 load 5 -, 12:00 lift 5 -",
        ),
    ],
    ids=[
        *("plain", "stirred", "baked", "to-ring", "to-hay", "attended"),
        *("done-at-two-times", "stirred-until-it-leaves", "attended-by-anybody-who-lifts"),
    ],
)
def test_a_load_brings_its_jobs_with_what_its_people_must_be_allowed(
    candidate: Candidate, jobs: str
) -> None:
    tasks = tasks_of(day(), [candidate])

    assert ", ".join(said(t) for t in tasks) == jobs
    stays = [t.job.id for t in tasks if t.job.kind == "attend"]
    assert {t.covered_by for t in tasks if t.job.id not in stays} == {stays[0] if stays else None}
    assert all(
        t.job.cooker_id == ("ring" if "burner" in t.abilities else candidate.load.cooker.id)
        for t in tasks
    )


def test_who_stays_at_a_cooker_does_not_lift_from_the_second() -> None:
    stall = changed(MIRROR, attended=True)
    stay, load, move, lift = tasks_of(
        day(), [placed(stall, HEAVY, lift=START + 60, to=Second(RING, NOON))]
    )

    assert said(stay) == "9:00 attend 65 mirrors"
    assert {load.covered_by, move.covered_by} == {stay.job.id}
    assert (said(move), said(lift)) == ("10:00 move 5 lift+lift", "12:00 lift 5 burner+lift+lift")
    assert lift.covered_by is None


def test_a_jobs_slots_are_all_that_it_touches() -> None:
    (load, _) = tasks_of(day(), [placed(BOX, stew(load_min=12))])
    longer = replace(load, job=changed(load.job, minutes=11))

    assert list(load.slots()) == list(longer.slots()) == [108, 109, 110]


def test_work_that_is_past_is_not_asked_for_again_and_attendance_goes_on() -> None:
    stall = placed(changed(MIRROR, attended=True), stew(load_min=10), lift=NOON)

    tasks = tasks_of(replanned(EVENT, START), [stall])

    assert [said(t) for t in tasks] == ["9:05 attend 180 mirrors", "12:00 lift 5 -"]
    begun = replace(stall, in_progress=in_progress(hand_laid.PLACEMENTS[0], "lifted"))
    assert tasks_of(replanned(EVENT, START), [begun]) == []
    on_ring = replace(begun, in_progress=in_progress(hand_laid.PLACEMENTS[0], "on-ring"))
    assert {t.job.kind for t in tasks_of(replanned(EVENT, START), [on_ring])} == {"lift"}


def test_a_load_that_is_in_its_cooker_is_not_preheated_and_each_job_has_its_name() -> None:
    begun = placed(MIRROR, stew(stir_every_min=25))
    column = replace(begun.column, occupies=(110, 144))  # what is to come, as planning again has it

    tasks = tasks_of(replanned(EVENT, 9 * 60 + 5), [replace(begun, column=column)])

    assert [said(t) for t in tasks] == [
        "9:25 stir 5 mirrors",
        "9:50 stir 5 mirrors",
        "12:00 lift 5 mirrors",
    ]
    assert len({t.job.id for t in tasks}) == 3


# --- on the sun


def exposed(day: Day, candidate: Candidate) -> list[tuple[int, int, int, int]]:
    return [(e.start, e.end, e.every, e.now) for e in exposures_of(day, [candidate])]


EVERY = 8  # forty minutes: five degrees at midsummer


def test_a_cooker_is_on_the_sun_from_its_preheating_to_its_lift() -> None:
    assert exposed(day(), placed(MIRROR, preheat_min=20)) == [(104, 144, EVERY, -1)]
    assert exposed(day(), placed(RING)) == []


@pytest.mark.parametrize(
    ("aimed_min", "start"),
    [(START + 30, (START + 30) // 5), (START - 30, 120 - EVERY), (None, 120 - EVERY)],
    ids=["lately", "overdue", "unknown"],
)
def test_what_is_on_the_sun_already_holds_from_its_last_aim(
    aimed_min: int | None, start: int
) -> None:
    aimed = {} if aimed_min is None else {"mirror": aimed_min}
    again = replanned(EVENT, 10 * 60 - 1, aimed_at=aimed)
    begun = replace(placed(MIRROR), in_progress=in_progress(hand_laid.PLACEMENTS[0]))

    assert exposed(again, begun) == [(start, 144, EVERY, 120)]
    # Planning again has it from the first slot that is to come.
    to_come = replace(begun, column=replace(begun.column, occupies=(120, 144)))
    assert exposed(again, to_come) == [(start, 144, EVERY, 120)]
    broken = replanned(EVENT, 10 * 60 - 1, unavailable=frozenset({"mirror"}))
    assert exposed(broken, begun) == []
    for stage in ("on-ring", "lifted"):
        left = replace(begun, in_progress=in_progress(hand_laid.PLACEMENTS[0], stage))
        assert exposed(again, left) == []
    leaves = placed(MIRROR, lift=10 * 60)
    assert exposed(again, replace(leaves, in_progress=begun.in_progress)) == []


def test_what_is_heated_empty_is_on_the_sun_already_and_what_is_to_come_is_not() -> None:
    heats = placed(MIRROR, preheat_min=20)  # from 8:40
    aimed = {"mirror": START - 20}

    for minute, on_sun in ((START - 21, False), (START - 20, True), (START - 19, True)):
        found = exposed(replanned(EVENT, minute, aimed_at=aimed), heats)
        now = 105 if on_sun else -1
        assert found == [(104, 144, EVERY, now)], minute


def test_exposures_stand_in_the_order_of_their_times() -> None:
    later = placed(MIRROR)
    rows = [later, placed(changed(MIRROR, id="b")), placed(changed(MIRROR, id="a"))]
    sooner = placed(changed(MIRROR, id="z"), preheat_min=20)

    found = exposures_of(day(), [*rows, sooner])

    assert [e.cooker.id for e in found] == ["z", "a", "b", "mirror"]


@pytest.mark.parametrize(
    ("aimed_min", "stands"),
    [(START - 30, 1.0), (START + 1, 1.0), (START + 35, 2.0), (START + 70, 3.0), (None, None)],
)
def test_it_stands_as_the_turn_nearest_to_its_last_aim_left_it(
    aimed_min: int | None, stands: float | None
) -> None:
    mirror = [t for t in hand_laid.TURNS if t.cooker_id == "mirror"][:3]  # 9:00, 9:40, 10:30
    left = [changed(t, to_elevation_deg=n + 1.0) for n, t in enumerate(mirror)]
    others = [
        changed(mirror[0], cooker_id="box", at=hand_laid.at(clock), to_elevation_deg=9.0)
        for clock in ("08:30", "09:01", "09:35", "10:10")
    ]
    aimed = {} if aimed_min is None else {"mirror": aimed_min}
    again = replanned(EVENT, 11 * 60 - 1, aimed_at=aimed)
    begun = replace(placed(MIRROR), in_progress=in_progress(hand_laid.PLACEMENTS[0]))
    assert again.replan is not None

    def stood(*turns: Turn) -> Pose | None:
        plan = changed(hand_laid.PLAN, turns=turns)
        replan = replace(again.replan, plan=plan)  # type: ignore[type-var]
        (exposure,) = exposures_of(replace(again, replan=replan), [begun])
        return exposure.stands

    assert stood(*others, *left) == (stands and Pose(105.0, stands))
    assert stood(*others) is None


# --- around the day


def jobs(day: Day, *candidates: Candidate) -> list[str]:
    found = around(day, candidates)
    return [f"{j.at:%H:%M} {j.kind} {j.minutes}" for j in found]


def eaten_by(until: str) -> Event:
    """Return the day with a lunch that ends then, and no meal after it."""
    lunch = changed(EVENT.meal("lunch"), start=time(12), end=time.fromisoformat(until))
    dishes = tuple(changed(d, meal="lunch") for d in EVENT.dishes)
    return changed(EVENT, meals=(lunch,), dishes=dishes)


@pytest.mark.parametrize(("until", "packs"), [("12:30", "12:30"), ("12:35", "12:35")])
def test_nobody_packs_down_before_the_last_meal_is_over(until: str, packs: str) -> None:
    assert jobs(a_day(eaten_by(until)), placed(BOX))[-1] == f"{packs} pack-down 30"
    assert jobs(a_day(), placed(BOX))[-1] == "15:00 pack-down 30"  # the late meal is until three


def test_half_an_hour_before_the_first_load_is_for_setting_up_and_half_after_it_cools() -> None:
    day = partial(a_day, eaten_by("12:30"))
    assert jobs(day(), placed(BOX)) == ["08:30 set-up 30", "12:30 pack-down 30"]
    to_ring = placed(MIRROR, lift=START + 60, to=Second(RING, NOON + 30))
    assert jobs(day(), placed(BOX, preheat_min=15), to_ring) == [
        "08:15 set-up 30",
        "13:00 pack-down 30",
    ]
    # The site opens at eight: then it is before that, and the plan warns of it.
    assert jobs(day(), placed(BOX, preheat_min=40)) == ["07:50 set-up 30", "12:30 pack-down 30"]
    assert jobs(day(), placed(BOX, preheat_min=60)) == ["07:30 set-up 30", "12:30 pack-down 30"]
    assert jobs(day()) == []


def test_a_load_in_progress_was_set_up_before_it_was_loaded() -> None:
    begun = placed(BOX)
    column = replace(begun.column, occupies=(120, 144))

    assert jobs(day(), replace(begun, column=column))[0] == "08:30 set-up 30"


@pytest.mark.parametrize(
    ("slot", "first"), [(0, "12:30 pack-down 30"), (2, "00:00 set-up 10"), (8, "00:10 set-up 30")]
)
def test_nobody_sets_up_on_the_day_before(slot: int, first: str) -> None:
    one = placed(BOX)
    column = replace(one.column, load_slot=slot, occupies=(slot, 144))

    assert jobs(a_day(eaten_by("12:30")), replace(one, column=column))[0] == first


def test_a_fixed_talk_is_its_speakers_job_and_a_meal_everybodys() -> None:
    found = [(j.id, f"{j.at:%H:%M}", j.minutes, j.helper_ids) for j in programme(day())]

    assert found == [
        ("talk-talk", "11:05", 30, ("cam",)),
        ("serve-lunch", "12:00", 60, ()),
        ("serve-late", "14:00", 60, ()),
    ]


def test_what_was_done_stays_written_with_those_who_are_still_of_the_event() -> None:
    event = changed(EVENT, helpers=tuple(h for h in EVENT.helpers if h.id != "ben"))
    again = replanned(event, 9 * 60 + 30)
    assert again.replan is not None

    work = with_past(again, again.replan, Work((), (), ()))

    assert max(j.at for j in work.jobs) == hand_laid.at("09:30")
    assert {h for j in work.jobs for h in j.helper_ids} == {"ada"}
    assert [w.helper_id for w in work.walks] == []  # one walk so far, and it was Ben's
    assert {t.at for t in work.turns} == {
        hand_laid.at(c) for c in ("08:30", "09:00", "09:10", "09:30")
    }


# --- turns


def turned(exposure: SunExposure, *slots: int) -> list[Turn]:
    return [*turns_of(day().sky, [exposure], [Trip(s, "ada", (0,)) for s in slots])]


def test_an_aim_holds_its_interval_or_until_the_next_and_the_last_five_minutes_longer() -> None:
    mirror = SunExposure(MIRROR, 108, 126, EVERY)

    aims = [(f"{t.at:%H:%M}", f"{t.holds_until:%H:%M}", t.first) for t in turned(mirror, 112, 117)]
    late = [f"{t.holds_until:%H:%M}" for t in turned(mirror, 118)]

    assert aims == [("09:00", "09:20", True), ("09:20", "09:45", False), ("09:45", "10:30", False)]
    assert late == ["09:40", "10:30"]  # an aim that was missed is not said to have held


def test_what_is_on_the_sun_is_turned_from_how_it_stands() -> None:
    stands = Pose(facing_deg=80.0, tilt_deg=40.0)
    mirror = SunExposure(MIRROR, 108, 126, EVERY, now=110, stands=stands)

    (turn,) = turned(mirror, 116)

    assert not turn.first
    assert turn.from_azimuth_deg == 80.0
    (blind,) = turned(replace(mirror, stands=None), 116)
    assert blind.from_azimuth_deg != 80.0
