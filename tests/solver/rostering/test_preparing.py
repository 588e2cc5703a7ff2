"""Who does what to a dish before it is loaded, on the hand-laid yard: one thing at a time.

How long a boil takes: US FDA (beans half an hour at the boil), from memory. That a step ends as
the next begins, and is stayed with, is common practice, no published source.
"""

from __future__ import annotations

import pytest

from events.kitchen import Before
from events.model import Event
from solver.plan import Job
from solver.rostering.preparing import steps_of, with_preparing
from solver.rostering.programme import Work
from solver.simulation.day import Day
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import at
from tests.solver.scheduling.test_formulation import replanned
from tests.solver.scheduling.test_timed_load import EVENT, day

BOIL = Before(what="Boil for 30 minutes", minutes=30, hands_min=15)
SOAK = Before(what="Soak", minutes=120, hands_min=5)


def load(clock: str, dish: str, who: str = "ada") -> Job:
    row = {"id": f"l-{clock}-{dish}", "kind": "load", "at": at(clock), "minutes": 5}
    return Job.model_validate(row | {"helper_ids": (who,), "placement_ids": (f"{dish}-1",)})


def busy(clock: str, who: str, long: int, kind: str = "stir") -> Job:
    row = {"id": f"b-{clock}-{who}", "kind": kind, "at": at(clock), "minutes": long}
    return Job.model_validate(row | {"helper_ids": tuple(who.split())})


def laid(*work: Job, event: Event = EVENT, on: Day | None = None) -> list[str]:
    on = on or day(event)
    jobs = [j for j in with_preparing(on, Work((), (), work)).jobs if j not in work]
    jobs.sort(key=lambda j: j.at)
    return [f"{j.at:%H:%M} {j.minutes} {j.id} {'+'.join(j.helper_ids)}" for j in jobs]


def with_steps(*before: Before) -> Event:
    return edited(EVENT, "dishes", "rice", before=before, load_min=5)


def test_who_loads_a_dish_weighs_it_in_and_ends_as_it_is_loaded() -> None:
    assert laid(load("10:00", "rice"), event=with_steps()) == ["09:35 25 prepare-rice-weigh ada"]


def test_a_boil_is_stayed_with_and_is_over_before_weighing_in() -> None:
    assert laid(load("11:00", "rice"), event=with_steps(BOIL)) == [
        "09:50 45 prepare-rice-1 ada",
        "10:35 25 prepare-rice-weigh ada",
    ]


def test_what_waits_long_takes_hands_only_as_it_begins() -> None:
    (soak, weigh) = steps_of(with_steps(SOAK).dish("rice"))

    assert (soak.hands_min, soak.whole_min, weigh.hands_min) == (5, 125, 25)
    assert laid(load("11:00", "rice"), event=with_steps(SOAK))[0] == "08:30 5 prepare-rice-1 ada"


def test_nobody_prepares_two_dishes_at_once() -> None:
    event = edited(with_steps(), "dishes", "tea", load_min=5)
    event = edited(event, "dishes", "stew", load_min=5)
    loads = [load("10:00", name) for name in ("rice", "tea", "stew")]

    assert laid(*loads, event=event) == [
        "09:35 25 prepare-rice-weigh ada",
        "09:35 25 prepare-stew-weigh ben",
        "09:35 25 prepare-tea-weigh cam",
    ]
    assert laid(*loads, busy("09:35", "ben cam", 25), event=event)[:2] == [
        "09:10 25 prepare-stew-weigh ada",
        "09:10 25 prepare-tea-weigh ben",
    ]


@pytest.mark.parametrize(
    ("long", "begins"),
    [
        (0, ["09:35 25 prepare-rice-weigh ada"]),
        (5, ["09:35 25 prepare-rice-weigh ada"]),
        (10, ["09:30 25 prepare-rice-weigh ada"]),
        (60, ["08:40 25 prepare-rice-weigh ada"]),
        (65, ["08:35 25 prepare-rice-weigh ada"]),
        (70, []),
    ],
)
def test_where_nobody_is_free_it_is_earlier_by_an_hour_at_most(
    long: int, begins: list[str]
) -> None:
    ends = 10 * 60 + 5
    from_ = f"{(ends - long) // 60:02d}:{(ends - long) % 60:02d}"
    work = [busy(from_, "ada ben cam", long)] if long else []

    assert laid(load("10:00", "rice"), *work, event=with_steps()) == begins


def test_setting_up_has_its_people_where_it_can() -> None:
    set_up = busy("09:30", "", 30, kind="set-up")

    found = laid(load("10:00", "rice"), set_up, event=with_steps())

    assert found == ["09:05 25 prepare-rice-weigh ada"]


def test_before_anybody_is_there_nothing_is_anybodys_job() -> None:
    assert laid(load("08:25", "rice"), event=with_steps()) == ["08:00 25 prepare-rice-weigh ada"]
    assert laid(load("08:20", "rice"), event=with_steps()) == []


def test_planned_again_what_is_past_is_not_prepared_again() -> None:
    event = with_steps(BOIL)
    now = replanned(event, 10 * 60)
    done = busy("09:50", "ada", 45).model_copy(update={"id": "prepare-rice-1"})

    assert laid(load("11:00", "rice"), done, event=event, on=now) == [
        "10:35 25 prepare-rice-weigh ada"
    ]
    assert laid(load("10:00", "rice"), event=event, on=now) == []
