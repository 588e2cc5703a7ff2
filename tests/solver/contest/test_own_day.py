"""An entry on the day itself, why it has no time, and the day that is the contest's own."""

from __future__ import annotations

from dataclasses import replace
from datetime import time

import numpy as np
import pytest

from events.contest import Entry
from events.table import changed
from solver.contest import options
from solver.contest.options import (
    Before,
    EntryOptions,
    contest_day,
)
from solver.contest_plan import Draw, NotTasted
from solver.notices import Refusal
from solver.scheduling.batches import Batches
from solver.simulation.query import DurationEstimate, DurationQuery
from tests.solver.checking.hand_laid_contest import COOK_OFF, SEED, drawn
from tests.solver.contest.test_options import ENTRY, RULES, SPAN, chosen, found, option
from tests.solver.scheduling.test_timed_load import NOON, START, day, estimate, stew

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
