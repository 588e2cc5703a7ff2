"""A contest's plan from times laid by hand: judges, lanes, suns, and what another day leaves of it.

Tasting is from two to three, ten minutes each; three hours to cook. It is planned again at noon.
"""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import replace
from datetime import time

import numpy as np
import pytest

from events.contest import Entry, Judge
from events.model import Event
from events.table import changed
from solver.contest import contest as made
from solver.contest.contest import _Earlier, _Pair, _Times, contest_plan
from solver.contest.lot import draw as dealt
from solver.contest.options import Before, EntryOptions, Option, contest_day
from solver.contest.question import Choice
from solver.contest_plan import ContestPlan, JudgeAt, NotTasted, Tasting
from solver.risk.monte_carlo import SEED as RISK_SEED
from solver.simulation.day import DRAWS_SEED, Day, make_day
from solver.simulation.drawn_load import DrawnDays
from solver.solar.irradiance import minute_of
from solver.thermal.energy_balance import Array
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid import at
from tests.solver.checking.hand_laid_contest import (
    COOK_OFF,
    LENT,
    ONE,
    PLACES,
    SEED,
    SHOW,
    TWO,
    rules,
    tasting,
)
from tests.solver.contest.test_options import option
from tests.solver.scheduling.test_formulation import replanned

NOON, TWO_PM = 12 * 60, 14 * 60
DRAWN = dealt(COOK_OFF, SEED, ())


def clock(day: Day, when: object) -> str:
    minute = minute_of(day.sky, when)  # type: ignore[arg-type]
    return f"{minute // 60}:{minute % 60:02d}"


# --- who tastes when


def tasters(
    event: Event, minute: int, lane: int = 0, name: str = "one", day: Day | None = None
) -> dict[str, str]:
    day = day or make_day(event)
    return {
        j.judge_id: clock(day, j.at)
        for j in made._judges(day, event, event.entry(name), minute, lane)
    }


def test_at_a_table_all_who_are_there_taste_at_once() -> None:
    """Ivo is there from two to twenty past, Una all afternoon."""
    assert tasters(COOK_OFF, TWO_PM) == {"ivo": "14:00", "una": "14:00"}
    assert tasters(COOK_OFF, TWO_PM + 10) == {"ivo": "14:10", "una": "14:10"}
    assert tasters(COOK_OFF, TWO_PM + 15) == {"una": "14:15"}
    assert tasters(COOK_OFF, TWO_PM - 5) == {"una": "13:55"}


def test_who_is_close_to_the_team_or_must_not_eat_it_does_not_taste() -> None:
    kin = edited(COOK_OFF, "judges", "ivo", kin=("larks",))
    assert tasters(kin, TWO_PM) == {"una": "14:00"}
    assert set(tasters(kin, TWO_PM, name="two")) == {"ivo", "una"}

    avoids = edited(COOK_OFF, "judges", "ivo", avoids=("milk",))
    assert set(tasters(avoids, TWO_PM)) == {"ivo", "una"}
    for values in ({"allergens": ("milk",)}, {"allergens_checked": False}):
        dish = changed(COOK_OFF.entry("one").dish, **values)
        assert set(tasters(edited(avoids, "entries", "one", dish=dish), TWO_PM)) == {"una"}


def walking(judges: int, at_once: int) -> Event:
    people = tuple(
        Judge(id=f"j{n}", name=f"J {n}", start=time(13), end=time(17)) for n in range(judges)
    )
    return changed(rules(how="walk", judges_at_once=at_once, end=time(16)), judges=people)


@pytest.mark.parametrize(("judges", "at_once"), [(3, 1), (4, 2), (5, 2)])
def test_walking_parties_taste_each_pot_once_in_its_window_and_never_two_at_once(
    judges: int, at_once: int
) -> None:
    """As many pots are open as there are parties; one opens every ten minutes."""
    event, day = walking(judges, at_once), make_day(COOK_OFF)
    assert event.contest is not None
    span, lanes = event.contest.span_and_lanes(judges)
    seen: Counter[tuple[str, str]] = Counter()
    for n in range(4 * lanes):
        starts = TWO_PM + 10 * n
        there = tasters(event, starts, n % lanes, day=day)
        assert set(there) == {f"j{k}" for k in range(judges)}
        times = [f"{m // 60}:{m % 60:02d}" for m in range(starts, starts + span, 10)]
        assert set(there.values()) == set(times)
        assert max(Counter(there.values()).values()) == at_once
        assert there["j0"] == there[f"j{at_once - 1}"]  # who go together
        seen.update(there.items())
    assert max(seen.values()) == 1

    # Whenever another lane's pot is opened: nobody is asked to two at once.
    first = tasters(event, TWO_PM, day=day)
    for lane, late in itertools.product(range(1, lanes), range(lanes)):
        other = tasters(event, TWO_PM + 10 * late, lane, day=day)
        assert not set(first.items()) & set(other.items())


# --- lanes, suns and levels of what is chosen


def times_of(event: Event, *starts: tuple[str, int], span: int = 10, lanes: int = 1) -> _Times:
    entries = tuple(EntryOptions(e, (), None) for e in event.entries)
    number = {e.id: n for n, e in enumerate(event.entries)}
    pairs = tuple(
        _Pair(number[name], name, LENT.get(name, "own"), option(at=minute), 180, moved=False)
        for name, minute in starts
    )
    return _Times(event, entries, pairs, span, lanes)


def entries(*names: str) -> Event:
    pattern = COOK_OFF.entries[0]
    some = tuple(Entry.model_validate(pattern.model_dump() | {"id": n}) for n in names)
    return changed(COOK_OFF, entries=some)


def test_a_tasting_has_the_first_lane_that_is_free_and_its_own_figures() -> None:
    event = entries("a", "b", "c", "d")
    starts = (("a", 840), ("b", 850), ("c", 860), ("d", 860))
    times = times_of(event, *starts, span=20, lanes=3)
    day = make_day(COOK_OFF)

    told = list(made._tastings(day, event, times, times.pairs))

    assert [(t.entry_id, t.lane, t.minutes) for t in told] == [
        ("a", 0, 20),
        ("b", 1, 20),
        ("c", 0, 20),
        ("d", 2, 20),
    ]
    assert [clock(day, t.at) for t in told] == ["14:00", "14:10", "14:20", "14:20"]
    first = told[0]
    assert (clock(day, first.cook_from), clock(day, first.loaded_at)) == ("9:00", "9:00")
    assert (clock(day, first.ready_at), first.cautious_at) == ("11:30", None)
    assert (first.of_100, first.chosen_of_100, first.held_min) == (80, 80, 40)
    assert (first.coolest_c, first.between_5_and_60_min) == (80.0, 60)


def test_a_chance_is_told_from_other_days_where_it_has_not_begun(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    event = entries("a", "b")
    times = times_of(event, ("a", 840), ("b", 850))
    begun, fresh = times.pairs
    fresh = replace(fresh, option=replace(fresh.option, cooks=object()))  # type: ignore[arg-type]
    seeds: list[int] = []

    def of(day: Day, seed: int) -> None:
        seeds.append(seed)

    monkeypatch.setattr(made, "told_of_100", lambda days, cooker, o: 55)
    monkeypatch.setattr(DrawnDays, "of", of)

    told = list(made._tastings(make_day(COOK_OFF), event, times, [begun, fresh]))

    assert [(t.of_100, t.chosen_of_100) for t in told] == [(80, 80), (55, 80)]
    assert not {RISK_SEED, DRAWS_SEED} & set(seeds)


def answered(
    monkeypatch: pytest.MonkeyPatch,
    by_entry: dict[str, tuple[Option, ...] | NotTasted],
    *,
    stay: tuple[Tasting, ...] = (),
    earlier: _Earlier | None = None,
    event: Event = COOK_OFF,
) -> tuple[ContestPlan, list[tuple[str, int]], list[dict[str, Before]]]:
    """Return the plan, at which starts water is put on, and what the options were asked for."""
    asked: list[dict[str, Before]] = []
    waters: list[tuple[str, int]] = []

    def options(day: Day, event: Event, span: int, before: dict[str, Before]) -> list[EntryOptions]:
        asked.append(before)
        return [
            EntryOptions(e, (), found)
            if isinstance(found, NotTasted)
            else EntryOptions(e, found, None)
            for e in event.entries
            for found in [by_entry[e.id]]
        ]

    def water(event: Event, starts: list[tuple[str, int]]) -> list[int | None]:
        waters.extend(starts)
        return [minute for _, minute in starts]

    monkeypatch.setattr(made, "entry_options", options)
    monkeypatch.setattr(made, "water_minutes", water)
    plan = made._with_tastings(
        make_day(COOK_OFF), event, SHOW.draw or DRAWN, totals(), SHOW, stay, earlier
    )
    return plan, waters, asked


def totals() -> dict[str, Array]:
    """Return a minute of sun for each minute at one place, half of one at the other."""
    whole = np.arange(1441.0)
    return {PLACES["one"]: whole, PLACES["two"]: whole / 2}


def test_the_sun_of_a_place_counts_from_when_its_team_may_cook_to_its_tasting(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With no sun to choose by, the entry that is later in the list is tasted first."""
    early = option(at=840, cook_from=600, load=630, held_min=20, of_100=75)
    late = option(at=850, cook_from=700, load=720, held_min=30)

    plan, waters, _ = answered(monkeypatch, {"one": (late,), "two": (early,)})

    assert [t.entry_id for t in plan.tastings] == ["two", "one"]
    assert [(s.entry_id, s.sun_min, s.water_min) for s in plan.sun] == [
        ("two", 120, 600),
        ("one", 150, 700),
    ]
    assert waters == [(PLACES["two"], 600), (PLACES["one"], 700)]
    assert {level.key: level.value for level in plan.levels} == {
        "left-out": 0,
        "unsure": 1,
        "difference": 30,
        "longest-held": 30,
        "held": 50,
    }
    assert plan.draw == SHOW.draw
    assert plan.lists_sha256 == SHOW.lists_sha256


def test_an_entry_without_a_time_says_why_and_one_whose_times_are_taken_too(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    same = option(at=840)
    cold = NotTasted(entry_id="one", kind="goes-cold", figures={"limit_c": 63.0})

    plan, *_ = answered(monkeypatch, {"one": cold, "two": (same,)})
    assert plan.not_tasted == (cold,)

    plan, *_ = answered(monkeypatch, {"one": (same,), "two": (replace(same, of_100=60),)})
    (left,) = plan.not_tasted
    assert (left.entry_id, left.kind) == ("two", "no-time-left")


def test_the_order_is_asked_in_slots_with_what_each_time_costs() -> None:
    times = times_of(COOK_OFF, ("one", 840), ("two", 850), span=20, lanes=2)
    moved = replace(times.pairs[1], moved=True, sun_min=170)
    moved = replace(moved, option=replace(moved.option, of_100=71, held_min=35))

    question = replace(times, pairs=(times.pairs[0], moved)).question()

    assert question.choices == (
        Choice(entry=0, at=168, unsure=0, sun=180, held=40, moved=0),
        Choice(entry=1, at=170, unsure=2, sun=170, held=35, moved=1),
    )
    assert (question.entries, question.span, question.lanes) == (2, 4, 2)


# --- another day


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
