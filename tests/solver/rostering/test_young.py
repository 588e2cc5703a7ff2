"""Light jobs on the hand-laid day: who does them when, and which adult stands with them.

One of the young is there from eight to two; Ben may lift, Cam mirrors too, Ada a ring as well.
"""

from __future__ import annotations

from datetime import time

import pytest

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
from tests.solver.scheduling.test_timed_load import EVENT, day

EIGHT = 8 * 12  # in slots


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
    return [f"{j.id} {'+'.join(j.helper_ids)}" for j in done if j not in jobs]


def busy(who: str, clock: str = "08:00", long: int = 5) -> Job:
    row = {"id": f"x-{clock}-{who}", "kind": "load", "at": at(clock), "minutes": long}
    return Job.model_validate(row | {"helper_ids": tuple(who.split())})


def test_the_young_greet_read_the_board_write_carry_and_wash_with_an_adult() -> None:
    """The adult who may least stands with them; at two the young go home."""
    assert laid() == [
        "greet-0800 kid+ben",
        "read-board-lunch-1130 kid+ben",
        "write-temperatures-lunch-1200 kid+ben",
        "carry-plates-lunch-1210 kid+ben",
        "wash-up-lunch-1300 kid+ben",
        "read-board-late-1330 kid+ben",
    ]


def test_each_light_job_takes_its_minutes() -> None:
    jobs = with_light_jobs(day(), Work((), (), ()), []).jobs

    assert [j.minutes for j in jobs] == [20, 10, 10, 30, 30, 10]


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
        ((busy("ada ben cam", long=31),), "read-board-lunch-1130 kid+ben"),  # too late to greet
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
            "read-board-lunch-1130 kid+ben",
        ),
        ((busy("ben", long=60), busy("ada", long=60)), ("box",), "greet-0800 kid+cam"),
        ((busy("ben", long=60), busy("ada", "08:15")), ("mirror",), "greet-0820 kid+cam"),
        ((busy("ada cam", long=60),), ("mirror",), "greet-0800 kid+ben"),
        ((busy("ben", long=60), busy("ada", "09:00", 60)), ("mirror",), "greet-0800 kid+cam"),
    ],
)
def test_no_mirror_on_the_sun_is_left_for_the_young(
    work: tuple[Job, ...], suns: tuple[str, ...], first: str
) -> None:
    assert laid(*work, suns=suns)[0] == first


def test_who_may_not_work_a_mirror_is_nobody_to_leave_it_to() -> None:
    """Ben is there while it is on the sun, until ten past; Ada is not."""
    some = (busy("ben", "08:15"), busy("ada", long=20))

    assert laid(*some, suns=("mirror",), sun_min=10)[0] == "greet-0810 kid+cam"


def young(*names: str) -> Event:
    kids = tuple(
        Helper(id=n, name=n.upper(), start=time(8), end=time(14), adult=False) for n in names
    )
    return changed(EVENT, helpers=(*(h for h in EVENT.helpers if h.adult), *kids))


def test_one_adult_has_four_of_the_young_and_only_those_who_are_free() -> None:
    assert laid(event=young(*"pqrst"))[0] == "greet-0800 p+q+r+s+ben"
    assert laid(busy("q"), event=young(*"pqrst"))[0] == "greet-0800 p+r+s+t+ben"
    assert laid(event=young()) == []


def test_nobody_has_two_light_jobs_at_once() -> None:
    """Who greets from twenty past eleven reads the board when that is done."""
    late = edited(EVENT, "helpers", "kid", start=time(11, 20))

    assert laid(event=late)[:2] == ["greet-1120 kid+ben", "read-board-lunch-1140 kid+ben"]
    opens = changed(EVENT, site=changed(EVENT.site, opens=time(9)))
    assert laid(event=opens)[0] == "greet-0900 kid+ben"


def test_no_adult_has_two_light_jobs_at_once() -> None:
    """Who comes at half past eleven reads the board with Ada: Ben still greets, Cam speaks."""
    event = young("p", "q")
    event = edited(
        edited(event, "helpers", "p", start=time(11, 20)), "helpers", "q", start=time(11, 30)
    )

    assert laid(event=event)[:2] == ["greet-1120 p+ben", "read-board-lunch-1130 q+ada"]


def test_what_was_done_by_now_is_not_done_again() -> None:
    """The board is read for lunch at half past eleven; on this day they greeted at ten to."""
    early = edited(EVENT, "helpers", "kid", start=time(10, 50))

    assert laid(on=replanned(early, 650), event=early)[0].startswith("read-board-lunch")
    assert laid(on=replanned(early, 649), event=early)[0].startswith("greet-1050")
