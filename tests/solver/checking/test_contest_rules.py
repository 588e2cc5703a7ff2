"""A contest's plan with one thing changed: the check names the rule that it breaks."""

from __future__ import annotations

from collections.abc import Callable
from datetime import time, timedelta

import pytest

from events.kitchen import Break
from events.model import Event
from events.table import changed
from solver.checking.breach import Breach
from solver.checking.rules import check
from solver.contest_plan import ContestPlan, Draw, Tasting
from tests.conftest import sample_event, sample_plan
from tests.solver.checking.damage import is_sound

FIVE = timedelta(minutes=5)
Damage = Callable[[ContestPlan], ContestPlan]


def contest() -> ContestPlan:
    plan = sample_plan("twelve-pots").contest
    assert plan is not None
    return plan


def first(**values: object) -> Damage:
    """Change the first tasting."""

    def damage(plan: ContestPlan) -> ContestPlan:
        return changed(plan, tastings=(changed(plan.tastings[0], **values), *plan.tastings[1:]))

    return damage


def moved(by: timedelta) -> Damage:
    def damage(plan: ContestPlan) -> ContestPlan:
        t = plan.tastings[0]
        return first(at=t.at + by)(plan)

    return damage


def drawn(change: Callable[[Draw], Draw]) -> Damage:
    def damage(plan: ContestPlan) -> ContestPlan:
        assert plan.draw is not None
        return changed(plan, draw=change(plan.draw))

    return damage


def swapped(draw: Draw) -> Draw:
    one, two, *others = draw.places
    return changed(
        draw,
        places=(
            changed(one, station_id=two.station_id),
            changed(two, station_id=one.station_id),
            *others,
        ),
    )


def both_at_one_place(draw: Draw) -> Draw:
    one, two, *others = draw.places
    return changed(draw, places=(changed(one, station_id=two.station_id), two, *others))


def with_judges(change: Callable[[Tasting], Tasting]) -> Damage:
    return lambda plan: changed(plan, tastings=(change(plan.tastings[0]), *plan.tastings[1:]))


def twice(t: Tasting) -> Tasting:
    return changed(t, judges=(t.judges[0], *t.judges))


def one_fewer(t: Tasting) -> Tasting:
    return changed(t, judges=t.judges[1:])


def too_late(t: Tasting) -> Tasting:
    late = changed(t.judges[0], at=t.judges[0].at + FIVE)
    return changed(t, judges=(late, *t.judges[1:]))


@pytest.mark.parametrize(
    ("damage", "rule"),
    [
        (lambda p: changed(p, tastings=p.tastings[1:]), "not-tasted-once"),
        (drawn(swapped), "not-what-the-lot-deals"),
        (drawn(both_at_one_place), "two-entries-at-one-place"),
        (drawn(lambda d: changed(d, seed="111 222 333")), "another-seed"),
        (lambda p: changed(p, lists_sha256="0" * 64), "wrong-fingerprint-of-lists"),
        (lambda p: changed(p, left_out=()), "not-what-the-lot-deals"),
        (first(minutes=10), "wrong-tasting-minutes"),
        (moved(timedelta(minutes=2)), "tasting-off-the-grid"),
        (moved(timedelta(hours=-4)), "tasting-outside-hours"),
        (lambda p: first(at=p.tastings[1].at)(p), "two-in-a-lane"),
        (first(lane=1), "no-such-lane"),
        (with_judges(twice), "judge-tastes-twice"),
        (with_judges(one_fewer), "judge-not-asked"),
        (with_judges(too_late), "judge-outside-the-tasting"),
        (lambda p: first(cook_from=p.tastings[0].cook_from - FIVE)(p), "wrong-cooking-time"),
        (lambda p: first(loaded_at=p.tastings[0].cook_from - FIVE)(p), "loaded-too-soon"),
        (lambda p: first(ready_at=p.tastings[0].at + FIVE)(p), "not-ready-when-tasted"),
        (first(held_min=1), "wrong-held-minutes"),
        (first(coolest_c=55.0), "entry-goes-cold"),
        (first(between_5_and_60_min=241), "entry-too-long-between-5-and-60"),
        (first(of_100=97), "chance-not-in-steps"),
        (first(cooker_id="house-9"), "not-its-cooker"),
        (first(entry_id="e99"), "unknown-entry-or-judge"),
        (lambda p: changed(p, draw=None), "tasted-without-a-draw"),
        (lambda p: changed(p, sun=p.sun[1:]), "sun-of-other-entries"),
        (
            lambda p: changed(p, sun=(changed(p.sun[0], sun_min=p.sun[0].sun_min + 2), *p.sun[1:])),
            "wrong-sun-minutes",
        ),
        (first(chosen_of_100=42), "chance-not-in-steps"),
        (
            lambda p: changed(p, levels=(changed(p.levels[0], value=3), *p.levels[1:])),
            "wrong-contest-level",
        ),
    ],
)
def test_a_damaged_contest_is_named(damage: Damage, rule: str) -> None:
    event, plan = sample_event("twelve-pots"), sample_plan("twelve-pots")
    assert is_sound("twelve-pots")

    broken = check(event, changed(plan, contest=damage(contest())))

    assert rule in {b.rule for b in broken}


def in_another_event(change: Callable[[Event], Event]) -> set[str]:
    event = change(sample_event("twelve-pots"))
    return {b.rule for b in check(event, sample_plan("twelve-pots"))}


def judge(n: int, **values: object) -> Callable[[Event], Event]:
    def change(event: Event) -> Event:
        judges = list(event.judges)
        judges[n] = changed(judges[n], **values)
        return changed(event, judges=tuple(judges))

    return change


def rules(**values: object) -> Callable[[Event], Event]:
    return lambda event: changed(event, contest=changed(event.contest, **values))  # type: ignore[type-var]  # it has one


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        (judge(0, kin=("t01",)), "judge-is-kin"),
        (judge(0, avoids=("celery",)), "judge-avoids-it"),
        (judge(0, end=time(13, 15)), "judge-not-there"),
        (rules(held_max_min=10), "entry-held-too-long"),
        (rules(closed=(Break(at=time(13, 0), minutes=60),)), "tasting-in-a-break"),
    ],
)
def test_a_plan_for_another_contest_is_named(change: Callable[[Event], Event], rule: str) -> None:
    assert rule in in_another_event(change)


def safety(change: dict[str, object], **values: object) -> list[Breach]:
    """Return what is said of the first tasting's safety, its dish and its figures changed."""
    event, plan = sample_event("twelve-pots"), sample_plan("twelve-pots")
    tasting = contest().tastings[0]
    entries = tuple(
        changed(e, dish=changed(e.dish, **change)) if e.id == tasting.entry_id else e
        for e in event.entries
    )
    broken = check(
        changed(event, entries=entries), changed(plan, contest=first(**values)(contest()))
    )
    safe = ("entry-too-long-between-5-and-60", "entry-goes-cold", "entry-stands-uncounted")
    return [b for b in broken if b.rule in safe]


def test_an_entry_is_warm_no_longer_than_its_clock() -> None:
    ids = (contest().tastings[0].entry_id,)

    assert safety({}, between_5_and_60_min=240) == []
    assert safety({}, between_5_and_60_min=241) == [
        Breach("entry-too-long-between-5-and-60", ids, 241, 240)
    ]
    assert safety({"hazardous": False}, between_5_and_60_min=241) == []


def test_a_hot_entry_is_hot_until_all_have_tasted() -> None:
    ids = (contest().tastings[0].entry_id,)

    assert safety({}, coolest_c=62.9) == []
    assert safety({}, coolest_c=62.8) == [Breach("entry-goes-cold", ids, 62.8, 63.0)]


def test_an_entry_that_is_served_cold_counts_as_warm_from_when_it_is_ready() -> None:
    tasting = contest().tastings[0]
    stands_min = round((tasting.at - tasting.ready_at).total_seconds() / 60) + tasting.minutes

    assert safety({"serve_hot": False}, coolest_c=20.0, between_5_and_60_min=stands_min) == []
    assert safety({"serve_hot": False}, between_5_and_60_min=stands_min - 1) == [
        Breach("entry-stands-uncounted", (tasting.entry_id,), stands_min - 1, stands_min)
    ]
    assert safety({}, between_5_and_60_min=0) == []


def test_who_carries_plates_or_judges_has_no_other_work_then() -> None:
    job = next(j for j in sample_plan("twelve-pots").jobs if j.kind == "load")
    busy = job.helper_ids[0]

    def whole_day(event: Event) -> Event:
        return rules(start=event.site.opens)(event)

    carrying = in_another_event(lambda event: rules(runner=busy)(whole_day(event)))
    judging = in_another_event(lambda event: judge(0, helper=busy)(whole_day(event)))

    assert "contest-crew-elsewhere" in carrying
    assert "contest-crew-elsewhere" in judging


def test_no_contest_in_the_plan_is_named() -> None:
    event, plan = sample_event("twelve-pots"), sample_plan("twelve-pots")

    assert [b.rule for b in check(event, changed(plan, contest=None))] == ["no-contest"]
