"""Talks that float: when they are given, when not and why, and what the check names."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from datetime import time, timedelta

import pytest

from events.model import Event
from events.table import changed
from solver.checking.rules import check
from solver.plan import Plan
from solver.planning.pipeline import make_plan
from solver.programme import TalkPlan
from tests.conftest import plan_of, sample_event, sample_plan

pytestmark = pytest.mark.slow


def school() -> Event:
    return sample_event("school-rounds")


def with_talk(**values: object) -> Event:
    """Return the school morning with its boil's talk changed, and no other that floats."""
    welcome, boil, *_ = school().talks
    return changed(school(), talks=(welcome, changed(boil, **values)))


def talks_of(plan: Plan) -> TalkPlan:
    assert plan.talks is not None
    return plan.talks


def test_the_boil_is_given_when_it_boils_by_one_who_is_free() -> None:
    event, plan = school(), sample_plan("school-rounds")
    given = next(g for g in talks_of(plan).given if g.talk_id == "why-it-boils")

    assert given.cooker_id == "mirror"
    assert given.speaker_id in event.talk("why-it-boils").speakers
    assert given.moment_at is not None
    assert given.at < given.moment_at < given.at + timedelta(minutes=given.minutes)
    assert given.of_100 is not None
    assert given.of_100 >= 60
    busy = [j for j in plan.jobs if given.speaker_id in j.helper_ids and j.kind != "talk"]
    end = given.at + timedelta(minutes=given.minutes)
    assert not [j for j in busy if j.at < end and j.at + timedelta(minutes=j.minutes) > given.at]


def test_no_group_is_at_a_stop_while_all_are_at_it() -> None:
    plan = sample_plan("school-rounds")

    assert plan.rota is not None
    for g in talks_of(plan).given:
        end = g.at + timedelta(minutes=g.minutes)
        visits = plan.rota.visits
        assert not [v for v in visits if v.at < end and v.at + timedelta(minutes=v.minutes) > g.at]


def test_given_several_times_they_are_apart() -> None:
    plan = plan_of(with_talk(times=3, apart_min=20, minutes=10))
    own = talks_of(plan).given

    assert [g.giving for g in own] == [1, 2, 3]
    for one, two in itertools.pairwise(own):
        assert two.at - one.at >= timedelta(minutes=30)


def test_what_is_never_to_be_seen_is_refused_with_the_best_there_is() -> None:
    plan = plan_of(with_talk(start=time(8, 5), end=time(8, 30)))

    (why,) = talks_of(plan).not_given
    assert why.reason == "not-shown"
    assert why.best_of_100 < why.wanted_of_100


def test_without_a_free_speaker_it_is_refused() -> None:
    early = changed(school().helpers[0], end=time(10, 0))
    event = with_talk(speakers=("akinyi",), speaker=None)
    event = changed(event, helpers=(early, *event.helpers[1:]))

    (why,) = talks_of(plan_of(event)).not_given

    assert why.reason == "no-speaker"


def test_a_talk_that_needs_nothing_is_given_at_its_earliest() -> None:
    event = with_talk(moment=None, cooker=None, chance_pct=None, speakers=())

    (given,) = talks_of(plan_of(event)).given

    assert given.at == event.instant(time(10, 30))
    assert given.of_100 is None


def test_the_same_event_has_the_same_talks() -> None:
    assert make_plan(school()).talks == sample_plan("school-rounds").talks


Damage = Callable[[TalkPlan], TalkPlan]


def first(**values: object) -> Damage:
    return lambda p: changed(p, given=(changed(p.given[0], **values), *p.given[1:]))


def moved(minutes: int) -> Damage:
    return lambda p: first(at=p.given[0].at + timedelta(minutes=minutes))(p)


@pytest.mark.parametrize(
    ("damage", "rule"),
    [
        (lambda p: changed(p, given=p.given[1:]), "wrong-number-of-givings"),
        (first(minutes=25), "wrong-talk-minutes"),
        (moved(-240), "talk-outside-its-hours"),
        (moved(5), "talk-without-its-job"),
        (first(speaker_id="nobody"), "wrong-speaker"),
        (first(cooker_id="panel"), "shown-elsewhere"),
        (first(of_100=97), "chance-not-in-steps"),
        (first(talk_id="welcome"), "unknown-talk"),
    ],
)
def test_a_damaged_giving_is_named(damage: Damage, rule: str) -> None:
    event, plan = school(), sample_plan("school-rounds")

    broken = check(event, changed(plan, talks=damage(talks_of(plan))))

    assert rule in {b.rule for b in broken}


@pytest.mark.parametrize(
    ("values", "rule"),
    [
        ({"apart_min": 400}, "givings-too-close"),
        ({"speakers": ("wanja",)}, "wrong-speaker"),
        ({"dish": "rice"}, "nothing-to-show"),
    ],
)
def test_a_plan_for_another_talk_is_named(values: dict[str, object], rule: str) -> None:
    event = with_talk(times=3, apart_min=20, minutes=10)
    welcome, boil = event.talks
    other = changed(event, talks=(welcome, changed(boil, **values)))

    assert rule in {b.rule for b in check(other, plan_of(event))}


def test_a_speaker_with_other_work_or_a_break_is_named() -> None:
    event, plan = school(), sample_plan("school-rounds")
    given = talks_of(plan).given[0]
    job = next(j for j in plan.jobs if j.kind == "load")
    busy = changed(job, at=given.at, helper_ids=(given.speaker_id,))
    packing = next(j for j in plan.jobs if j.kind == "pack-down")

    working = {b.rule for b in check(event, changed(plan, jobs=(*plan.jobs, busy)))}
    packing_up = changed(packing, at=given.at)
    all_work = {b.rule for b in check(event, changed(plan, jobs=(*plan.jobs, packing_up)))}
    other = changed(next(j for j in plan.jobs if j.kind == "talk"), at=given.at, helper_ids=())
    meeting = {b.rule for b in check(event, changed(plan, jobs=(*plan.jobs, other)))}

    assert "speaker-not-free" in working
    assert "talk-while-all-work" in all_work
    assert "talks-meet" in meeting
