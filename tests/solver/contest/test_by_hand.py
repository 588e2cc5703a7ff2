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
from solver.contest.contest import _Earlier, _Pair, _Times
from solver.contest.lot import draw as dealt
from solver.contest.options import Before, EntryOptions, Option
from solver.contest.question import Choice
from solver.contest_plan import ContestPlan, NotTasted, Tasting
from solver.risk.monte_carlo import SEED as RISK_SEED
from solver.simulation.day import DRAWS_SEED, Day, make_day
from solver.simulation.drawn_load import DrawnDays
from solver.solar.irradiance import minute_of
from solver.thermal.energy_balance import Array
from tests.solver.checking.damage import edited
from tests.solver.checking.hand_laid_contest import (
    COOK_OFF,
    LENT,
    PLACES,
    SEED,
    SHOW,
    rules,
)
from tests.solver.contest.test_options import option

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
    assert first.middle_c == (20.0, 90.0, 80.0)


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
