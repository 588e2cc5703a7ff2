"""Light jobs on the hand-laid day: who does them when, and which adult stands with them.

One of the young is there from eight to two; Ben may lift, Cam mirrors too, Ada a ring as well.
"""

from __future__ import annotations

from datetime import time

import pytest

from events.kitchen import Ingredient
from events.model import Event, Helper
from events.table import changed
from solver.plan import Job, Walk
from solver.rostering.light_jobs import with_light_jobs
from solver.rostering.programme import Work
from solver.rostering.tasks import SunExposure
from solver.simulation.day import Day
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import at
from tests.solver.scheduling.test_formulation import replanned
from tests.solver.scheduling.test_timed_load import EVENT as YARD
from tests.solver.scheduling.test_timed_load import day

EIGHT = 8 * 12  # in slots
EVENT = changed(YARD, site=changed(YARD.site, visitors_from=time(8)))
WHILE_ON_SUN = ("call-turns", "write-sky")


def laid(
    *work: Job | Walk,
    on: Day | None = None,
    event: Event = EVENT,
    suns: tuple[str, ...] = (),
    sun_min: int = 60,
) -> list[str]:
    """Return the light jobs beside some work, with cookers on the sun from eight o'clock on."""
    jobs = tuple(w for w in work if isinstance(w, Job))
    walks = tuple(w for w in work if isinstance(w, Walk))
    exposures = [SunExposure(event.cooker(c), EIGHT, EIGHT + sun_min // 5, 6) for c in suns]
    done = with_light_jobs(on or day(event), Work((), walks, jobs), exposures).jobs
    light = [j for j in done if j not in jobs and j.kind not in WHILE_ON_SUN]
    return [f"{j.id} {'+'.join(j.helper_ids)}" for j in light]


def busy(who: str, clock: str = "08:00", long: int = 5) -> Job:
    row = {"id": f"x-{clock}-{who}", "kind": "load", "at": at(clock), "minutes": long}
    return Job.model_validate(row | {"helper_ids": tuple(who.split())})


def test_the_young_greet_read_the_board_write_carry_and_wash_with_an_adult() -> None:
    """Who stood with them least, and may least, stands with them; at two the young go home."""
    assert laid() == [
        "greet-0800 kid+ben",
        "set-table-lunch-1100 kid+ada",  # Cam speaks from 11:05
        "read-board-lunch-1130 kid+ben",
        "write-temperatures-lunch-1200 kid+cam",
        "carry-plates-lunch-1210 kid+cam",
        "set-table-late-1300 kid+ada",
        "wash-up-lunch-1320 kid+ben",
        "read-board-late-1350 kid+cam",
    ]


def test_each_light_job_takes_its_minutes() -> None:
    jobs = with_light_jobs(day(EVENT), Work((), (), ()), []).jobs

    assert [j.minutes for j in jobs] == [20, 20, 10, 10, 30, 20, 30, 10]


@pytest.mark.parametrize(
    ("work", "first"),
    [
        ((busy("ben"),), "greet-0800 kid+cam"),
        ((busy("ada ben"),), "greet-0800 kid+cam"),
        ((busy("ben", "08:15"),), "greet-0800 kid+cam"),
        ((busy("ben", "08:20"),), "greet-0800 kid+ben"),
        ((busy("ben"), busy("cam"), busy("ada")), "greet-0805 kid+ben"),
        ((busy("ada ben cam", long=11),), "greet-0815 kid+ben"),
        ((busy("ada ben cam", long=30),), "greet-0830 kid+ben"),
        ((busy("ada ben cam", long=31),), "set-table-lunch-1100 kid+ben"),  # too late to greet
        ((busy("kid"),), "greet-0805 kid+ben"),
        (
            (Walk(id="w", at=at("08:10"), minutes=5, helper_id="ben", turn_ids=()),),
            "greet-0800 kid+cam",
        ),
    ],
)
def test_an_adult_who_has_nothing_else_to_do_all_the_while_stands_with_them(
    work: tuple[Job | Walk, ...], first: str
) -> None:
    assert laid(*work)[0] == first


@pytest.mark.parametrize(
    ("work", "suns", "first"),
    [
        ((busy("ben"),), ("mirror",), "greet-0800 kid+cam"),  # Ada is there for the mirror
        (
            (busy("ben", long=60), busy("ada", long=60)),
            ("mirror",),
            "set-table-lunch-1100 kid+ben",
        ),
        ((busy("ben", long=60), busy("ada", long=60)), ("box",), "greet-0800 kid+cam"),
        (
            (busy("ben", long=60), busy("ada", "08:15")),
            ("mirror",),
            "greet-0800 kid+cam",
        ),  # briefly
        ((busy("ada cam", long=60),), ("mirror",), "greet-0800 kid+ben"),
        ((busy("ben", long=60), busy("ada", "09:00", 60)), ("mirror",), "greet-0800 kid+cam"),
    ],
)
def test_no_mirror_on_the_sun_is_left_for_the_young(
    work: tuple[Job, ...], suns: tuple[str, ...], first: str
) -> None:
    assert laid(*work, suns=suns)[0] == first


def test_who_may_not_work_a_mirror_is_nobody_to_leave_it_to() -> None:
    """Ben is there while it is on the sun, until five past; Ada is not."""
    some = (busy("ben", "08:05", 20), busy("ada", long=20))

    assert laid(*some, suns=("mirror",), sun_min=5)[0] == "greet-0805 kid+cam"


def young(*names: str) -> Event:
    kids = tuple(
        Helper(id=n, name=n.upper(), start=time(8), end=time(14), adult=False) for n in names
    )
    return changed(EVENT, helpers=(*(h for h in EVENT.helpers if h.adult), *kids))


def test_one_adult_has_four_of_the_young_and_only_those_who_are_free() -> None:
    carries = "carry-plates-lunch-1210 "

    def first_to_carry(*work: Job) -> str:
        light = [j for j in laid(*work, event=young(*"pqrst")) if j.startswith(carries)]
        return light[0].removeprefix(carries).rpartition("+")[0]

    assert first_to_carry() == "p+q+r+s"
    assert first_to_carry(busy("q", "12:10")) == "p+r+s+t"
    assert laid(event=young()) == []


@pytest.mark.parametrize(
    ("visitors", "greets"),
    [(time(10), ["greet-1000 kid+ben"]), (time(7), ["greet-0800 kid+ben"]), (None, [])],
)
def test_visitors_are_greeted_when_they_come_and_nobody_where_none_do(
    visitors: time | None, greets: list[str]
) -> None:
    event = changed(EVENT, site=changed(EVENT.site, opens=time(6), visitors_from=visitors))

    assert [j for j in laid(event=event) if j.startswith("greet")] == greets


def sunny(
    event: Event, slots: int, *work: Job, turned: tuple[str, ...] = (), on: Day | None = None
) -> list[str]:
    """Return what is done while the box is on the sun, so long from eight, and is turned."""
    suns = [SunExposure(event.cooker("box"), EIGHT, EIGHT + slots, 6)] if slots else []
    walks = tuple(
        Walk(id=f"w-{at_}", at=at(at_), minutes=5, helper_id="ada", turn_ids=()) for at_ in turned
    )
    done = with_light_jobs(on or day(event), Work((), walks, work), suns).jobs
    return [f"{j.id} {'+'.join(j.helper_ids)}" for j in done if j.kind in WHILE_ON_SUN]


def test_while_a_cooker_is_on_the_sun_turns_are_called_and_the_sky_is_written_down() -> None:
    event = changed(young("p", "q"), site=YARD.site)  # nobody comes before half past ten

    assert sunny(event, 0) == []
    assert sunny(event, 18) == ["write-sky-0800 q+ada", "write-sky-0900 q+ada"]
    assert sunny(event, 18, turned=("08:30", "09:25")) == [
        "write-sky-0800 q+ada",
        "call-turns-0825 q+cam",  # before the first turn, and not sooner
        "write-sky-0900 p+ada",
    ]
    calls = [j.split()[0] for j in sunny(event, 30, turned=("08:30", "09:30"))]
    assert [j for j in calls if j.startswith("call")] == ["call-turns-0825", "call-turns-0925"]
    assert len(sunny(event, 12)) == 1  # until nine, and the other hour's are gone
    assert len(sunny(event, 13)) == 2


def test_the_sky_waits_a_quarter_of_an_hour_for_an_adult_and_turns_half() -> None:
    event = changed(young("p"), site=YARD.site)

    def first(long: int) -> list[str]:
        done = sunny(event, 6, busy("ada ben cam", "07:55", long), turned=("08:10",))
        return [j.split()[0] for j in done]

    assert first(20) == ["write-sky-0815", "call-turns-0820"]
    assert first(25) == ["call-turns-0820"]
    assert first(40) == ["call-turns-0835"]
    assert first(45) == []


def test_what_can_wait_takes_nobody_from_the_table() -> None:
    event = changed(young("p"), site=YARD.site)
    suns = [SunExposure(event.cooker("box"), EIGHT, 13 * 12, 6)]

    done = [j.id for j in with_light_jobs(day(event), Work((), (), ()), suns).jobs]

    assert {"set-table-lunch-1100", "read-board-lunch-1130"} < set(done)
    assert "write-sky-1100" not in done  # until 11:15, and the table is set until 11:20
    assert "write-sky-1000" in done


def test_light_jobs_are_shared_out() -> None:
    """Three of them over the day: none has twice what another has, nor do all stand together."""
    event = young("p", "q", "r")
    suns = [SunExposure(event.cooker("box"), EIGHT, 13 * 12, 6)]

    done = with_light_jobs(day(event), Work((), (), ()), suns).jobs

    had = {n: sum(j.minutes for j in done if n in j.helper_ids) for n in "pqr"}
    assert max(had.values()) < 1.5 * min(had.values())
    beside = {n: sum(j.minutes for j in done if n in j.helper_ids) for n in ("ada", "ben", "cam")}
    assert max(beside.values()) < 1.5 * min(beside.values())


def load(clock: str, dish: str) -> Job:
    row = {"id": f"l-{clock}", "kind": "load", "at": at(clock), "minutes": 5}
    return Job.model_validate(row | {"helper_ids": ("ada",), "placement_ids": (f"{dish}-1",)})


@pytest.mark.parametrize(
    ("loads", "food", "washes"),
    [
        ([("10:00", "rice")], "carrot", ["wash-vegetables-0900 kid+ben"]),
        ([("10:00", "rice")], "rice-dry", []),
        ([("10:00", "rice")], "stardust", []),
        ([("10:00", "stew")], "carrot", []),
        ([("08:30", "rice")], "carrot", ["wash-vegetables-0800 kid+ben"]),
        ([("08:20", "rice")], "carrot", ["wash-vegetables-0800 kid+ben"]),
        ([("08:15", "rice")], "carrot", []),
    ],
)
def test_what_is_washed_is_washed_an_hour_before_its_load(
    loads: list[tuple[str, str]], food: str, washes: list[str]
) -> None:
    rice = edited(YARD, "dishes", "rice", ingredients=(Ingredient(food=food, portion_kg=0.1),))

    done = laid(*(load(*row) for row in loads), event=rice)

    assert [j for j in done if j.startswith("wash-vegetables")] == washes


def test_nobody_has_two_light_jobs_at_once() -> None:
    """Who comes at half past eleven sets the table, then greets; then the board is too late."""
    late = edited(EVENT, "helpers", "kid", start=time(11, 30))

    assert laid(event=late)[:2] == ["set-table-lunch-1130 kid+ben", "greet-1150 kid+cam"]


def test_no_adult_has_two_light_jobs_at_once() -> None:
    """Who comes at half past eleven greets with Ada: Ben sets the table, Cam speaks."""
    event = young("p", "q")
    event = edited(
        edited(event, "helpers", "p", start=time(11, 20)), "helpers", "q", start=time(11, 30)
    )

    assert laid(event=event)[:2] == ["set-table-lunch-1120 p+ben", "greet-1130 q+ada"]


def test_what_was_done_by_now_is_not_done_again() -> None:
    """The board is read for lunch at half past eleven; on this day they greeted at ten to."""
    early = edited(EVENT, "helpers", "kid", start=time(10, 50))

    assert laid(on=replanned(early, 650), event=early)[0].startswith("set-table-lunch")
    assert laid(on=replanned(early, 649), event=early)[0].startswith("greet-1050")
