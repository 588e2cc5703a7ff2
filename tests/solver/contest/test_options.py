"""When an entry can be tasted, from estimates made by hand: each rule from both of its sides.

Its cooker is loaded at nine, tasting is from noon to one, ten minutes each, three hours to cook.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from types import SimpleNamespace

import numpy as np
import pytest

from events.contest import Contest, Entry
from events.kitchen import Break, Dish
from events.table import changed
from solver.contest import options
from solver.contest.options import (
    Before,
    EntryOptions,
    Option,
    contest_day,
    cooking_from,
    grid,
    in_steps,
    told_of_100,
    unsure_steps,
)
from solver.contest_plan import Draw, NotTasted
from solver.notices import Refusal
from solver.scheduling.batches import Batches
from solver.simulation.holding import standing_c
from solver.simulation.query import DurationEstimate, DurationQuery
from tests.solver.checking import hand_laid
from tests.solver.checking.hand_laid_contest import COOK_OFF, SEED, drawn
from tests.solver.scheduling.test_timed_load import NOON, POT, START, day, estimate, stew

SPAN = 10
RULES = Contest(
    minutes=SPAN, start=time(12), end=time(13), cook_min=180, held_max_min=60, stations=()
)
ENTRY = COOK_OFF.entries[0]


def found(
    some: DurationEstimate,
    *times: int,
    before: Before | None = None,
    **rules: object,
) -> list[Option]:
    contest = changed(RULES, **rules)
    return list(options._all(day(), some, contest, list(times or (NOON,)), SPAN, before))


def comes(done_min: float = 150.0, dish: Dish | None = None, **values: object) -> bool:
    """Return whether what is loaded at nine, done so much later, can be tasted at noon."""
    some = estimate(dish or stew(), done_min=(done_min,), **values)  # type: ignore[arg-type]
    return bool(found(some))


# --- the grid


@pytest.mark.parametrize(
    ("span", "breaks", "first", "last", "count"),
    [
        (10, (), NOON, NOON + 50, 6),
        (30, (), NOON, NOON + 30, 4),  # a walk of three parties ends at one
        (10, (Break(at=time(12, 20), minutes=10),), NOON, NOON + 50, 5),
        (20, (Break(at=time(12, 20), minutes=10),), NOON, NOON + 40, 3),
        (10, (Break(at=time(12), minutes=10), Break(at=time(12, 50), minutes=10)), 730, 760, 4),
    ],
)
def test_tastings_begin_on_the_grid_and_end_before_a_break_and_the_end(
    span: int, breaks: tuple[Break, ...], first: int, last: int, count: int
) -> None:
    times = grid(day(), changed(RULES, closed=breaks), span)

    assert (times[0], times[-1], len(times)) == (first, last, count)
    assert all(t % 10 == 0 for t in times)


# --- ready, not too soon, and not held too long


def test_it_is_ready_when_it_is_tasted_and_held_no_longer_than_the_rule() -> None:
    """Held counts to the tasting's end; ready is told in whole slots."""
    assert comes(180.0)
    assert not comes(180.1)
    assert comes(130.0)
    assert not comes(125.0)
    assert not comes(np.inf)
    (one,) = found(estimate(stew(), done_min=(133.0,)))
    assert (one.at, one.load, one.ready, one.held_min) == (NOON, START, START + 135, 55)


def test_its_preheating_and_its_minutes_on_a_poor_day_are_told_in_whole_slots() -> None:
    some = estimate(stew(), done_min=(150.0,), cautious_min=161.0)
    warm = replace(some, query=replace(some.query, load=replace(some.query.load, preheat_min=12)))

    (one,) = found(warm)
    assert (one.preheat_min, one.cautious) == (15, START + 165)
    (never,) = found(estimate(stew(), done_min=(150.0,), cautious_min=np.inf))
    assert (never.preheat_min, never.cautious) == (0, None)


def test_nothing_is_loaded_before_its_time() -> None:
    some = estimate(stew(), done_min=(150.0,))

    assert [o.cook_from for o in found(some)] == [START]
    assert found(some, cook_min=175) == []
    assert [o.at for o in found(some, NOON, NOON + 10)] == [NOON]
    together = found(some, NOON, NOON + 10, together_at=time(8, 30))
    assert [(o.at, o.cook_from) for o in together] == [(NOON, 510), (NOON + 10, 510)]
    assert cooking_from(day(), RULES, 900) == 720


def test_each_start_has_its_own_minutes() -> None:
    some = estimate(stew(), starts=(START, START + 20, START + 40))
    some.expected_min[0] = [200.0, 130.0, 140.0]

    assert [(o.load, o.ready) for o in found(some)] == [(START + 20, 690), (START + 40, 720)]


# --- safe and hot


@pytest.mark.parametrize(
    ("values", "clock_min", "safe"),
    [
        ({}, 240.0, True),
        ({}, 240.1, False),
        ({"hazardous": False}, 999.0, True),
        ({"serve_hot": False}, 200.0, True),  # 40 minutes held come on top
        ({"serve_hot": False}, 200.1, False),
        ({"serve_hot": False, "hazardous": False}, 999.0, True),
    ],
)
def test_it_is_between_5_and_60_degrees_no_longer_than_it_may_be(
    values: dict[str, object], clock_min: float, safe: bool
) -> None:
    assert comes(dish=stew(**values), clock_min=clock_min) == safe


def test_its_minutes_between_5_and_60_are_told_to_the_tastings_end() -> None:
    for hot, warm_min in ((True, 31), (False, 71)):
        (one,) = found(estimate(stew(serve_hot=hot), done_min=(150.0,), clock_min=31.4))
        assert one.warm_min == warm_min


@pytest.mark.parametrize(("coldest_c", "hot"), [(65.0, True), (64.99, False), (np.nan, False)])
def test_it_stays_two_degrees_over_hot_holding(
    monkeypatch: pytest.MonkeyPatch, coldest_c: float, hot: bool
) -> None:
    """63 °C here; how warm it stays must be known."""
    monkeypatch.setattr(options, "_coolest_c", lambda *given: coldest_c)

    assert comes() == hot
    assert comes(dish=stew(serve_hot=False)) == (coldest_c > 0)


def test_its_coldest_is_since_it_was_done_in_its_cooker_and_then_in_the_open() -> None:
    """Done after 60 minutes, lifted after 90: colder before or after does not count.

    It stands in the wind of its own hour, which is stronger from noon on.
    """
    cores, windy = {50: 20.0, 90: 80.0, 100: 20.0}, day(hand_laid.EVENT)
    stands = standing_c(
        windy, stew(), 3.0, POT, from_c=80.0, start=START + 190, end=START + 190 + SPAN
    )
    starts = (START, START + 100)

    def coldest(**dip: float) -> float:
        at = {int(minute[1:]): degrees for minute, degrees in dip.items()}
        some = estimate(stew(), starts=starts, core_c={**cores, **at})
        return options._coolest_c(windy, some, 1, 60, 90, SPAN)

    assert stands < 80.0
    assert coldest() == pytest.approx(stands)
    assert coldest(_70=70.0) == 70.0
    assert coldest(_60=70.0) == 70.0


# --- how surely


def test_its_chance_is_the_share_of_drawn_days_on_which_it_is_ready_at_its_tasting() -> None:
    some = estimate(stew(), starts=(START - 10, START), done_min=(150.0,))
    draws = np.full((1, 20, 2), 999.0)
    draws[0, :8, 1] = 180.0
    draws[0, 8:12, 1] = 180.5

    (one,) = found(replace(some, draws_min=draws))

    assert (one.load, one.of_100) == (START, 40)


@pytest.mark.parametrize(
    ("share", "told"),
    [(1.0, 95), (0.975, 95), (0.925, 95), (0.924, 90), (0.025, 5), (0.024, 0), (0.0, 0)],
)
def test_a_chance_is_told_to_the_nearest_five_and_nothing_is_certain(
    share: float, told: int
) -> None:
    assert in_steps(share) == told


def test_what_is_unsure_is_counted_in_steps_under_what_is_wanted() -> None:
    """Eighty of a hundred are wanted."""
    assert COOK_OFF.chance_pct == 80
    steps = {of_100: unsure_steps(COOK_OFF, of_100) for of_100 in (95, 80, 79, 75, 74, 0)}
    assert steps == {95: 0, 80: 0, 79: 1, 75: 1, 74: 2, 0: 16}


def test_a_chance_is_told_at_the_tasting_on_days_that_did_not_choose_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[object] = []

    def ran(days: object, cooker: object, load: object, starts: np.ndarray, minutes: int) -> object:
        asked.extend([cooker.id, load, starts.tolist(), minutes])  # type: ignore[attr-defined]
        done = np.zeros((1, 200, minutes), dtype=np.bool_)
        done[0, :120, -1] = True
        return SimpleNamespace(done=done)

    monkeypatch.setattr(options, "drawn_loads", ran)
    (one,) = found(estimate(stew(), done_min=(150.0,)))

    days = SimpleNamespace(day=day())
    assert told_of_100(days, "box", one) == 60  # type: ignore[arg-type]
    assert asked == ["box", one.cooks, [START], 180]


# --- which start


def option(**values: object) -> Option:
    row: dict[str, object] = {
        "at": NOON,
        "cook_from": START,
        "load": START,
        "preheat_min": 0,
        "ready": NOON - 30,
        "cautious": None,
        "of_100": 80,
        "held_min": 40,
        "coolest_c": 80.0,
        "warm_min": 60,
        "pot_id": "pot",
        "cooks": None,
    }
    return Option(**(row | values))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        ({"of_100": 80, "held_min": 60}, {"of_100": 75, "held_min": 20}),
        ({"of_100": 80, "held_min": 30}, {"of_100": 95, "held_min": 35}),  # eighty are enough
        ({"held_min": 30, "load": START + 20}, {"held_min": 35}),
        ({"load": START}, {"load": START + 5}),
    ],
)
def test_of_a_times_starts_the_surest_is_taken_then_the_one_held_least_then_the_first(
    monkeypatch: pytest.MonkeyPatch, better: dict[str, object], worse: dict[str, object]
) -> None:
    good, bad = option(**better), option(**worse)
    for some in ([good, bad], [bad, good]):
        assert chosen(monkeypatch, some) == (good,)


def chosen(
    monkeypatch: pytest.MonkeyPatch, some: list[Option], before: Before | None = None
) -> tuple[Option, ...]:
    monkeypatch.setattr(options, "_all", lambda *given: iter(some))
    of = options._of_entry(day(), ENTRY, None, RULES, [NOON], SPAN, before)  # type: ignore[arg-type]
    assert of.refusal is None
    return of.options


def test_times_come_in_order_each_with_its_best(monkeypatch: pytest.MonkeyPatch) -> None:
    late, early = option(at=NOON + 10), option(at=NOON)

    assert chosen(monkeypatch, [late, early]) == (early, late)


# --- on the day

HAD = Before(at=NOON, load=START, cook_from=START - 15, now=START - 30)


def test_another_start_on_the_day_must_be_surer_by_three_steps(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stays, moves = option(of_100=60), option(of_100=70, load=START + 10)
    surer = option(of_100=80, load=START + 10)

    assert chosen(monkeypatch, [stays, moves], HAD) == (stays,)
    assert chosen(monkeypatch, [stays, surer], HAD) == (surer,)


def test_what_is_on_the_sun_keeps_its_start_and_what_is_not_begins_from_now_on() -> None:
    loaded, coming = replace(HAD, now=START), replace(HAD, now=START - 1)

    assert [loaded.allows(START + n) for n in (-5, 0, 5)] == [False, True, False]
    assert [coming.allows(START + n) for n in (-5, -1, 0, 5)] == [False, False, True, True]


def test_what_is_on_the_sun_keeps_the_time_from_which_it_might_be_loaded() -> None:
    """Moved to half past twelve it cooks on for longer than three hours; what waits may not."""
    some = estimate(stew(), starts=(START, START + 30), done_min=(150.0,))
    loaded, coming = replace(HAD, now=START), replace(HAD, now=START - 1)

    on_sun = found(some, NOON, NOON + 20, before=loaded)
    assert [(o.at, o.load, o.cook_from) for o in on_sun] == [
        (NOON, START, START - 15),
        (NOON + 20, START, START - 15),
    ]
    waits = found(some, NOON, NOON + 20, before=coming)
    assert [(o.at, o.load, o.cook_from) for o in waits] == [
        (NOON, START, START),
        (NOON, START + 30, START),
        (NOON + 20, START + 30, START + 20),
    ]


# --- why there is none


def why(
    some: DurationEstimate, *times: int, before: Before | None = None, **rules: object
) -> tuple[str, dict[str, float]]:
    contest, when = changed(RULES, **rules), list(times or (NOON,))
    of = options._of_entry(day(), ENTRY, some, contest, when, SPAN, before)
    assert of.options == ()
    assert of.refusal is not None
    assert of.refusal.entry_id == ENTRY.id
    return of.refusal.kind, dict(of.refusal.figures)


def test_why_an_entry_has_no_time_is_told_with_its_figures() -> None:
    """Held 90 minutes at noon, 80 at its best; two hours are the most that any rule allows."""
    held = estimate(stew(), done_min=(100.0,), starts=(START, START + 10))
    cold = estimate(stew(), done_min=(150.0,), core_c=60.0)

    assert why(held) == ("held-too-long", {"held_min": 80, "limit_min": 60})
    assert why(estimate(stew(), done_min=(190.0,))) == (
        "never-ready",
        {"cook_min": 180, "best_min": 190},
    )
    assert why(estimate(stew(), done_min=(np.inf,))) == ("never-ready", {"cook_min": 180})
    assert why(estimate(stew(), done_min=(150.0,), clock_min=241.0)) == ("unsafe", {})
    assert why(cold) == ("goes-cold", {"limit_c": 63.0})
    assert why(estimate(stew(), done_min=(180.0,), core_c=60.0))[0] == "goes-cold"
    harmless = estimate(stew(hazardous=False), done_min=(150.0,), clock_min=300.0, core_c=60.0)
    assert why(harmless)[0] == "goes-cold"
    stands = estimate(stew(serve_hot=False), done_min=(150.0,), clock_min=220.0)
    assert why(stands) == ("unsafe", {})


@pytest.mark.parametrize(
    ("kind", "told"),
    [
        ("no-pot", "no-pot"),
        ("pots-too-small", "no-pot"),
        ("no-pot-for-it", "no-pot"),
        ("oven-too-cool", "oven-too-cool"),
        ("no-sun", "no-sun"),
        ("never-done", "no-sun"),
    ],
)
def test_what_its_cooker_refuses_is_told_as_such(kind: str, told: str) -> None:
    refusal = Refusal.model_construct(kind=kind, figures={"batch_litres": 5.0})  # type: ignore[arg-type]

    found = options._refused(ENTRY, refusal)

    assert found == NotTasted.model_validate(
        {"entry_id": ENTRY.id, "kind": told, "figures": {"batch_litres": 5.0}}
    )


# --- every entry in its own cooker


def test_each_entry_is_asked_in_one_pot_in_its_own_cooker_and_followed_to_the_end(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    gone = changed(COOK_OFF.entries[1], id="gone", withdrawn=True)
    event = changed(COOK_OFF, entries=(*COOK_OFF.entries, gone))
    draw = Draw(
        seed=SEED,
        places=(drawn("one", cooker_id="lent-1"), drawn("two", cooker_id="lent-2")),
    )
    asked: list[DurationQuery] = []
    of: dict[str, object] = {}
    refused = {"other": Refusal(kind="no-sun"), "lent-2": Refusal(kind="no-pot-for-it")}

    def queries(day: object, batches: Batches, rivals: object) -> tuple[list[object], object]:
        (batch,) = batches
        if batch.dish.id == "two":
            return [], refused
        return [estimate(batch.dish).query, None], {}

    def estimates(day: object, some: list[DurationQuery]) -> list[DurationQuery]:
        asked.extend(some)
        return some

    def of_entry(day: object, entry: Entry, *given: object) -> EntryOptions:
        of[entry.id] = given
        return EntryOptions(entry, (), None)

    monkeypatch.setattr(options, "queries_of", queries)
    monkeypatch.setattr(options, "estimate", estimates)
    monkeypatch.setattr(options, "_of_entry", of_entry)
    before = {"one": HAD}

    found = options.entry_options(contest_day(event, draw), event, 10, before)

    assert [(o.entry.id, o.refusal.kind if o.refusal else None) for o in found] == [
        ("one", None),
        ("two", "no-pot"),
    ]
    assert [q.last_plate for q in asked] == [15 * 60]
    times = [840, 850, 860, 870, 880, 890]
    assert of == {"one": (asked[0], event.contest, times, 10, HAD)}


# --- the contest's own day


def test_a_contest_has_a_day_of_its_own_with_each_cooker_at_its_drawn_place() -> None:
    gone = changed(COOK_OFF.entries[1], withdrawn=True)
    draw = Draw(seed=SEED, places=(drawn("one", station_id="south", cooker_id="lent-2"),))

    event = contest_day(changed(COOK_OFF, entries=(COOK_OFF.entries[0], gone)), draw).event

    assert [(c.id, c.station) for c in event.cookers] == [("lent-2", "south")]
    assert [(d.id, d.meal, d.only_in) for d in event.dishes] == [("one", "tasting", ("lent-2",))]
    assert [(m.start, m.end) for m in event.meals] == [(time(15), time(15))]
    assert (event.talks, event.groups, event.stops) == ((), (), ())
