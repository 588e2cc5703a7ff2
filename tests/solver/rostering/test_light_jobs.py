"""The young: light jobs only, a named adult beside them, nothing hot, nothing at a cooker."""

from __future__ import annotations

from datetime import timedelta
from functools import cache

import pytest

from events.model import Event, Helper
from events.reading.event_file import read_event
from events.reading.write import write_event
from events.table import changed
from service.text.run_sheet import run_sheet_items
from solver.checking.rules import check
from solver.live.replan import replan
from solver.plan import EVERYBODY, LIGHT_JOBS, Job, Plan
from solver.planning.pipeline import make_plan
from solver.policy import YOUNG_MOST
from solver.rostering.light_jobs import with_light_jobs
from solver.rostering.programme import Work
from solver.rostering.tasks import SunExposure
from solver.simulation.day import make_day
from tests.conftest import sample_event, sample_plan

ABILITIES = ("mirrors", "burner", "lift")


def school(*helpers: Helper) -> Event:
    """Return the school day with other helpers beside Ines and Rolf."""
    event = sample_event("school-day")
    adults = tuple(h for h in event.helpers if h.adult)
    return changed(event, helpers=(*adults, *helpers))


def pupil(name: str, **other: object) -> Helper:
    mina = sample_event("school-day").helper("mina")
    return changed(mina, id=name, name=name.capitalize(), **other)


@cache
def busy_day() -> Plan:
    return make_plan(school(*(pupil(f"p{n}") for n in range(6))))


@pytest.mark.parametrize("may", [ABILITIES, ("lift",), ()])
def test_the_young_may_work_nothing_whatever_their_row_says(may: tuple[str, ...]) -> None:
    assert pupil("p", may=may).works == frozenset()
    assert pupil("p", may=may, adult=True).works == frozenset(may)


def test_who_may_nothing_is_read_and_written_as_that() -> None:
    event = school(pupil("p", may=()))

    assert read_event(write_event(event)).helper("p").may == ()


def test_the_young_are_given_light_jobs_and_no_others() -> None:
    event, plan = sample_event("school-day"), sample_plan("school-day")
    young = {h.id for h in event.helpers if not h.adult}
    jobs = [j for j in plan.jobs if young & set(j.helper_ids)]

    assert {j.kind for j in jobs} == {*LIGHT_JOBS} - {"greet"}  # no visitors are said to come
    assert not [j for j in jobs if j.cooker_id or j.placement_ids]
    assert not {w.helper_id for w in plan.walks} & young
    assert {w.id for w in plan.walks}


def test_a_named_adult_with_nothing_else_to_do_stands_with_each() -> None:
    event, plan = sample_event("school-day"), sample_plan("school-day")

    for job in (j for j in plan.jobs if j.kind in LIGHT_JOBS):
        (adult,) = [h for h in job.helper_ids if event.helper(h).adult]
        ends_at = job.at + timedelta(minutes=job.minutes)
        others = [
            (j.at, j.minutes)
            for j in plan.jobs
            if adult in j.helper_ids and j.id != job.id and j.kind not in EVERYBODY
        ]
        others += [(w.at, w.minutes) for w in plan.walks if w.helper_id == adult]
        assert not [
            at for at, long in others if at < ends_at and at + timedelta(minutes=long) > job.at
        ]


@pytest.mark.parametrize(
    ("rolf_may", "on_sun", "stands"),
    [
        (("lift",), True, {"rolf"}),
        (("lift",), False, {"ines", "rolf"}),
        (("mirrors", "lift"), True, {"ines", "rolf"}),
    ],
)
def test_a_mirror_on_the_sun_is_not_left_for_the_young(
    rolf_may: tuple[str, ...], on_sun: bool, stands: set[str]
) -> None:
    event = sample_event("school-day")
    event = with_rolf(event, may=rolf_may)
    mirror = SunExposure(event.cooker("mirror"), 0, 24 * 12, 6)

    work = with_light_jobs(make_day(event), Work((), (), ()), [mirror] if on_sun else [])

    assert {"set-table", "carry-plates", "wash-up"} < {j.kind for j in work.jobs}
    assert stands == {j.helper_ids[-1] for j in work.jobs}


def test_the_last_who_may_work_a_mirror_stays_with_it() -> None:
    event = with_rolf(sample_event("school-day"), may=("lift",), end="09:00")
    mirror = SunExposure(event.cooker("mirror"), 0, 24 * 12, 6)
    day = make_day(event)

    assert with_light_jobs(day, Work((), (), ()), []).jobs
    assert not with_light_jobs(day, Work((), (), ()), [mirror]).jobs


def with_rolf(event: Event, **other: object) -> Event:
    helpers = tuple(changed(h, **other) if h.id == "rolf" else h for h in event.helpers)
    return changed(event, helpers=helpers)


def test_one_adult_stands_with_four_at_most() -> None:
    plan = busy_day()
    sizes = {len(j.helper_ids) - 1 for j in plan.jobs if j.kind in LIGHT_JOBS}

    assert max(sizes) == YOUNG_MOST == 4


def test_five_young_with_one_adult_are_a_breach() -> None:
    event = school(*(pupil(f"p{n}") for n in range(6)))
    many = tuple(
        changed(j, helper_ids=("p0", "p1", "p2", "p3", "p4", "ines")) if j.kind == "wash-up" else j
        for j in busy_day().jobs
    )

    breaches = check(event, changed(busy_day(), jobs=many))

    assert "too-many-young" in {b.rule for b in breaches}


def test_where_no_adult_is_free_the_young_have_no_job() -> None:
    alone = pupil("p", start="08:30", end="08:55")  # before any adult but set-up is there
    event = school(alone)
    late = tuple(changed(h, start="09:05") if h.adult else h for h in event.helpers)

    plan = make_plan(changed(event, helpers=late))

    assert not [j for j in plan.jobs if "p" in j.helper_ids]


@pytest.mark.parametrize(("busy_min", "waits_min"), [(0, 0), (30, 30), (35, None)])
def test_light_work_waits_half_an_hour_for_an_adult_and_no_longer(
    busy_min: int, waits_min: int | None
) -> None:
    event = school(pupil("p"))
    adults = tuple(h.id for h in event.helpers if h.adult)
    board_at = event.instant(event.meals[0].start) - timedelta(minutes=30)
    busy = Job(id="b", kind="load", at=board_at, minutes=busy_min, helper_ids=adults)
    jobs = (busy,) if busy_min else ()

    work = with_light_jobs(make_day(event), Work((), (), jobs), [])

    boards = [j for j in work.jobs if j.kind == "read-board" and j.meal_id == event.meals[0].id]
    waited = [round((j.at - board_at) / timedelta(minutes=1)) for j in boards]
    assert waited == ([] if waits_min is None else [waits_min])
    assert all(j.minutes == 10 for j in boards)


def test_a_day_without_the_young_has_no_light_jobs() -> None:
    assert not [j for j in sample_plan("harvest-lunch").jobs if j.kind in LIGHT_JOBS]


def test_the_run_sheet_names_the_adult() -> None:
    event, plan = sample_event("school-day"), sample_plan("school-day")
    said = {d.kind: d for d in run_sheet_items(event, plan) if d.kind in LIGHT_JOBS}

    assert set(said) == {*LIGHT_JOBS} - {"greet"}
    for item in said.values():
        assert any(
            event.helper(h).name in item.how for h in item.helper_ids if h in ("ines", "rolf")
        )
    assert said["carry-plates"].second == "No pot, no pan, nothing hot"


def test_planning_again_gives_no_job_twice() -> None:
    event, plan = sample_event("school-day"), sample_plan("school-day")
    board = next(j for j in plan.jobs if j.kind == "read-board")
    now = board.at + timedelta(minutes=5)

    new = replan(event, plan, [], now)

    often = ("call-turns", "write-sky")
    kinds = [(j.kind, j.meal_id) for j in new.jobs if j.kind in LIGHT_JOBS and j.kind not in often]
    assert len(kinds) == len(set(kinds))
    halves = [int(j.at.timestamp() // 1800) for j in new.jobs if j.kind == "write-sky"]
    assert len(halves) == len(set(halves))
    assert board.id in {j.id for j in new.jobs}
