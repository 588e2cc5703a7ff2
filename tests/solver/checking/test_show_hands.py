"""What is on the sun for a talk alone: who puts it on, turns it and stays; laid by hand."""

from __future__ import annotations

import pytest

from events.table import changed
from solver.checking.breach import Breach
from solver.programme import TalkPlan
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import at
from tests.solver.checking.test_show_rules import (
    AIMS,
    EMPTY,
    JOBS,
    SHOWS,
    job,
    plan,
    rules,
    said,
    turn,
)


@pytest.mark.parametrize("name", ["load-steam", "lift-steam", "preheat-heat"])
@pytest.mark.parametrize(
    ("values", "rule"),
    [
        ({"at": at("12:20")}, "job-missing"),
        ({"cooker_id": "box"}, "job-missing"),
        ({"talk_id": "other"}, "job-missing"),
        ({"kind": "stir"}, "job-missing"),
        ({"helper_ids": ("ada", "cam")}, "job-missing"),
        ({"helper_ids": ("ben",)}, "nobody-may-do-it"),
    ],
)
def test_it_is_put_on_and_taken_off_by_one_who_may(
    name: str, values: dict[str, object], rule: str
) -> None:
    """Ben may not work a mirror; at an oven anybody may."""
    jobs = tuple(changed(j, **values) if j.id == name else j for j in JOBS)
    at_oven = name == "preheat-heat" and rule == "nobody-may-do-it"

    assert rules(plan(jobs=jobs)) == (set() if at_oven else {rule})


@pytest.mark.parametrize(
    ("clocks", "rule"),
    [
        ("12:00 12:43", None),
        ("12:00 12:44", "turns-too-far-apart"),
        ("12:00 12:07", None),
        ("12:00 12:06", "turns-too-far-apart"),
        ("12:01 12:30", "not-aimed-at-its-start"),
        ("12:00 12:40 12:55", None),
        ("12:00 12:40 13:30", None),  # that is the next one's
    ],
)
def test_its_cooker_is_aimed_when_it_is_put_on_and_turned_in_time(
    clocks: str, rule: str | None
) -> None:
    turns = (*(turn("mirror", c) for c in clocks.split()), AIMS[2])

    assert rules(plan(turns=turns)) == ({rule} if rule else set())


def test_an_oven_that_is_not_turned_is_named() -> None:
    assert rules(plan(turns=AIMS[:2])) == {"not-aimed-at-its-start"}


def test_turns_that_were_missed_before_now_are_past() -> None:
    turns = (turn("mirror", "12:00"), turn("mirror", "12:50"), AIMS[2])

    assert rules(plan(turns=turns, now="12:49")) == {"turns-too-far-apart"}
    assert rules(plan(turns=turns, now="12:50")) == set()


# --- who is there


@pytest.mark.parametrize(
    ("ada", "left"),
    [
        ({"end": at("12:55").time()}, None),
        ({"end": at("12:50").time()}, "12:50"),
        ({"end": at("12:00").time()}, "12:40"),  # until his talk Cam is there
        ({"start": at("12:45").time()}, "12:40"),
        ({"start": at("12:40").time()}, None),
        ({"may": ("lift",)}, "12:40"),
        ({"adult": False}, "12:40"),
    ],
)
def test_while_a_mirror_is_on_the_sun_one_who_may_work_it_is_there_and_gives_no_talk(
    ada: dict[str, object], left: str | None
) -> None:
    found = said(plan(), edited(SHOWS, "helpers", "ada", **ada))

    unseen = [Breach("mirror-not-watched", ("steam", "mirror"), at(left))] if left else []
    assert [b for b in found if b.rule == "mirror-not-watched"] == unseen


def test_an_oven_is_left_alone() -> None:
    alone = changed(SHOWS, helpers=tuple(h for h in SHOWS.helpers if h.id == "ben"))
    only = changed(plan(), talks=TalkPlan(given=(EMPTY,), not_given=()))

    assert rules(only, alone) == set()


@pytest.mark.parametrize(
    ("values", "stays"),
    [
        ({}, True),
        ({"at": at("12:01"), "minutes": 90}, False),
        ({"minutes": 55}, False),  # to its lifting, which is work as well
        ({"cooker_id": "oven"}, False),
        ({"kind": "stir"}, False),
    ],
)
def test_at_a_cooker_that_is_attended_somebody_stays(
    values: dict[str, object], stays: bool
) -> None:
    post = changed(job("attend", "12:00", "ada", "steam", "mirror", 60), talk_id=None)
    event = edited(SHOWS, "cookers", "mirror", attended=True)

    found = said(plan(jobs=(*JOBS, changed(post, **values))), event)

    left = [] if stays else [Breach("cooker-not-attended", ("steam", "mirror"), at("12:00"))]
    assert found == left
