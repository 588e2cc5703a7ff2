"""A contest planned again: what stays, what moves, and when all of it is made anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from events.model import Event
from events.table import changed
from solver.contest import contest as made
from solver.contest.contest import _Earlier, contest_plan
from solver.contest.options import Before, contest_day
from solver.contest_plan import ContestPlan, JudgeAt, NotTasted, Tasting
from solver.simulation.day import Day, make_day
from solver.thermal.energy_balance import Array
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import at
from tests.solver.checking.hand_laid_contest import (
    COOK_OFF,
    ONE,
    SHOW,
    TWO,
    rules,
    tasting,
)
from tests.solver.contest.test_by_hand import DRAWN, NOON, answered
from tests.solver.contest.test_options import option
from tests.solver.scheduling.test_formulation import replanned


def test_what_stays_has_its_time_only_and_what_moves_says_from_when(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """One stays at two; two had ten past, and a surer time by three steps or more moves it."""
    earlier = _Earlier(changed(SHOW, tastings=(ONE, TWO)), NOON)
    was = option(at=850, cook_from=670, load=690, of_100=60)
    better = option(at=870, cook_from=670, load=690, of_100=80)
    elsewhere = (option(at=860, of_100=95),)

    plan, _, asked = answered(
        monkeypatch, {"one": elsewhere, "two": (was, better)}, stay=(ONE,), earlier=earlier
    )

    one, two = plan.tastings
    assert one == ONE
    assert (two.at, two.was_at) == (at("14:30"), at("14:10"))
    assert {level.key: level.value for level in plan.levels}["moved"] == 1
    assert asked == [
        {
            "one": Before(at=840, load=690, cook_from=660, now=NOON),
            "two": Before(at=850, load=690, cook_from=670, now=NOON),
        }
    ]
    plan, *_ = answered(
        monkeypatch,
        {"one": elsewhere, "two": (was, replace(better, of_100=70))},
        stay=(ONE,),
        earlier=earlier,
    )
    assert [(t.at, t.was_at) for t in plan.tastings] == [(ONE.at, None), (TWO.at, None)]


def test_another_loading_alone_is_a_move_as_well(monkeypatch: pytest.MonkeyPatch) -> None:
    earlier = _Earlier(changed(SHOW, tastings=(TWO,)), NOON)
    was, later = option(at=850, load=690, of_100=50), option(at=850, load=720, of_100=80)

    for some, moved in ((was, 0), (later, 1)):
        gone = NotTasted(entry_id="one", kind="no-sun", figures={})
        plan, *_ = answered(monkeypatch, {"one": gone, "two": (some,)}, earlier=earlier)
        assert plan.tastings[0].was_at == (at("14:10") if moved else None)
        levels = {level.key: level.value for level in plan.levels}
        assert levels.get("moved", 0) == moved


def test_the_days_first_time_is_remembered() -> None:
    before = changed(TWO, was_at=at("13:30"))
    earlier = _Earlier(changed(SHOW, tastings=(before,)), NOON)

    stays, moves = changed(TWO, was_at=None), changed(TWO, at=at("14:30"), was_at=None)

    assert [t.was_at for t in made._moved([stays], (), earlier)] == [at("13:30")]
    assert [t.was_at for t in made._moved([moves], (), earlier)] == [at("13:30")]
    assert [t.was_at for t in made._moved([moves], (), None)] == [None]


def test_an_earlier_plans_time_is_what_it_was() -> None:
    told = tasting("one", "14:00", of_100=55, preheat_min=30)

    was = made._as_it_was(make_day(COOK_OFF), told)

    assert was == option(
        at=840,
        cook_from=660,
        load=690,
        preheat_min=30,
        ready=810,
        cautious=830,
        of_100=80,  # by which it was chosen
        held_min=40,
        coolest_c=70.0,
        middle_c=told.middle_c,
    )


def staying(event: Event, minute: int, *tastings: Tasting) -> list[Tasting]:
    plan = changed(SHOW, tastings=tastings or (ONE, TWO))
    return list(made._staying(make_day(event), event, SHOW.draw or DRAWN, plan, minute))


def test_what_has_begun_or_begins_within_ten_minutes_stays() -> None:
    for minute, left in (
        (829, []),
        (830, []),
        (831, ["one"]),
        (840, ["one"]),
        (841, ["one", "two"]),
    ):
        assert [t.entry_id for t in staying(COOK_OFF, minute)] == left, minute


def test_what_stays_is_tasted_by_who_is_still_a_judge() -> None:
    """Begun, the others go on; to come, whoever is there by now is asked."""
    una = changed(COOK_OFF, judges=(COOK_OFF.judges[1],))
    strange = changed(ONE, judges=(JudgeAt(judge_id="una", at=at("14:05")), ONE.judges[0]))

    (begun,) = staying(una, 840, strange)
    (coming,) = staying(una, 839, strange)

    assert begun.judges == (JudgeAt(judge_id="una", at=at("14:05")),)
    assert coming.judges == (JudgeAt(judge_id="una", at=at("14:00")),)


def test_what_has_another_cooker_or_other_minutes_is_planned_anew() -> None:
    assert staying(COOK_OFF, 835, changed(ONE, cooker_id="own")) == []
    assert staying(COOK_OFF, 835, changed(ONE, minutes=20)) == []
    assert len(staying(COOK_OFF, 845, changed(ONE, minutes=20))) == 1  # it has begun


def test_a_plan_is_of_its_entries_and_judges() -> None:
    refused = NotTasted(entry_id="two", kind="no-sun", figures={})
    few = changed(SHOW, tastings=(ONE,), not_tasted=(refused,))

    assert made._same_tables(COOK_OFF, SHOW)
    assert made._same_tables(COOK_OFF, few)
    assert not made._same_tables(COOK_OFF, changed(SHOW, tastings=(ONE,)))
    gone = edited(COOK_OFF, "entries", "one", withdrawn=True)
    assert not made._same_tables(gone, SHOW)
    assert made._same_tables(gone, changed(SHOW, tastings=(TWO,)))
    assert not made._same_tables(changed(COOK_OFF, judges=COOK_OFF.judges[:1]), SHOW)


def left(day: Day, **share: float) -> Day:
    size = day.sky.air_c.size
    given = {c.id: np.full(size, share.get(c.id, 1.0)) for c in day.event.cookers}
    return replace(day, availability=given)


def test_todays_sun_is_that_of_most_of_the_crowds_sun_cookers() -> None:
    day = make_day(COOK_OFF)  # mirror, box and oven; a ring and a hay box have no sun
    none = changed(COOK_OFF, cookers=tuple(c for c in COOK_OFF.cookers if not c.on_sun))

    today = made._today(left(day, mirror=0.5, box=0.2, oven=0.9, ring=0.0, hay=0.0))

    assert (today == 0.5).all()
    assert today.size == day.sky.air_c.size
    assert (made._today(make_day(none)) == 1.0).all()


@pytest.fixture
def planned_with(monkeypatch: pytest.MonkeyPatch) -> list[tuple[object, ...]]:
    """Have what a contest is planned with written down, in the place of planning it."""
    calls: list[tuple[object, ...]] = []

    def planned(*given: object) -> ContestPlan:
        calls.append(given)
        return SHOW

    monkeypatch.setattr(made, "_with_tastings", planned)
    return calls


BEFORE = changed(SHOW, draw=DRAWN)


def test_on_the_day_a_contest_stays_unless_its_tables_or_the_sun_changed(
    planned_with: list[tuple[object, ...]],
) -> None:
    """Less than 0.98 of the forecast's sun in any minute, and it is planned again."""
    day = replanned(COOK_OFF, NOON)
    dim = left(day, mirror=0.99, box=0.981, oven=0.9)
    assert contest_plan(dim, BEFORE) is BEFORE
    cloud = left(day)
    for name in ("mirror", "box", "oven"):
        cloud.availability[name][700] = 0.98
    assert contest_plan(cloud, BEFORE) is not BEFORE
    assert contest_plan(day, changed(BEFORE, tastings=(ONE,))) is not BEFORE
    other = changed(DRAWN, places=DRAWN.places[::-1])
    assert contest_plan(day, changed(BEFORE, draw=other)) is not BEFORE
    assert len(planned_with) == 3


def test_planned_again_it_has_todays_sun_and_what_begins_soon_stays(
    planned_with: list[tuple[object, ...]],
) -> None:
    half = left(replanned(COOK_OFF, 835), mirror=0.5, box=0.5, oven=0.5)

    contest_plan(half, BEFORE)

    day, _, drawn, _, _, stay, earlier = planned_with[0]
    assert isinstance(day, Day)
    assert day.forcing.watts.max() == pytest.approx(
        contest_day(COOK_OFF, DRAWN).forcing.watts.max() / 2
    )
    assert drawn == DRAWN
    assert [t.entry_id for t in stay] == ["one"]  # type: ignore[attr-defined]
    assert earlier == _Earlier(BEFORE, 835)


def test_in_the_morning_and_where_it_was_not_drawn_it_is_planned_anew(
    planned_with: list[tuple[object, ...]],
) -> None:
    for before in (None, changed(SHOW, draw=None, tastings=())):
        contest_plan(make_day(COOK_OFF), before)
        assert planned_with.pop()[-1] == ()
    shown = contest_plan(make_day(rules(seed=None)))
    assert shown is not None
    assert (shown.draw, shown.tastings) == (None, ())
    assert contest_plan(make_day(changed(COOK_OFF, entries=()))) is None
    assert contest_plan(make_day(changed(COOK_OFF, contest=None))) is None
    assert planned_with == []


# --- which places are drawn


def test_the_place_whose_sun_is_least_like_the_others_in_mid_contest_is_left_out() -> None:
    """From half past eleven to half past two: what is before and after counts for nothing."""
    stations = (*COOK_OFF.stations, changed(COOK_OFF.station("north"), id="east"))
    event = changed(rules(stations=("north", "south", "east")), stations=stations)
    contest = event.contest
    assert contest is not None

    def sun(around: float, during: float) -> Array:
        parts = [np.full(690, around), np.full(180, during), np.full(570, around)]
        a_minute = np.concatenate(parts)
        return np.concatenate([[0.0], np.cumsum(a_minute)])

    suns = {"north": sun(0.9, 0.5), "south": sun(0.9, 0.8), "east": sun(9.0, 0.52)}
    left_out = made._left_out

    assert left_out(make_day(event), contest, suns) == ("south",)
    # A place that an entry has by itself is not drawn, nor one for it, nor one for who withdrew.
    own = edited(event, "entries", "one", station="south")
    assert left_out(make_day(own), contest, suns) == ("north",)  # the sunnier one is drawn
    gone = edited(event, "entries", "one", withdrawn=True)
    assert len(left_out(make_day(gone), contest, suns)) == 2
