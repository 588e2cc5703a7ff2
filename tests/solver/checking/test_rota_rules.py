"""A rota with one thing changed: the check names the rule that it breaks."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest

from events.model import Event
from events.table import changed
from solver.checking.rules import check
from solver.plan import Plan
from solver.programme import RotaPlan, Visit
from tests.conftest import sample_event, sample_plan

FIVE = timedelta(minutes=5)
Damage = Callable[[Event, RotaPlan], RotaPlan]


def with_visit(rota: RotaPlan, old: Visit, **values: object) -> RotaPlan:
    new = changed(old, **values)
    return changed(rota, visits=tuple(new if v == old else v for v in rota.visits))


def of_group(rota: RotaPlan, n: int = 0) -> list[Visit]:
    return [v for v in rota.visits if v.group_id == "red"][n:]


def twice_at_a_stop(event: Event, rota: RotaPlan) -> RotaPlan:
    one, two = of_group(rota)[:2]
    return with_visit(rota, two, stop_id=one.stop_id, walk_m=0, sees=())


def shorter(event: Event, rota: RotaPlan) -> RotaPlan:
    return with_visit(rota, of_group(rota)[0], minutes=15)


def too_early(event: Event, rota: RotaPlan) -> RotaPlan:
    first = rota.visits[0]
    return with_visit(rota, first, at=event.instant(event.site.opens))


def two_at_a_stop(event: Event, rota: RotaPlan) -> RotaPlan:
    one = rota.visits[-1]
    other = next(v for v in rota.visits if v.stop_id == one.stop_id and v != one)
    return with_visit(rota, other, at=one.at)


def hurried(event: Event, rota: RotaPlan) -> RotaPlan:
    one, two = of_group(rota)[:2]
    return with_visit(rota, two, at=one.at + timedelta(minutes=one.minutes))


def wrong_way(event: Event, rota: RotaPlan) -> RotaPlan:
    return with_visit(rota, of_group(rota)[1], walk_m=7)


def no_pause(event: Event, rota: RotaPlan) -> RotaPlan:
    return changed(rota, pauses=rota.pauses[1:])


def short_pause(event: Event, rota: RotaPlan) -> RotaPlan:
    return changed(rota, pauses=(changed(rota.pauses[0], minutes=10), *rota.pauses[1:]))


def late_pause(event: Event, rota: RotaPlan) -> RotaPlan:
    late = event.instant(event.site.closes)
    return changed(rota, pauses=(changed(rota.pauses[0], at=late), *rota.pauses[1:]))


def pause_at_a_stop(event: Event, rota: RotaPlan) -> RotaPlan:
    pause = rota.pauses[0]
    own = [v for v in rota.visits if v.group_id == pause.group_id and v.at > pause.at]
    return changed(rota, pauses=(changed(pause, at=own[0].at), *rota.pauses[1:]))


def sees_what_is_not_there(event: Event, rota: RotaPlan) -> RotaPlan:
    seeing = next(v for v in rota.visits if v.sees)
    moved = changed(seeing.sees[0], at=seeing.sees[0].at + FIVE, moment="turn")
    return with_visit(rota, seeing, sees=(moved,))


def boils_too_soon(event: Event, rota: RotaPlan) -> RotaPlan:
    first = min((v for v in rota.visits if v.stop_id == "mirror-stop"), key=lambda v: v.at)
    sight = next(s for v in rota.visits for s in v.sees if s.moment == "boil")
    return with_visit(rota, first, sees=(changed(sight, at=first.at + FIVE),))


def sees_another_cooker(event: Event, rota: RotaPlan) -> RotaPlan:
    seeing = next(v for v in rota.visits if v.sees)
    return with_visit(
        rota,
        seeing,
        stop_id=seeing.stop_id,
        sees=(
            changed(
                seeing.sees[0],
                cooker_id=next(
                    c.id for c in event.cookers if c.id not in event.stop(seeing.stop_id).cookers
                ),
            ),
        ),
    )


def better_than_it_is(event: Event, rota: RotaPlan) -> RotaPlan:
    first, *others = rota.levels
    return changed(rota, levels=(changed(first, value=first.value + 1), *others))


def of_no_group(event: Event, rota: RotaPlan) -> RotaPlan:
    return with_visit(rota, rota.visits[0], group_id="purple")


@pytest.mark.parametrize(
    ("damage", "rule"),
    [
        (twice_at_a_stop, "wrong-number-of-visits"),
        (shorter, "wrong-visit-minutes"),
        (too_early, "visit-outside-hours"),
        (two_at_a_stop, "stop-not-free"),
        (hurried, "walk-too-short"),
        (wrong_way, "wrong-walk"),
        (no_pause, "wrong-number-of-pauses"),
        (short_pause, "wrong-pause-minutes"),
        (late_pause, "pause-outside-its-time"),
        (pause_at_a_stop, "visit-in-a-pause"),
        (sees_what_is_not_there, "sight-not-in-the-plan"),
        (boils_too_soon, "sight-not-in-the-plan"),
        (sees_another_cooker, "sight-of-another-stop"),
        (better_than_it_is, "wrong-rota-level"),
        (of_no_group, "unknown-visit"),
    ],
)
def test_a_damaged_rota_is_named(damage: Damage, rule: str) -> None:
    event, plan = sample_event("school-rounds"), sample_plan("school-rounds")
    assert plan.rota is not None
    assert check(event, plan) == []

    broken = check(event, changed(plan, rota=damage(event, plan.rota)))

    assert rule in {b.rule for b in broken}


def test_a_plan_without_its_rota_is_named() -> None:
    event, plan = sample_event("school-rounds"), sample_plan("school-rounds")

    assert [b.rule for b in check(event, changed(plan, rota=None))] == ["no-rota"]


def in_another_event(**values: object) -> set[str]:
    """Return what the sample's plan breaks in an event with other tables."""
    event, plan = sample_event("school-rounds"), sample_plan("school-rounds")
    return {b.rule for b in check(changed(event, **values), plan)}


def test_groups_fit_their_stops_and_the_young_are_led() -> None:
    first, *others = sample_event("school-rounds").groups

    large = in_another_event(groups=(changed(first, people=30), *others))
    alone = in_another_event(groups=(changed(first, adult=""), *others))
    working = in_another_event(groups=(changed(first, adult="akinyi"), *others))

    assert large == {"group-too-large"}
    assert alone == {"young-without-an-adult"}
    assert working == {"adult-elsewhere"}


def test_a_guide_is_nowhere_else() -> None:
    *others, build = sample_event("school-rounds").stops

    assert in_another_event(stops=(*others, changed(build, guide="akinyi"))) == {"guide-elsewhere"}


def test_at_a_bell_all_change_together() -> None:
    rota = sample_event("school-rounds").rota

    assert in_another_event(rota=changed(rota, bell=True)) == {"not-together-at-the-bell"}


def test_no_group_is_at_a_stop_while_all_are_at_a_talk() -> None:
    event, plan = sample_event("school-rounds"), sample_plan("school-rounds")
    jobs = tuple(
        changed(j, at=event.instant(event.rota.end or event.site.closes) - timedelta(minutes=60))
        if j.kind == "talk"
        else j
        for j in plan.jobs
    )

    broken = {b.rule for b in check(event, changed(plan, jobs=jobs))}

    assert "visit-meets-a-talk" in broken


def test_the_young_walk_slowly() -> None:
    event: Event = sample_event("school-rounds")
    plan: Plan = sample_plan("school-rounds")
    far = tuple(changed(s, x_m=s.x_m * 20, y_m=s.y_m * 20) for s in event.stations)

    assert "walk-too-short" in {b.rule for b in check(changed(event, stations=far), plan)}
