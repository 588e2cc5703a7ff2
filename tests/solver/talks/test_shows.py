"""What is put on the sun for a talk alone: when, when not and why, and what the check names."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, time, timedelta

import pytest

from events.model import Event, Talk
from events.table import changed
from solver.checking.rules import check
from solver.live.replan import replan
from solver.plan import Plan
from solver.programme import Giving, ShowingLoad
from tests.conftest import plan_of, sample_event
from tests.diaries import local, pressed

pytestmark = pytest.mark.slow


def talk(id: str, moment: str, start: time, end: time, **more: object) -> Talk:
    hours = {"start": start, "end": end, "moment": moment}
    return Talk.model_validate(
        {"id": id, "name": id, "minutes": 20, "chance_pct": 60} | hours | more
    )


def school(*talks: Talk) -> Event:
    """Return the school morning with one dish in the panel: mirror and box are free."""
    event = sample_event("school-rounds")
    rice = changed(event.dish("rice"), only_in=("panel",))
    return changed(event, dishes=(rice,), groups=(), stops=(), talks=talks)


BOIL = talk("boil", "boil", time(9), time(11), speakers=("akinyi",), cooker="mirror")
HOT = talk("hot", "over-100", time(9), time(12, 45), times=2, apart_min=20)
LOADED = talk("loaded", "loading", time(11, 30), time(12), speakers=("wanja",), cooker="mirror")


def shown(plan: Plan, name: str) -> list[tuple[Giving, ShowingLoad]]:
    assert plan.talks is not None
    return [(g, g.load) for g in plan.talks.given if g.talk_id == name and g.load is not None]


def test_water_is_put_on_for_a_boil_and_stays_until_the_talk_is_over() -> None:
    ((giving, load),) = shown(plan_of(school(BOIL, HOT, LOADED)), "boil")

    assert load.pot_id is not None
    assert load.loaded_at <= giving.at
    assert load.lifted_at >= giving.at + timedelta(minutes=giving.minutes)
    assert giving.moment_at is not None
    assert giving.at < giving.moment_at < load.lifted_at
    assert giving.of_100 is not None
    assert giving.of_100 >= 55


def test_an_empty_box_is_shown_twice() -> None:
    (one, box), (two, again) = shown(plan_of(school(BOIL, HOT, LOADED)), "hot")

    assert {box.cooker_id, again.cooker_id} == {"box"}
    assert {box.pot_id, again.pot_id} == {None}
    assert two.at - one.at >= timedelta(minutes=40)
    assert box.lifted_at <= again.loaded_at


def test_the_pot_is_loaded_before_everybodys_eyes_by_another_than_the_speaker() -> None:
    plan = plan_of(school(BOIL, HOT, LOADED))
    ((giving, load),) = shown(plan, "loaded")

    assert giving.at <= load.loaded_at < giving.at + timedelta(minutes=giving.minutes)
    (job,) = (j for j in plan.jobs if j.kind == "load" and j.talk_id == "loaded")
    assert giving.speaker_id not in job.helper_ids


def test_food_has_the_same_times_with_and_without() -> None:
    with_talks, without = plan_of(school(BOIL, HOT, LOADED)), plan_of(school())

    assert with_talks.placements == without.placements


@pytest.mark.parametrize(
    ("other", "reason"),
    [
        ({"cooker": "panel", "start": time(10), "end": time(10, 25)}, "no-cooker"),
        ({"start": time(8, 5), "end": time(8, 25)}, "not-shown"),
    ],
)
def test_without_a_free_cooker_or_enough_sun_it_is_refused(
    other: dict[str, object], reason: str
) -> None:
    plan = plan_of(school(changed(BOIL, **other)))

    assert plan.talks is not None
    assert [n.reason for n in plan.talks.not_given] == [reason]


def test_without_hands_it_is_refused() -> None:
    event = school(BOIL)
    busy = tuple(changed(h, may=()) if h.id == "otieno" else h for h in event.helpers)
    plan = plan_of(changed(event, helpers=busy))  # the speaker can't watch the mirror as well

    assert plan.talks is not None
    assert [n.reason for n in plan.talks.not_given] == ["no-hands"]


def test_a_talk_of_a_dish_gets_no_water_in_its_place() -> None:
    plan = plan_of(school(changed(BOIL, dish="rice", cooker=None)))

    assert plan.talks is not None
    assert not plan.talks.given


def after(event: Event, clock: str, *presses: tuple[str, str, dict[str, object]]) -> Plan:
    return replan(event, plan_of(event), pressed(event, *presses), local(event, clock))


def test_planned_again_what_is_on_the_sun_stays() -> None:
    event = school(BOIL, HOT, LOADED)

    again = after(event, "10:10")

    assert again.talks == plan_of(event).talks


def test_a_talk_whose_mirror_breaks_is_refused_and_worth_another_plan() -> None:
    event = school(BOIL, HOT, LOADED)

    again = after(event, "10:10", ("out-of-action", "10:08", {"cooker_id": "mirror"}))

    assert again.talks is not None
    assert {n.talk_id: n.reason for n in again.talks.not_given} == {
        "boil": "cooker-out",
        "loaded": "cooker-out",
    }
    assert "cooker" in again.gains
    lifted = [j for j in again.jobs if j.cooker_id == "mirror" and j.at > local(event, "10:10")]
    assert not lifted


def test_a_talk_at_any_cooker_has_its_own_water_when_the_dishs_cooker_breaks() -> None:
    event = school(changed(HOT, moment="boil", times=1))
    before = plan_of(event).talks

    again = after(event, "08:25", ("out-of-action", "08:20", {"cooker_id": "panel"}))

    assert before is not None
    assert again.talks is not None
    assert [(g.cooker_id, g.load) for g in before.given] == [("panel", None)]
    (moved,) = again.talks.given
    assert moved.cooker_id != "panel"
    assert moved.load is not None


def test_whose_speaker_left_is_given_by_another() -> None:
    event = school(changed(BOIL, speakers=("akinyi", "wanja")))
    ((before, _),) = shown(plan_of(event), "boil")

    again = after(event, "09:00", ("gone", "08:50", {"helper_id": before.speaker_id}))

    assert again.talks is not None
    (given,) = again.talks.given
    assert given.speaker_id != before.speaker_id


Damage = Callable[[Plan], Plan]


def at(hour: int, minute: int) -> datetime:
    return datetime(2027, 2, 10, hour - 3, minute, tzinfo=UTC)


def load(**values: object) -> Damage:
    """Return a damage to the load that is put on for the boil."""

    def damaged(plan: Plan) -> Plan:
        assert plan.talks is not None
        given = tuple(
            changed(g, load=changed(g.load, **values)) if g.talk_id == "boil" else g
            for g in plan.talks.given
        )
        return changed(plan, talks=changed(plan.talks, given=given))

    return damaged


def without_job(kind: str) -> Damage:
    return lambda plan: changed(
        plan,
        jobs=tuple(j for j in plan.jobs if (j.kind, j.talk_id) != (kind, "boil")),
    )


def done_by(name: str) -> Damage:
    return lambda plan: changed(
        plan,
        jobs=tuple(
            changed(j, helper_ids=(name,)) if (j.kind, j.talk_id) == ("load", "boil") else j
            for j in plan.jobs
        ),
    )


def unturned(plan: Plan) -> Plan:
    return changed(plan, turns=tuple(t for t in plan.turns if t.cooker_id != "mirror"))


@pytest.mark.parametrize(
    ("damage", "rule"),
    [
        (load(cooker_id="panel"), "shown-elsewhere"),
        (load(pot_id=None), "empty-on-the-sun"),
        (load(pot_id="loaf-tin"), "pot-does-not-fit"),
        (load(water_kg=0.0), "pot-too-small"),
        (load(water_kg=60.0), "pot-too-small"),
        (load(loaded_at=at(12, 0)), "showing-load-not-in-its-talk"),
        (load(lifted_at=at(9, 5)), "showing-load-not-in-its-talk"),
        (load(loaded_at=at(6, 30)), "showing-load-too-early"),
        (load(loaded_at=at(6, 30)), "cooker-outside-its-hours"),
        (load(loaded_at=at(5, 0)), "no-usable-sun"),
        (load(lifted_at=at(12, 30)), "turns-too-far-apart"),
        (load(lifted_at=at(14, 0)), "mirror-not-watched"),
        (without_job("load"), "job-missing"),
        (without_job("lift"), "job-missing"),
        (done_by("wanja"), "nobody-may-do-it"),
        (unturned, "not-aimed-at-its-start"),
    ],
)
def test_a_damaged_load_is_named(damage: Damage, rule: str) -> None:
    event = school(BOIL, HOT, LOADED)

    assert rule in {b.rule for b in check(event, damage(plan_of(event)))}


@pytest.mark.parametrize(
    ("table", "row", "values", "rule"),
    [
        ("cookers", "mirror", {"wind_limit_m_s": 0.1}, "too-much-wind"),
        ("cookers", "mirror", {"attended": True}, "cooker-not-attended"),
        ("talks", "boil", {"dish": "rice"}, "showing-load-in-place-of-a-dish"),
    ],
)
def test_a_plan_for_another_event_is_named(
    table: str, row: str, values: dict[str, object], rule: str
) -> None:
    event = school(BOIL, HOT, LOADED)
    rows = tuple(changed(r, **values) if r.id == row else r for r in getattr(event, table))

    assert rule in {b.rule for b in check(changed(event, **{table: rows}), plan_of(event))}


def test_a_pot_in_two_places_is_named() -> None:
    event = school(BOIL, HOT, LOADED)
    plan = plan_of(event)
    rice = plan.placements[0]
    pots = tuple(changed(p, count=1) if p.id == rice.pot_id else p for p in event.pots)
    end = rice.loaded_at + timedelta(minutes=20)

    broken = check(changed(event, pots=pots), load(pot_id=rice.pot_id, lifted_at=end)(plan))

    assert "too-few-pots" in {b.rule for b in broken if b.ids[:1] == ("boil",)}


def test_two_loads_in_one_cooker_are_named() -> None:
    event = school(BOIL, HOT, LOADED)
    plan = plan_of(event)
    ((_, other),) = shown(plan, "loaded")
    both = load(loaded_at=other.loaded_at, lifted_at=other.lifted_at)(plan)

    assert "cooker-overfull" in {b.rule for b in check(event, both)}
